"""The keys under which desks send their commands, so that sending twice does one thing."""

from datetime import datetime

from sqlalchemy import Connection, select

from api.storage.rows import first, insert_or_keep, utc_text
from api.storage.tables import idempotency_key


def claim(
    connection: Connection,
    location_id: str,
    key: str,
    *,
    request_hash: str,
    event_id: str,
    now: datetime,
) -> dict:
    """Insert a key for an event that is about to be made; return the row that stands there.

    Inserted first and looked at afterwards: of two that send the same key at once, the second
    finds the first one's row.
    """
    insert_or_keep(
        connection,
        idempotency_key,
        {
            "location_id": location_id,
            "key": key,
            "request_hash": request_hash,
            "event_id": event_id,
            "made_at": utc_text(now),
        },
    )
    row = first(
        connection.execute(
            select(idempotency_key).where(
                idempotency_key.c.location_id == location_id, idempotency_key.c.key == key
            )
        )
    )
    assert row is not None
    return row
