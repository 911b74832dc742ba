"""What a restored database must not bring back: who was let in when the backup was made."""

from datetime import datetime

from sqlalchemy import Connection, update

from api.storage.rows import utc_text
from api.storage.tables import ceremony, challenge, enrol_code, link, location, token


def begin_epoch(connection: Connection, location_id: str, epoch: str) -> None:
    """Let what is appended to a location's log from now on carry another epoch."""
    connection.execute(
        update(location).where(location.c.location_id == location_id).values(epoch=epoch)
    )


def let_nobody_in(connection: Connection, *, now: datetime) -> None:
    """End every session, and use up every code and link that was open.

    Some of them were ended, used or overtaken after the backup was made, and nothing here says
    which. Tablets come back by their own keys; people sign in again.
    """
    at = utc_text(now)
    connection.execute(update(token).where(token.c.ended_at.is_(None)).values(ended_at=at))
    for table in (enrol_code, link, ceremony, challenge):
        connection.execute(update(table).where(table.c.used_at.is_(None)).values(used_at=at))
