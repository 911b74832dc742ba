"""Old rows that nothing needs any more; the log, papers and the access log are not among them."""

from datetime import datetime, timedelta

from sqlalchemy import ColumnElement, Connection, Table, delete, or_

from api.storage.rows import utc_text
from api.storage.tables import (
    asked,
    ceremony,
    challenge,
    enrol_code,
    idempotency_key,
    link,
    token,
)

# This project's own choices: long enough that somebody who asks why something no longer works can
# still be told, short enough that a table does not grow for ever. What was done with each of them
# stands in the access log.
KEPT_SECRETS = timedelta(days=7)
KEPT_BEGUN = timedelta(days=1)
# A desk that repeats a command after a lost answer does so within the day.
KEPT_KEYS = timedelta(days=30)
# Longer than any window in which requests are counted (web/limits.py).
KEPT_COUNTS = timedelta(days=1)


def tidy(connection: Connection, *, now: datetime) -> dict[str, int]:
    """Delete what has been over for a while; return how many rows of each table.

    One-time links and enrolment codes, nonces, what was begun and not ended, sessions and tokens,
    keys of commands, and counts of requests. What is still valid stays; so do wrong guesses at a
    PIN or a password, which hold until somebody forgives them.
    """

    def before(kept: timedelta) -> str:
        return utc_text(now - kept)

    over: tuple[tuple[Table, ColumnElement[bool]], ...] = (
        (link, link.c.expires_at < before(KEPT_SECRETS)),
        (enrol_code, enrol_code.c.expires_at < before(KEPT_SECRETS)),
        (challenge, challenge.c.expires_at < before(KEPT_BEGUN)),
        (ceremony, ceremony.c.expires_at < before(KEPT_BEGUN)),
        (
            token,
            or_(
                token.c.expires_at < before(KEPT_SECRETS),
                token.c.ended_at < before(KEPT_SECRETS),
            ),
        ),
        (idempotency_key, idempotency_key.c.made_at < before(KEPT_KEYS)),
        (asked, asked.c.began_at < before(KEPT_COUNTS)),
    )
    return {
        table.name: connection.execute(delete(table).where(condition)).rowcount
        for table, condition in over
    }
