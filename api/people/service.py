"""Signing in and out, and who is signed in: PIN on a tablet, password at a desk."""

from collections.abc import Callable
from datetime import datetime

from api.clock import Clock, rfc3339
from api.errors import BadInput, NotFound, NotSignedIn
from api.people import attempts, emergencies, homes, passwords, second_step, secrets, tokens
from api.people.factors import has_any
from api.people.work import person_document, roles_at, working_here
from api.storage import access, accounts, documents, places, reach
from api.storage.engine import (
    Connection,
    Engine,
    IntegrityError,
    narrow,
    read,
    savepoint,
    write,
)

Random = Callable[[int], bytes]

LONGEST_SIGN_IN = 80


def sign_in_with_pin(
    engine: Engine,
    *,
    location_id: str,
    tablet_id: str,
    person_id: str,
    pin: str,
    clock: Clock,
    random: Random,
) -> dict:
    """Check a PIN on a tablet: ``{"person_token", "expires_at", "person", "secrets_changed_at"}``.

    Raises ``NotSignedIn`` pin_wrong (facts ``attempts_left`` and, once paused, ``until``),
    ``TooMany`` pin_locked (fact ``until``), ``NotAllowed`` pin_disabled, ``BadInput`` pin_form.
    """
    secrets.check_pin_form(pin)
    now = clock.now()
    with read(engine) as connection:
        person = working_here(connection, location_id, person_id)
        stored = accounts.secret_of(connection, location_id, person_id)
    if person is None or stored is None or stored["pin_hash"] is None:
        # Nothing to guess at, so nothing is counted; it takes as long, and looks the same.
        secrets.verify_secret(None, pin)
        raise NotSignedIn("pin_wrong", "The PIN is wrong.", **attempts.facts(1, now))
    guess = {"location_id": location_id, "kind": attempts.PIN, "subject": person_id}
    wrong = attempts.take(engine, **guess, now=now)
    if not secrets.verify_secret(stored["pin_hash"], pin):
        note_refusal(engine, location_id, now, person_id, tablet_id, "pin")
        raise NotSignedIn("pin_wrong", "The PIN is wrong.", **attempts.facts(wrong, now))
    token = secrets.new_token(random)
    with write(engine) as connection:
        attempts.forgive(connection, **guess)
        tokens.give(connection, location_id, token, accounts.PERSON, person_id, tablet_id, now=now)
    return {
        "person_token": token,
        "expires_at": rfc3339(now + tokens.SESSION_LIFE),
        "person": person,
        "secrets_changed_at": stored["changed_at"],
    }


def sign_in_with_password(
    engine: Engine,
    *,
    sign_in: str,
    password: str,
    clock: Clock,
    random: Random,
    agent: str | None = None,
) -> dict:
    """Check a password at a desk: ``{"token", "expires_at", "person", "location_id"}``.

    It begins at the location last used. Whoever has a second factor gets ``{"step"}`` instead:
    what ``second_step`` goes on with. A sign-in opens the person's PINs again. Raises
    ``NotSignedIn`` sign_in_wrong, which does not say whether the name exists, and ``TooMany``
    password_locked (fact ``until``), for names that exist and names that do not.
    """
    now = clock.now()
    with read(engine) as connection:
        stored = accounts.secret_by_sign_in(connection, plain_sign_in(sign_in))
        found = homes.works(connection, stored["person_id"]) if stored else {}
        start = stored and homes.start_at(
            connection, stored["person_id"], stored["location_id"], now
        )
    if not stored or not start or stored["password_hash"] is None:
        attempts.take(
            engine,
            location_id=attempts.NOWHERE,
            kind=attempts.PASSWORD,
            subject=secrets.digest(plain_sign_in(sign_in)),
            now=now,
        )
        secrets.verify_secret(None, password)
        raise NotSignedIn("sign_in_wrong", "Name or password is wrong.")
    location_id, person_id = stored["location_id"], stored["person_id"]
    guess = {"location_id": location_id, "kind": attempts.PASSWORD, "subject": person_id}
    # Whose name it is is known; from here on nothing but where they work is in reach.
    with reach.within(*{location_id, *found}):
        attempts.take(engine, **guess, now=now)
        if not secrets.verify_secret(stored["password_hash"], password):
            note_refusal(engine, location_id, now, person_id, None, "password")
            raise NotSignedIn("sign_in_wrong", "Name or password is wrong.")
        token = secrets.new_token(random)
        with write(engine) as connection:
            attempts.forgive(connection, **guess)
            step = second_step.begin(
                connection, location_id=location_id, person_id=person_id, now=now, random=random
            )
            if step is not None:
                return {"step": step}
            tokens.open_desk(connection, start, token, person_id, now=now, agent=agent)
    return {
        "token": token,
        "expires_at": rfc3339(now + tokens.SESSION_LIFE),
        "person": found[start],
        "location_id": start,
    }


def desk_session(connection: Connection, token: str, *, now: datetime) -> dict:
    """Return ``{"person", "roles", "location_id", "expires_at"}`` of a desk session's token.

    Roles are those the person has now, not at sign-in. Raises ``NotSignedIn``.
    """
    return _signed_in(connection, token, kind=accounts.DESK, tablet_id=None, now=now)


def person_on_tablet(connection: Connection, token: str, *, tablet_id: str, now: datetime) -> dict:
    """Return ``{"person", "roles", "location_id", "expires_at"}`` of a person's token on a tablet.

    A token of another tablet is worth nothing here. Raises ``NotSignedIn``.
    """
    return _signed_in(connection, token, kind=accounts.PERSON, tablet_id=tablet_id, now=now)


def sign_out(engine: Engine, *, token: str, clock: Clock) -> None:
    """End a session or a person's token; an unknown one is ended already."""
    with write(engine) as connection:
        accounts.end_token(connection, secrets.digest(token), now=clock.now())


def set_pin(
    connection: Connection,
    *,
    location_id: str,
    person_id: str,
    pin: str,
    actor_id: str | None,
    clock: Clock,
    random: Random,
) -> None:
    """Give a person a new PIN, and forget the wrong guesses at the old one."""
    secrets.check_pin_form(pin)
    now = clock.now()
    _must_exist(connection, location_id, person_id)
    accounts.put_secret(
        connection, location_id, person_id, now=now, pin_hash=secrets.hash_secret(pin, random)
    )
    attempts.forgive(connection, location_id=location_id, kind=attempts.PIN, subject=person_id)
    _note_change(connection, location_id, now, actor_id, person_id, "pin")


def set_password(
    connection: Connection,
    *,
    location_id: str,
    person_id: str,
    sign_in: str,
    password: str,
    actor_id: str | None,
    clock: Clock,
    random: Random,
) -> None:
    """Give a person a sign-in name and a password; sessions open elsewhere end.

    ``location_id`` is where it is kept (``homes``). Raises ``BadInput`` for a name that somebody
    else has or that cannot be used, and for a password that ``passwords.check`` refuses; one may be
    shorter beside a second factor.
    """
    name = plain_sign_in(sign_in)
    if not name or len(name) > LONGEST_SIGN_IN:
        raise BadInput(
            "sign_in_form", f"A name has 1 to {LONGEST_SIGN_IN} characters.", field="sign_in"
        )
    _must_exist(connection, location_id, person_id)
    passwords.check(
        password,
        beside_factor=has_any(connection, location_id, person_id),
        own_words=(name, *_names(connection, location_id, person_id)),
    )
    now = clock.now()
    try:
        # Not looked up before: who has the name may be out of reach, at another location.
        with savepoint(connection):
            accounts.put_secret(
                connection,
                location_id,
                person_id,
                now=now,
                sign_in=name,
                password_hash=secrets.hash_secret(password, random),
            )
    except IntegrityError:
        raise BadInput("sign_in_taken", "This name is taken.", field="sign_in") from None
    places.end_sessions(connection, person_id, now=now)
    _note_change(connection, location_id, now, actor_id, person_id, "password")


def plain_sign_in(sign_in: str) -> str:
    """Return a sign-in name as it is stored: without case and outer blanks."""
    return sign_in.strip().casefold()


def _names(connection: Connection, location_id: str, person_id: str) -> list[str]:
    person = person_document(connection, location_id, person_id) or {}
    location = documents.get(connection, location_id, "location", location_id) or {}
    named = (person.get("display_name"), location.get("practice_name"), location.get("name"))
    return [name for name in named if name]


def _must_exist(connection: Connection, location_id: str, person_id: str) -> None:
    if working_here(connection, location_id, person_id) is None:
        raise NotFound("person_unknown", "There is no such person.")


def _signed_in(
    connection: Connection, token: str, *, kind: str, tablet_id: str | None, now: datetime
) -> dict:
    found = accounts.find_token(connection, secrets.digest(token), kind=kind, now=now)
    if found is None or found["tablet_id"] != tablet_id or tokens.left_idle(found, now=now):
        raise NotSignedIn("not_signed_in", "Please sign in.")
    whose = (found["location_id"], found["person_id"])
    person = working_here(connection, *whose)
    if person is None and kind == accounts.DESK and homes.works(connection, found["person_id"]):
        # Whoever works elsewhere may be here for as long as an emergency is open.
        person = emergencies.guest(connection, *whose, now)
    narrow(connection, found["location_id"])
    if person is None:
        raise NotSignedIn("not_signed_in", "Please sign in.")
    return {
        "person": person,
        "roles": roles_at(connection, found["location_id"], person, now),
        "location_id": found["location_id"],
        "expires_at": found["expires_at"],
        "used_at": found["used_at"],
    }


def note_refusal(
    engine: Engine, location_id: str, now: datetime, person_id: str, tablet_id: str | None, of: str
) -> None:
    """Write down that a secret ("pin", "password") was wrong."""
    with write(engine) as connection:
        access.note(
            connection,
            location_id=location_id,
            at=now,
            action="refused",
            tablet_id=tablet_id,
            subject_kind="person",
            subject_id=person_id,
            detail={"wrong": of},
        )


def _note_change(
    connection: Connection,
    location_id: str,
    now: datetime,
    actor_id: str | None,
    person_id: str,
    of: str,
) -> None:
    access.note(
        connection,
        location_id=location_id,
        at=now,
        action="change",
        actor_id=actor_id,
        subject_kind="person",
        subject_id=person_id,
        detail={"secret": of},
    )
