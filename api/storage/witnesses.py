"""What tablets worked out themselves of a location's log: the link at a position, once each."""

from datetime import datetime

from sqlalchemy import Connection, func, select

from api.storage.rows import every, first, insert_or_keep, utc_text
from api.storage.tables import witness

_column = witness.c


def note(
    connection: Connection,
    location_id: str,
    tablet_id: str,
    *,
    epoch: str,
    position: int,
    link: bytes,
    now: datetime,
) -> None:
    """Keep that a tablet had this link at this position; what was said first stays."""
    insert_or_keep(
        connection,
        witness,
        {
            "location_id": location_id,
            "position": position,
            "tablet_id": tablet_id,
            "epoch": epoch,
            "link": link,
            "seen_at": utc_text(now),
        },
    )


def reached(connection: Connection, location_id: str, tablet_id: str, epoch: str) -> int:
    """Return the highest position that a tablet has told of, 0 before it told of any."""
    return (
        connection.execute(
            select(func.max(_column.position)).where(
                _column.location_id == location_id,
                _column.tablet_id == tablet_id,
                _column.epoch == epoch,
            )
        ).scalar()
        or 0
    )


def between(connection: Connection, location_id: str, *, after: int, upto: int) -> list[dict]:
    """Return {position, tablet_id, epoch, link} of what was told of positions in (after, upto]."""
    return every(
        connection.execute(
            select(_column.position, _column.tablet_id, _column.epoch, _column.link)
            .where(
                _column.location_id == location_id,
                _column.position > after,
                _column.position <= upto,
            )
            .order_by(_column.position, _column.tablet_id)
        )
    )


def beyond(connection: Connection, location_id: str, position: int, epoch: str) -> dict | None:
    """Return the first that was told of a position above ``position`` in this epoch, or None."""
    return first(
        connection.execute(
            select(_column.position, _column.tablet_id, _column.epoch, _column.link)
            .where(
                _column.location_id == location_id,
                _column.position > position,
                _column.epoch == epoch,
            )
            .order_by(_column.position, _column.tablet_id)
            .limit(1)
        )
    )
