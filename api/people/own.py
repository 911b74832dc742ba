"""What a person does about their own secrets at a desk, each time with the password again."""

from collections.abc import Callable

from api.clock import Clock, rfc3339
from api.errors import BadInput, NotSignedIn
from api.people import attempts, factors, secrets, service, tokens
from api.storage import accounts
from api.storage import factors as stored
from api.storage.engine import Connection, Engine, read, write

Random = Callable[[int], bytes]


def of_person(
    connection: Connection, location_id: str, person_id: str, *, here: str | None = None
) -> dict:
    """Return what a person may know of their own secrets.

    The password is kept at ``location_id``; the PIN is that of ``here``, by default the same.
    """
    known = accounts.secret_of(connection, location_id, person_id) or {}
    pin = accounts.secret_of(connection, here or location_id, person_id) or {}
    return {
        "sign_in": known.get("sign_in"),
        "has_pin": pin.get("pin_hash") is not None,
        "factors": factors.of_person(connection, location_id, person_id),
        "recovery_codes_left": stored.recovery_codes_left(connection, location_id, person_id),
    }


def prove(engine: Engine, *, location_id: str, person_id: str, password: str, clock: Clock) -> None:
    """Check the password of somebody who is signed in, before something of theirs is changed.

    Counts as a guess like any other: whoever finds a desk open does not get to try many. Raises
    ``NotSignedIn`` password_wrong and ``TooMany`` password_locked.
    """
    with read(engine) as connection:
        known = accounts.secret_of(connection, location_id, person_id) or {}
    now = clock.now()
    guess = {"location_id": location_id, "kind": attempts.PASSWORD, "subject": person_id}
    wrong = attempts.take(engine, **guess, now=now)
    if not secrets.verify_secret(known.get("password_hash"), password):
        service.note_refusal(engine, location_id, now, person_id, None, "password")
        raise NotSignedIn("password_wrong", "The password is wrong.", **attempts.facts(wrong, now))
    with write(engine) as connection:
        attempts.forgive(connection, **guess)


def change_password(
    connection: Connection,
    *,
    location_id: str,
    here: str,
    person_id: str,
    password: str,
    agent: str | None,
    clock: Clock,
    random: Random,
) -> dict[str, str]:
    """Set another password; every session ends, and ``{"token", "expires_at"}`` opens this
    desk's anew, at the location ``here``.

    The caller has had the old one proven.
    """
    known = accounts.secret_of(connection, location_id, person_id) or {}
    service.set_password(
        connection,
        location_id=location_id,
        person_id=person_id,
        sign_in=known.get("sign_in") or "",
        password=password,
        actor_id=person_id,
        clock=clock,
        random=random,
    )
    token, now = secrets.new_token(random), clock.now()
    tokens.open_desk(connection, here, token, person_id, now=now, agent=agent)
    return {"token": token, "expires_at": rfc3339(now + tokens.SESSION_LIFE)}


def must_have_factor(connection: Connection, *, location_id: str, person_id: str) -> None:
    """Raise ``BadInput`` factor_needed without a second factor, which recovery codes stand for."""
    if not factors.has_any(connection, location_id, person_id):
        raise BadInput("factor_needed", "Recovery codes stand for a second factor: add one first.")


def remove_factor(
    connection: Connection,
    *,
    location_id: str,
    person_id: str,
    factor_id: str,
    password: str,
    clock: Clock,
) -> None:
    """Take a factor away. ``password`` is the one that was proven just now.

    Raises ``BadInput`` password_too_short_alone where it is the last factor and the password is
    too short to stand without one; ``NotFound`` without the factor.
    """
    rest = [
        row
        for row in stored.of_person(connection, location_id, person_id)
        if row["factor_id"] != factor_id
    ]
    if not rest and len(password) < secrets.PASSWORD_SHORTEST:
        raise BadInput(
            "password_too_short_alone",
            f"Without a second factor a password has at least {secrets.PASSWORD_SHORTEST} "
            "characters. Change the password first.",
        )
    factors.remove(
        connection,
        location_id=location_id,
        person_id=person_id,
        factor_id=factor_id,
        clock=clock,
    )
