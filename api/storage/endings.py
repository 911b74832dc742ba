"""What ends at once when somebody leaves: their sessions, their tokens and their secrets."""

from datetime import datetime

from sqlalchemy import Connection, update

from api.storage.rows import utc_text
from api.storage.tables import secret, token


def end_access(
    connection: Connection, location_id: str, person_id: str, *, before: datetime
) -> None:
    """End every token of a person here, and make every secret useless, that is from ``before``.

    A secret set later belongs to somebody who has come back.
    """
    moment = utc_text(before)
    connection.execute(
        update(token)
        .where(
            token.c.location_id == location_id,
            token.c.person_id == person_id,
            token.c.ended_at.is_(None),
            token.c.made_at <= moment,
        )
        .values(ended_at=moment)
    )
    connection.execute(
        update(secret)
        .where(
            secret.c.location_id == location_id,
            secret.c.person_id == person_id,
            secret.c.changed_at <= moment,
        )
        .values(sign_in=None, password_hash=None, pin_hash=None)
    )
