"""Which records name which photograph: its bytes are taken for a record, and read as part of it."""

import re
from collections.abc import Collection

from sqlalchemy import Connection, delete, select

from api.storage.readers import QUARANTINED, as_entry, stored_at
from api.storage.rows import insert_or_keep
from api.storage.tables import attachment_use, event, payload

_column = attachment_use.c
_ADDED = "attachment.added"
_HASH = re.compile(r"[0-9a-f]{64}")
# Of one photograph; that several entries name one is rare.
_MOST = 100


def put(connection: Connection, location_id: str, record_id: str, hashes: Collection[str]) -> None:
    """Store which photographs a record names, also those that it named and took back."""
    for sha256 in hashes:
        row = {"location_id": location_id, "sha256": sha256, "record_id": record_id}
        insert_or_keep(connection, attachment_use, row)


def put_of_log(
    connection: Connection, location_id: str, *, but: Collection[str] = frozenset()
) -> None:
    """Store which photographs the entries of a log name, but for these events' of what is erased.

    For a history of which nothing is derived. What was put aside there is looked for in the log.
    """
    where = (event.c.type == _ADDED, event.c.verdict != QUARANTINED)
    for one in map(as_entry, stored_at(connection, location_id, *where, limit=2**31 - 1)):
        sha256 = (one["payload"] or {}).get("sha256")
        if one["event_id"] not in but and isinstance(sha256, str):
            put(connection, location_id, one["body"]["entity_id"], [sha256])


def records_of(connection: Connection, location_id: str, sha256: str) -> list[str]:
    """Return the ids of the records that name a photograph, ordered."""
    rows = connection.execute(
        select(_column.record_id)
        .where(_column.location_id == location_id, _column.sha256 == sha256)
        .order_by(_column.record_id)
    )
    return list(rows.scalars())


def entries_naming(
    connection: Connection, location_id: str, sha256: str, *, records: Collection[str] = ()
) -> list[dict]:
    """Return the entries that name a photograph: those of ``records``, or else those put aside.

    Nothing is made of an entry that was put aside, so it is looked for in the log itself, of which
    what was put aside is little.
    """
    if not _HASH.fullmatch(sha256):
        return []
    which = event.c.entity_id.in_(records) if records else event.c.verdict == QUARANTINED
    where = (event.c.type == _ADDED, which, payload.c.payload.contains(sha256))
    found = map(as_entry, stored_at(connection, location_id, *where, limit=_MOST))
    return [one for one in found if (one["payload"] or {}).get("sha256") == sha256]


def clear(connection: Connection, location_id: str) -> None:
    """Drop every row of a location, before they are all made anew from the log."""
    connection.execute(delete(attachment_use).where(_column.location_id == location_id))
