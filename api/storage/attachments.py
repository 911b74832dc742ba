"""Photographs by the hash of their bytes: put once, never changed."""

from collections.abc import Collection
from datetime import datetime

from sqlalchemy import Connection, select

from api.storage.rows import first, insert_or_keep, utc_text
from api.storage.tables import attachment


def put(
    connection: Connection,
    location_id: str,
    sha256: str,
    content: bytes,
    *,
    media_type: str,
    width_px: int,
    height_px: int,
    received_at: datetime,
    actor_id: str | None,
    tablet_id: str | None,
) -> bool:
    """Keep the bytes under their hash; return False where they were there already."""
    return insert_or_keep(
        connection,
        attachment,
        {
            "location_id": location_id,
            "sha256": sha256,
            "media_type": media_type,
            "size_bytes": len(content),
            "width_px": width_px,
            "height_px": height_px,
            "content": content,
            "received_at": utc_text(received_at),
            "actor_id": actor_id,
            "tablet_id": tablet_id,
        },
    )


def get(connection: Connection, location_id: str, sha256: str) -> dict | None:
    """Return {content, media_type, size_bytes, width_px, height_px, received_at, ...}, or None."""
    return first(
        connection.execute(
            select(attachment).where(
                attachment.c.location_id == location_id, attachment.c.sha256 == sha256
            )
        )
    )


def hashes(connection: Connection, location_id: str, *, after: str = "", most: int) -> list[str]:
    """Return the hashes of the photographs of a location after one, ordered, ``most`` at most."""
    found = connection.execute(
        select(attachment.c.sha256)
        .where(attachment.c.location_id == location_id, attachment.c.sha256 > after)
        .order_by(attachment.c.sha256)
        .limit(most)
    )
    return list(found.scalars())


def present(connection: Connection, location_id: str, hashes: Collection[str]) -> set[str]:
    """Return those of ``hashes`` whose bytes are here."""
    found = connection.execute(
        select(attachment.c.sha256).where(
            attachment.c.location_id == location_id, attachment.c.sha256.in_(hashes)
        )
    )
    return set(found.scalars())
