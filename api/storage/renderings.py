"""Renderings of signed records: the first one stored is the one, for ever."""

import hashlib
from datetime import datetime

from sqlalchemy import Connection, select

from api.storage.rows import every, first, insert_or_keep, utc_text
from api.storage.tables import rendering


def put(
    connection: Connection,
    location_id: str,
    record_id: str,
    version: int,
    kind: str,
    content: bytes,
    *,
    made_at: datetime,
) -> dict | None:
    """Store a rendering ("pdf" or "text"); return the one that counts, which may be older.

    None where the record was erased: no paper of it is kept any more.
    """
    insert_or_keep(
        connection,
        rendering,
        {
            "location_id": location_id,
            "record_id": record_id,
            "version": version,
            "kind": kind,
            "content": content,
            "sha256": hashlib.sha256(content).hexdigest(),
            "made_at": utc_text(made_at),
        },
    )
    return get(connection, location_id, record_id, version, kind)


def get(
    connection: Connection, location_id: str, record_id: str, version: int, kind: str
) -> dict | None:
    """Return {content, sha256, made_at, version, ...} of a rendering, or None."""
    return first(
        connection.execute(
            select(rendering).where(
                rendering.c.location_id == location_id,
                rendering.c.record_id == record_id,
                rendering.c.version == version,
                rendering.c.kind == kind,
            )
        )
    )


def hashes_of(connection: Connection, location_id: str, record_id: str) -> list[dict]:
    """Return {version, kind, sha256} of every rendering of a record, in order."""
    return every(
        connection.execute(
            select(rendering.c.version, rendering.c.kind, rendering.c.sha256)
            .where(rendering.c.location_id == location_id, rendering.c.record_id == record_id)
            .order_by(rendering.c.version, rendering.c.kind)
        )
    )
