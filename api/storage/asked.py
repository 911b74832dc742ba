"""How often somebody asked for something: counted where every process sees it."""

from datetime import datetime, timedelta

from sqlalchemy import Connection, case, delete, update

from api.storage.rows import first, insert_or_keep, utc_text
from api.storage.tables import asked


def count(
    connection: Connection,
    what: str,
    who: str,
    *,
    window: timedelta,
    now: datetime,
    times: int = 1,
) -> dict:
    """Count ``times`` more and return {times, began_at} of the window of time that runs now.

    One statement counts and, where a window is over, begins the next: a race gains nothing. What
    others asked for before the last window is forgotten when somebody new comes.
    """
    over = asked.c.began_at <= utc_text(now - window)
    if insert_or_keep(
        connection, asked, {"what": what, "who": who, "began_at": utc_text(now), "times": 0}
    ):
        connection.execute(delete(asked).where(asked.c.what == what, over))
    return first(
        connection.execute(
            update(asked)
            .where(asked.c.what == what, asked.c.who == who)
            .values(
                began_at=case((over, utc_text(now)), else_=asked.c.began_at),
                times=case((over, times), else_=asked.c.times + times),
            )
            .returning(asked.c.times, asked.c.began_at)
        )
    )
