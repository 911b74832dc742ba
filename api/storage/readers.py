"""Reading the log. An entry is a dict: position, received_at, verdict, reason, location_id,
event_id, body (dict), payload (dict, or None once erased), body_hash (hex)."""

import json
from collections.abc import Collection, Mapping, Sequence

from sqlalchemy import Connection, Engine, and_, bindparam, exists, func, not_, or_, select

from api.events.catalogue import EVENT_TYPES
from api.storage.engine import read
from api.storage.rows import every, first
from api.storage.tables import event, location, payload

_OF_A_RECORD = tuple(each.name for each in EVENT_TYPES.values() if each.subject == "record")

APPLIED = "applied"
CONFLICT = "conflict"
QUARANTINED = "quarantined"
RELEASED = "aside.released"

_release = event.alias("release")
_LOCATION = select(location).where(location.c.location_id == bindparam("location_id"))
_LINK = select(event.c.link).where(
    event.c.location_id == bindparam("location_id"), event.c.position == bindparam("position")
)


def _released(*, by: int | None = None):
    """Say whether an entry that was put aside was released, by a position if one is given."""
    where = [
        _release.c.location_id == event.c.location_id,
        _release.c.entity_id == event.c.event_id,
        _release.c.type == RELEASED,
        _release.c.verdict == APPLIED,
    ]
    if by is not None:
        where.append(_release.c.position <= by)
    return and_(event.c.verdict == QUARANTINED, exists().where(*where))


def record_entries(connection: Connection, location_id: str, record_id: str) -> list[dict]:
    """Return the entries of one record that count, in the order of the log.

    Those that were applied, and those put aside that were released later. Events of other subjects
    that happen to name the same id are none of the record's.
    """
    return _entries(
        connection,
        event.c.location_id == location_id,
        event.c.entity_id == record_id,
        or_(event.c.verdict == APPLIED, _released()),
        event.c.type.in_(_OF_A_RECORD),
    )


def entries_of_records(
    connection: Connection,
    location_id: str,
    record_ids: Collection[str],
    *,
    but_first: int,
    but_last: int,
) -> dict[str, list[dict]]:
    """Return by record what ``record_entries`` gives, but for what stands between two places.

    For whoever has just put these into the log together and still has them in hand.
    """
    named = {
        "location_id": location_id,
        "record_ids": [*record_ids],
        "first": but_first,
        "last": but_last,
    }
    found: dict[str, list[dict]] = {record_id: [] for record_id in record_ids}
    for row in connection.execute(_OF_RECORDS, named).mappings():
        if row["type"] in _OF_A_RECORD:
            found[row["entity_id"]].append(as_entry(row))
    return found


def entity_entries(connection: Connection, location_id: str, entity_id: str) -> list[dict]:
    """Return the entries about one thing, applied or in conflict, in the order of the log."""
    return _entries(
        connection,
        event.c.location_id == location_id,
        event.c.entity_id == entity_id,
        event.c.verdict.in_((APPLIED, CONFLICT)),
    )


def entries_about(
    connection: Connection, location_id: str, subject: str, entity_id: str, *, upto: int
) -> list[dict]:
    """Return the entries about one thing that count at a position, in the order of the log.

    What was put aside and released by then has the verdict that its release says.
    """
    types = [each.name for each in EVENT_TYPES.values() if each.subject == subject]
    found = _entries(
        connection,
        event.c.location_id == location_id,
        event.c.entity_id == entity_id,
        event.c.position <= upto,
        or_(event.c.verdict.in_((APPLIED, CONFLICT)), _released(by=upto)),
        event.c.type.in_(types),
    )
    for entry in found:
        if entry["verdict"] == QUARANTINED:
            [release, *_] = _entries(
                connection,
                event.c.location_id == location_id,
                event.c.entity_id == entry["event_id"],
                event.c.type == RELEASED,
                event.c.verdict == APPLIED,
            )
            entry["verdict"] = release["payload"]["verdict"]
    return found


def openings(connection: Connection, location_id: str, record_id: str) -> list[dict]:
    """Return whatever says that a record was opened, counted or put aside, as entries."""
    return _entries(
        connection,
        event.c.location_id == location_id,
        event.c.entity_id == record_id,
        event.c.type == "procedure.opened",
    )


def stored_at(
    connection: Connection, location_id: str, *where, latest_first: bool = False, limit: int
) -> list[dict]:
    """Return rows of a location's log that meet a condition, exactly as they are stored."""
    order = event.c.position.desc() if latest_first else event.c.position
    statement = _stored.where(event.c.location_id == location_id, *where)
    return every(connection.execute(statement.order_by(order).limit(limit)))


def entry_by_event(connection: Connection, location_id: str, event_id: str) -> dict | None:
    """Return the entry of an event, or None."""
    found = _entries(connection, event.c.location_id == location_id, event.c.event_id == event_id)
    return found[0] if found else None


def entries_after(
    connection: Connection, location_id: str, position: int, *, limit: int
) -> list[dict]:
    """Return the entries after ``position``, every verdict, in the order of the log."""
    return _entries(
        connection,
        event.c.location_id == location_id,
        event.c.position > position,
        event.c.position <= position + limit,
    )


def quarantined(connection: Connection, location_id: str) -> list[dict]:
    """Return what was put aside, as it came: {position, event_id, tablet_id, reason, body, ...}."""
    return every(
        connection.execute(
            _stored.where(
                event.c.location_id == location_id, event.c.verdict == QUARANTINED
            ).order_by(event.c.position)
        )
    )


def has_entry_of(
    connection: Connection, location_id: str, tablet_ids: Sequence[str], tablet_seq: int
) -> bool:
    """Return whether any of these tablets has an entry with this number of its own."""
    found = connection.execute(
        select(event.c.position)
        .where(
            event.c.location_id == location_id,
            event.c.tablet_id.in_(tablet_ids),
            event.c.tablet_seq == tablet_seq,
        )
        .limit(1)
    )
    return found.first() is not None


def stored_after(
    connection: Connection, location_id: str, position: int, *, limit: int
) -> list[dict]:
    """Return the rows after ``position`` exactly as they are stored, in order."""
    return every(
        connection.execute(
            _stored.where(event.c.location_id == location_id, event.c.position > position)
            .order_by(event.c.position)
            .limit(limit)
        )
    )


def stored_of_record(connection: Connection, location_id: str, record_id: str) -> list[dict]:
    """Return the rows of one record's applied entries exactly as they are stored, in order."""
    return every(
        connection.execute(
            _stored.where(
                event.c.location_id == location_id,
                event.c.entity_id == record_id,
                event.c.verdict == APPLIED,
                event.c.type.in_(_OF_A_RECORD),
            ).order_by(event.c.position)
        )
    )


def locations_of_record(connection: Connection, record_id: str) -> list[str]:
    """Return the locations whose logs have entries of a record, ordered."""
    rows = connection.execute(
        select(event.c.location_id)
        .where(event.c.entity_id == record_id, event.c.type.in_(_OF_A_RECORD))
        .distinct()
        .order_by(event.c.location_id)
    )
    return list(rows.scalars())


def locations(connection: Connection) -> list[dict]:
    """Return {location_id, epoch, position, link, opened_at} of every location."""
    return every(connection.execute(select(location).order_by(location.c.location_id)))


def location_row(connection: Connection, location_id: str) -> dict | None:
    """Return {location_id, epoch, position, link, opened_at} of a location, or None."""
    return first(connection.execute(_LOCATION, {"location_id": location_id}))


def link_at(connection: Connection, location_id: str, position: int) -> bytes | None:
    """Return the link of the entry at ``position``, or None."""
    asked = {"location_id": location_id, "position": position}
    return connection.execute(_LINK, asked).scalar()


def entry_hashes(connection: Connection, location_id: str, *, after: int, upto: int) -> list[dict]:
    """Return {position, header_hash, body_hash} (hex) of every position in (after, upto]."""
    _, hashes = raw_hashes(connection, location_id, after=after, upto=upto)
    return [
        {"position": position, "header_hash": header_hash.hex(), "body_hash": body_hash.hex()}
        for position, header_hash, body_hash in hashes
    ]


def raw_hashes(
    connection: Connection, location_id: str, *, after: int, upto: int
) -> tuple[bytes | None, list[tuple[int, bytes, bytes]]]:
    """Return the link at ``after``, and what leads from it to the link at ``upto``.

    The latter is (position, header hash, body hash) of every position in (after, upto], in order;
    the link is None where no entry stands.
    """
    asked = {"location_id": location_id, "after": after, "upto": upto}
    rows = [tuple(row) for row in connection.execute(_HASHES, asked).all()]
    link = rows.pop(0)[3] if rows and rows[0][0] == after else None
    return link, [row[:3] for row in rows]


def log_position(engine: Engine) -> int:
    """Return the sum of the log positions of all locations."""
    with read(engine) as connection:
        return connection.execute(
            select(func.coalesce(func.sum(location.c.position), 0))
        ).scalar_one()


_with_payload = event.outerjoin(
    payload,
    and_(payload.c.location_id == event.c.location_id, payload.c.event_id == event.c.event_id),
)
_stored = select(event, payload.c.salt, payload.c.payload).select_from(_with_payload)


# Made once: every pull asks for them.
_HASHES = (
    select(event.c.position, event.c.header_hash, event.c.body_hash, event.c.link)
    .where(
        event.c.location_id == bindparam("location_id"),
        event.c.position >= bindparam("after"),
        event.c.position <= bindparam("upto"),
    )
    .order_by(event.c.position)
)

_ENTRY_COLUMNS = (
    "location_id",
    "position",
    "received_at",
    "verdict",
    "reason",
    "event_id",
    "entity_id",
    "type",
    "body",
    "body_hash",
)
# Made once, and only with what an entry is made of: every push comes here.
_OF_RECORDS = (
    select(*(event.c[name] for name in _ENTRY_COLUMNS), payload.c.payload)
    .select_from(_with_payload)
    .where(
        event.c.location_id == bindparam("location_id"),
        event.c.entity_id.in_(bindparam("record_ids", expanding=True)),
        or_(event.c.verdict == APPLIED, _released()),
        not_(event.c.position.between(bindparam("first"), bindparam("last"))),
    )
    .order_by(event.c.position)
)


def _entries(connection: Connection, *where) -> list[dict]:
    rows = every(connection.execute(_stored.where(*where).order_by(event.c.position)))
    return [as_entry(row) for row in rows]


def as_entry(row: Mapping) -> dict:
    """Turn a stored row into an entry; unreadable texts, found in quarantine only, become None."""
    return {
        "position": row["position"],
        "received_at": row["received_at"],
        "verdict": row["verdict"],
        "reason": row["reason"],
        "location_id": row["location_id"],
        "event_id": row["event_id"],
        "body": _object(row["body"]),
        "payload": None if row["payload"] is None else _object(row["payload"]),
        "body_hash": row["body_hash"].hex(),
    }


def _object(text: str) -> dict | None:
    try:
        value = json.loads(text)
    except (ValueError, RecursionError):
        return None
    return value if isinstance(value, dict) else None
