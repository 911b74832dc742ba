"""Sessions of persons: given once everything is proven, over when left idle or too old."""

from collections.abc import Mapping
from datetime import datetime, timedelta

from api.clock import parse_rfc3339
from api.people import attempts, secrets
from api.storage import access, accounts, places
from api.storage.engine import Connection, Engine, write

# Absolute, from sign-in, however busy the session is.
SESSION_LIFE = timedelta(hours=12)
# A desk that nobody touched for so long is taken for left; a tablet locks by itself, and sooner.
DESK_IDLE = timedelta(minutes=30)
# How old a note of use may grow before it is made anew: a write for every request is too many.
NOTE_USE_AFTER = timedelta(minutes=1)


def open_desk(
    connection: Connection,
    location_id: str,
    token: str,
    person_id: str,
    *,
    now: datetime,
    agent: str | None,
) -> None:
    """Open a desk session for somebody who has proven all there is to prove.

    It also opens their PINs again, which only wrong guesses can have disabled. The next sign-in
    begins at this location.
    """
    places.forgive(connection, attempts.PIN, person_id)
    places.entered(connection, location_id, person_id, now=now)
    give(connection, location_id, token, accounts.DESK, person_id, None, now=now, agent=agent)


def give(
    connection: Connection,
    location_id: str,
    token: str,
    kind: str,
    person_id: str,
    tablet_id: str | None,
    *,
    now: datetime,
    agent: str | None = None,
) -> None:
    """Let ``token`` stand for a person, at a desk or on a tablet; signing in is written down."""
    accounts.add_token(
        connection,
        location_id,
        secrets.digest(token),
        kind=kind,
        tablet_id=tablet_id,
        person_id=person_id,
        now=now,
        expires_at=now + SESSION_LIFE,
        agent=agent,
    )
    access.note(
        connection,
        location_id=location_id,
        at=now,
        action="sign_in",
        actor_id=person_id,
        tablet_id=tablet_id,
    )


def left_idle(token: Mapping, *, now: datetime) -> bool:
    """Return whether the session of this row ended because nobody used it."""
    if token["kind"] != accounts.DESK:
        return False
    return now - parse_rfc3339(token["used_at"]) >= DESK_IDLE


def note_use(engine: Engine, *, token: str, used_at: str, now: datetime) -> None:
    """Note that a session is in use, if that was not noted within the last minute."""
    if now - parse_rfc3339(used_at) < NOTE_USE_AFTER:
        return
    with write(engine) as connection:
        accounts.touch_token(connection, secrets.digest(token), now=now)
