"""Guesses at a secret: counted before they are checked, so that a race gains no guess."""

from datetime import datetime, timedelta

from api.clock import parse_rfc3339, rfc3339
from api.errors import NotAllowed, TooMany
from api.storage import accounts
from api.storage.engine import Connection, Engine, write

PIN = "pin"
PASSWORD = "password"
FACTOR = "factor"

# Where guesses at a name that nobody has are counted: they have to look like all others.
NOWHERE = "nowhere"

LOCK_FROM = 5
FIRST_LOCK = timedelta(minutes=1)
LONGEST_LOCK = timedelta(minutes=15)
# Only a PIN is ever disabled: a password is what opens it again, and must not be shut by strangers.
PIN_DISABLED_FROM = 10


def take(engine: Engine, *, location_id: str, kind: str, subject: str, now: datetime) -> int:
    """Count one guess at ``subject`` as wrong, and return how many there are now.

    Called before the secret is looked at, in a transaction of its own; a right guess is forgiven
    afterwards by :func:`forgive`. Of twenty guesses that arrive at once, five get through. Raises
    ``TooMany`` while locked, ``NotAllowed`` for a PIN that is disabled.
    """
    with write(engine) as connection:
        known = accounts.hold_attempts(connection, location_id, kind, subject)
        if kind == PIN and known["wrong"] >= PIN_DISABLED_FROM:
            raise NotAllowed(
                "pin_disabled", "This PIN is disabled. Sign in at a desk with the password first."
            )
        until = known["locked_until"]
        if until is not None and parse_rfc3339(until) > now:
            raise TooMany(f"{kind}_locked", "Too many wrong tries. Wait a little.", until=until)
        wrong = accounts.count_wrong(connection, location_id, kind, subject)
        lock = lock_after(wrong)
        if lock is not None:
            accounts.lock_attempts(connection, location_id, kind, subject, until=now + lock)
        return wrong


def forgive(connection: Connection, *, location_id: str, kind: str, subject: str) -> None:
    """Forget the guesses at ``subject``, after a right one."""
    accounts.clear_attempts(connection, location_id, kind, subject)


def lock_after(wrong: int) -> timedelta | None:
    """Return for how long to lock after ``wrong`` guesses: 1 min at the 5th, then doubling."""
    if wrong < LOCK_FROM:
        return None
    return min(FIRST_LOCK * 2 ** min(wrong - LOCK_FROM, 10), LONGEST_LOCK)


def facts(wrong: int, now: datetime) -> dict[str, object]:
    """Return what a person is told after a wrong guess: tries left before a pause, and the pause's
    end where one began."""
    lock = lock_after(wrong)
    if lock is None:
        return {"attempts_left": LOCK_FROM - wrong}
    return {"attempts_left": 0, "until": rfc3339(now + lock)}
