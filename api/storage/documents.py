"""The projected documents: what the log comes to, in a form that tablets and screens can use."""

import builtins
import json
from collections.abc import Iterable, Iterator, Mapping

from sqlalchemy import Connection, Integer, bindparam, delete, select

from api.storage.rows import insert_or_update_all
from api.storage.tables import document

HOUSE = "house"
RECORDS = "records"
_ALL = 2**31 - 1

# Made once: every event of a push asks for some.
_ONE = select(document.c.body).where(
    *(document.c[name] == bindparam(name) for name in ("location_id", "kind", "doc_id"))
)

# Not by pairs of both: for these SQLite reads all documents of the location.
_NAMED = select(document.c.kind, document.c.doc_id, document.c.body).where(
    document.c.location_id == bindparam("location_id"),
    document.c.kind.in_(bindparam("kinds", expanding=True)),
    document.c.doc_id.in_(bindparam("doc_ids", expanding=True)),
)

_CHANGED = (
    select(document.c.kind, document.c.doc_id, document.c.position, document.c.body)
    .where(
        document.c.location_id == bindparam("location_id"),
        document.c.feed == bindparam("feed"),
        document.c.position > bindparam("after"),
        document.c.position <= bindparam("upto"),
    )
    .order_by(document.c.position, document.c.kind, document.c.doc_id)
    .limit(bindparam("limit", type_=Integer))
)


def put(
    connection: Connection,
    location_id: str,
    kind: str,
    doc_id: str,
    body: dict,
    *,
    position: int,
    feed: str = HOUSE,
) -> None:
    """Store a document as it is after the entry at ``position``."""
    put_all(connection, location_id, kind, {doc_id: (position, body)}, feed=feed)


def put_all(
    connection: Connection,
    location_id: str,
    kind: str,
    bodies: Mapping[str, tuple[int, dict]],
    *,
    feed: str = HOUSE,
) -> None:
    """Store documents of one kind: by its id, after the entry at which position each is how.

    Raises ``ValueError`` for a number that JSON cannot say.
    """
    insert_or_update_all(
        connection,
        document,
        [
            {
                "location_id": location_id,
                "kind": kind,
                "doc_id": doc_id,
                "feed": feed,
                "position": position,
                # It goes out as it is stored: what is no JSON would stop every reader.
                "body": json.dumps(
                    body, ensure_ascii=False, separators=(",", ":"), allow_nan=False
                ),
            }
            for doc_id, (position, body) in bodies.items()
        ],
    )


def get(connection: Connection, location_id: str, kind: str, doc_id: str) -> dict | None:
    """Return a document, or None."""
    named = {"location_id": location_id, "kind": kind, "doc_id": doc_id}
    body = connection.execute(_ONE, named).scalar()
    return None if body is None else json.loads(body)


def place_of(
    connection: Connection, location_id: str, kind: str, *, doc_id: str, event_id: str
) -> str:
    """Return under which id to keep what an entry says: ``doc_id``, unless another entry has it.

    For what may be said once only: a second entry about the same thing stands beside the first,
    under its own id, and takes nothing back.
    """
    known = get(connection, location_id, kind, doc_id)
    return doc_id if known is None or known["event_id"] == event_id else event_id


class Once:
    """A location's documents, each read once: for whoever asks again while none of them changes.

    Whoever knows which they will be says so first (:meth:`look_up`), and they are read together.
    """

    def __init__(self, connection: Connection, location_id: str) -> None:
        self.connection = connection
        self.location_id = location_id
        self._read: dict[tuple[str, str], dict | None] = {}

    def look_up(self, wanted: Iterable[tuple[str, str]]) -> None:
        """Read documents ahead, each named by (kind, doc_id)."""
        missing = builtins.list(dict.fromkeys(one for one in wanted if one not in self._read))
        if not missing:
            return
        self._read |= (wanted_now := dict.fromkeys(missing))
        kinds, doc_ids = (builtins.list(dict.fromkeys(each)) for each in zip(*missing, strict=True))
        named = {"location_id": self.location_id, "kinds": kinds, "doc_ids": doc_ids}
        for kind, doc_id, body in self.connection.execute(_NAMED, named):
            if (kind, doc_id) in wanted_now:
                self._read[kind, doc_id] = json.loads(body)

    def get(self, kind: str, doc_id: str) -> dict | None:
        """Return a document, or None; whoever asked before holds the same one."""
        named = (kind, doc_id)
        if named not in self._read:
            self._read[named] = get(self.connection, self.location_id, kind, doc_id)
        return self._read[named]


def changed(
    connection: Connection, location_id: str, feed: str, *, after: int, upto: int, limit: int
) -> builtins.list[tuple[str, str, int, str]]:
    """Return (kind, doc_id, position, text) of documents changed in (after, upto], in order.

    The text is the document's JSON as it is stored. ``limit`` may be passed to keep together what
    one position changed: a page never ends in the middle of a position, or the rest of it would be
    skipped.
    """
    asked = {"location_id": location_id, "feed": feed, "after": after, "upto": upto}
    rows = connection.execute(_CHANGED, {**asked, "limit": limit + 1}).all()
    if len(rows) <= limit:
        return [tuple(row) for row in rows]
    last = rows[limit - 1].position
    whole = [tuple(row) for row in rows if row.position < last]
    of_last = connection.execute(
        _CHANGED, {**asked, "after": last - 1, "upto": last, "limit": _ALL}
    )
    return whole + [tuple(row) for row in of_last]


def clear(connection: Connection, location_id: str) -> None:
    """Drop every document of a location, before they are all made anew from the log."""
    connection.execute(delete(document).where(document.c.location_id == location_id))


def drop(connection: Connection, location_id: str, kind: str, doc_id: str) -> None:
    """Drop one document, before it is made anew from the log."""
    connection.execute(
        delete(document).where(
            document.c.location_id == location_id,
            document.c.kind == kind,
            document.c.doc_id == doc_id,
        )
    )


def list(connection: Connection, location_id: str, kind: str) -> builtins.list[dict]:
    """Return all documents of a kind, ordered by their id."""
    rows = connection.execute(
        select(document.c.body)
        .where(document.c.location_id == location_id, document.c.kind == kind)
        .order_by(document.c.doc_id)
    )
    return [json.loads(row.body) for row in rows]


def holding(
    connection: Connection, location_id: str, kind: str, *, field: str, value: str
) -> Iterator[dict]:
    """Yield the documents of a kind in whose text a field has this text, ordered by their id.

    The field may stand anywhere in the document, so the caller looks again at what it gets; it
    only need not read all the others. One at a time, as there may be years of them; whoever writes
    meanwhile takes them all first.
    """
    wanted = json.dumps({field: value}, ensure_ascii=False, separators=(",", ":"))[1:-1]
    rows = connection.execute(
        select(document.c.body)
        .where(
            document.c.location_id == location_id,
            document.c.kind == kind,
            document.c.body.contains(wanted, autoescape=True),
        )
        .order_by(document.c.doc_id)
    )
    for row in rows:
        yield json.loads(row.body)
