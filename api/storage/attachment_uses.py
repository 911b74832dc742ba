"""Which records name which photograph: its bytes are taken for a record, and read as part of it."""

from collections.abc import Collection

from sqlalchemy import Connection, delete, select

from api.storage.rows import insert_or_keep
from api.storage.tables import attachment_use

_column = attachment_use.c


def put(connection: Connection, location_id: str, record_id: str, hashes: Collection[str]) -> None:
    """Store which photographs a record names, also those that it named and took back."""
    for sha256 in hashes:
        row = {"location_id": location_id, "sha256": sha256, "record_id": record_id}
        insert_or_keep(connection, attachment_use, row)


def records_of(connection: Connection, location_id: str, sha256: str) -> list[str]:
    """Return the ids of the records that name a photograph, ordered."""
    rows = connection.execute(
        select(_column.record_id)
        .where(_column.location_id == location_id, _column.sha256 == sha256)
        .order_by(_column.record_id)
    )
    return list(rows.scalars())


def clear(connection: Connection, location_id: str) -> None:
    """Drop every row of a location, before they are all made anew from the log."""
    connection.execute(delete(attachment_use).where(_column.location_id == location_id))
