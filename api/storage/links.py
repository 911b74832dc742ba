"""One-time links: stored by their hash, opened as often as needed, used up once."""

from datetime import datetime

from sqlalchemy import Connection, insert, select, update

from api.storage.rows import first, utc_text
from api.storage.tables import link


def add(
    connection: Connection,
    location_id: str,
    link_hash: str,
    *,
    person_id: str,
    purpose: str,
    made_by: str | None,
    now: datetime,
    expires_at: datetime,
) -> None:
    """Store a link's hash; earlier links of the same person are worth nothing from now on."""
    connection.execute(
        update(link)
        .where(
            link.c.location_id == location_id,
            link.c.person_id == person_id,
            link.c.used_at.is_(None),
        )
        .values(used_at=utc_text(now))
    )
    connection.execute(
        insert(link).values(
            link_hash=link_hash,
            location_id=location_id,
            person_id=person_id,
            purpose=purpose,
            made_by=made_by,
            made_at=utc_text(now),
            expires_at=utc_text(expires_at),
        )
    )


def fresh(connection: Connection, link_hash: str, *, now: datetime) -> dict | None:
    """Return the row of a link that is unused and in time, or None."""
    return first(connection.execute(select(link).where(*_usable(link_hash, now))))


def take(connection: Connection, link_hash: str, *, now: datetime) -> dict | None:
    """Use a link up and return its row, or None if it is unknown, used or too old."""
    result = connection.execute(
        update(link).where(*_usable(link_hash, now)).values(used_at=utc_text(now)).returning(link)
    )
    return first(result)


def _usable(link_hash: str, now: datetime) -> tuple:
    return (
        link.c.link_hash == link_hash,
        link.c.used_at.is_(None),
        link.c.expires_at > utc_text(now),
    )
