"""What was erased: listed first, then gone; the list is what keeps it away."""

import re
from collections.abc import Iterable, Mapping, Sequence

from sqlalchemy import ColumnElement, Connection, and_, cast, delete, exists, select
from sqlalchemy.types import Text

from api.events.catalogue import EVENT_TYPES
from api.storage.engine import is_postgresql
from api.storage.readers import QUARANTINED, as_entry, stored_at
from api.storage.rows import every, insert_or_keep
from api.storage.tables import (
    attachment,
    attachment_use,
    departure,
    erased,
    event,
    idempotency_key,
    job,
    payload,
    record_index,
    rendering,
)

ERASED = "retention.erased"
KIND = "erasure"
RECORD, PAYLOAD, RENDERING, ATTACHMENT = "record", "payload", "rendering", "attachment"
IDS_AT_ONCE = 500
_OF_A_RECORD = tuple(each.name for each in EVENT_TYPES.values() if each.subject == "record")
_ADDED = "attachment.added"
_HASH = re.compile(r"[0-9a-f]{64}")
_column = erased.c


def entries_of(connection: Connection, location_id: str, record_id: str) -> list[dict]:
    """Return every stored row that is about a record, also what was put aside, in order.

    What was put aside may be of a type that nobody knows; what is known to be of something else
    than a record is none of it.
    """
    rows = stored_at(connection, location_id, event.c.entity_id == record_id, limit=2**31 - 1)
    return [
        row
        for row in rows
        if row["type"] in _OF_A_RECORD
        or (row["verdict"] == QUARANTINED and row["type"] not in EVENT_TYPES)
    ]


def entries_named(
    connection: Connection, location_id: str, event_ids: Sequence[str]
) -> dict[str, dict]:
    """Return, of these events, those that the log has: by id, {position, entity_id, type, body}."""
    found = {}
    for start in range(0, len(event_ids), IDS_AT_ONCE):
        some = event_ids[start : start + IDS_AT_ONCE]
        rows = connection.execute(
            select(event.c.event_id, event.c.position, event.c.entity_id, event.c.body).where(
                event.c.location_id == location_id, event.c.event_id.in_(some)
            )
        )
        found |= {row.event_id: dict(row._mapping) for row in rows}
    return found


def note(
    connection: Connection,
    location_id: str,
    record_id: str,
    rows: Iterable[Mapping],
    *,
    by_position: int,
    at: str,
    by_location: str | None = None,
) -> None:
    """List what goes: {kind, what, sha256, position} each; what is listed already stays so.

    ``by_location`` is the history in which the order stands, where that is another one.
    """
    for row in rows:
        insert_or_keep(
            connection,
            erased,
            {
                "location_id": location_id,
                "record_id": record_id,
                "by_position": by_position,
                "by_location": by_location,
                "at": at,
                **row,
            },
        )


def take_away(connection: Connection, location_id: str, by_position: int) -> None:
    """Delete what is listed under the place of an entry of the log; the database asks for both.

    Of photographs, whatever is listed and nothing that is left names: one may have come again for
    another record, and a list made anew from the log must not take it from there.
    """
    if is_postgresql(connection):
        connection.exec_driver_sql("SELECT erase_listed(%s, %s)", (location_id, by_position))
        return
    slash = "/"
    paper = rendering.c.record_id + slash + cast(rendering.c.version, Text) + slash
    names = {
        payload: (PAYLOAD, payload.c.event_id),
        rendering: (RENDERING, paper + rendering.c.kind),
    }
    for table, (kind, name) in names.items():
        named = and_(
            _column.location_id == location_id,
            _column.by_position == by_position,
            _column.kind == kind,
            _column.what == name,
        )
        connection.execute(
            delete(table).where(table.c.location_id == location_id, exists().where(named))
        )
    listed = select(_column.what).where(
        _column.location_id == location_id, _column.kind == ATTACHMENT
    )
    used = exists().where(
        attachment_use.c.location_id == location_id, attachment_use.c.sha256 == attachment.c.sha256
    )
    connection.execute(
        delete(attachment).where(
            attachment.c.location_id == location_id,
            attachment.c.sha256.in_(listed),
            ~used,
            ~_named_aside(location_id, attachment.c.sha256),
        )
    )


def _named_aside(
    location_id: str, sha256: ColumnElement[str] | str, *but: ColumnElement[bool]
) -> ColumnElement[bool]:
    """Say that an entry which was put aside, and still has its content, names a photograph."""
    return exists().where(
        event.c.location_id == location_id,
        event.c.verdict == QUARANTINED,
        event.c.type == _ADDED,
        payload.c.location_id == event.c.location_id,
        payload.c.event_id == event.c.event_id,
        payload.c.payload.contains(sha256),
        *but,
    )


def of_record(connection: Connection, location_id: str, record_id: str) -> list[dict]:
    """Return what is listed for a record, ordered: {kind, what, sha256, position, ...}."""
    rows = connection.execute(
        select(erased)
        .where(_column.location_id == location_id, _column.record_id == record_id)
        .order_by(_column.kind, _column.position, _column.what)
    )
    return every(rows)


def records_among(connection: Connection, location_id: str, record_ids: Iterable[str]) -> list[str]:
    """Return those of these records of which something was erased, ordered."""
    rows = connection.execute(
        select(_column.what)
        .where(
            _column.location_id == location_id,
            _column.kind == RECORD,
            _column.what.in_(list(record_ids)),
        )
        .order_by(_column.what)
    )
    return list(rows.scalars())


def orders(connection: Connection, location_id: str) -> list[dict]:
    """Return the stored rows of every ``retention.erased`` that counts, in order."""
    return stored_at(
        connection,
        location_id,
        event.c.type == ERASED,
        event.c.verdict == "applied",
        limit=2**31 - 1,
    )


def used_elsewhere(connection: Connection, location_id: str, record_id: str, sha256: str) -> bool:
    """Say whether another record names a photograph too, or what was put aside of another."""
    used = exists().where(
        attachment_use.c.location_id == location_id,
        attachment_use.c.sha256 == sha256,
        attachment_use.c.record_id != record_id,
    )
    aside = _named_aside(location_id, sha256, event.c.entity_id.is_distinct_from(record_id))
    return bool(connection.execute(select(used | aside)).scalar_one())


def photographs_of(connection: Connection, location_id: str, record_id: str) -> list[str]:
    """Return the hashes of the photographs that a record names and no other does, ordered.

    Those of entries that were put aside are among them: nothing is made of such an entry, but its
    photograph is kept.
    """
    rows = connection.execute(
        select(attachment_use.c.sha256).where(
            attachment_use.c.location_id == location_id, attachment_use.c.record_id == record_id
        )
    )
    named = {*rows.scalars()}
    for row in entries_of(connection, location_id, record_id):
        if row["type"] == _ADDED:
            sha256 = (as_entry(row)["payload"] or {}).get("sha256")
            # Of what was put aside the content may be of any form.
            if isinstance(sha256, str) and _HASH.fullmatch(sha256):
                named.add(sha256)
    return [
        sha256
        for sha256 in sorted(named)
        if not used_elsewhere(connection, location_id, record_id, sha256)
    ]


def photographs_aside(connection: Connection, location_id: str, record_id: str) -> list[str]:
    """As :func:`photographs_of`, of a history of which nothing is derived: out of its log."""
    rows = stored_at(connection, location_id, event.c.type == _ADDED, limit=2**31 - 1)
    named: dict[bool, set[str]] = {True: set(), False: set()}
    for row in rows:
        sha256 = (as_entry(row)["payload"] or {}).get("sha256")
        if isinstance(sha256, str) and _HASH.fullmatch(sha256):
            named[row["entity_id"] == record_id].add(sha256)
    return sorted(named[True] - named[False])


def forget(connection: Connection, location_id: str, record_id: str) -> None:
    """Drop what was derived from a record for lists, charts and work still to be done."""
    for table in (record_index, departure, attachment_use, job):
        connection.execute(
            delete(table).where(table.c.location_id == location_id, table.c.record_id == record_id)
        )
    # A desk's key goes with an unsalted hash of what it sent: what is short can be guessed from it.
    gone = select(_column.what).where(
        _column.location_id == location_id,
        _column.kind == PAYLOAD,
        _column.record_id == record_id,
    )
    connection.execute(
        delete(idempotency_key).where(
            idempotency_key.c.location_id == location_id, idempotency_key.c.event_id.in_(gone)
        )
    )
