"""The second step of a sign-in at a desk: a code by time, a passkey, or a recovery code."""

from collections.abc import Callable, Mapping
from datetime import datetime, timedelta

from api.clock import Clock, rfc3339
from api.errors import NotSignedIn
from api.events import signing
from api.people import attempts, factors, homes, secrets, tokens
from api.people.passkeys import RelyingParty
from api.storage import access
from api.storage import factors as stored
from api.storage.engine import Connection, Engine, read, write

Random = Callable[[int], bytes]

SIGN_IN = "sign_in"
STEP_LIFE = timedelta(minutes=5)


def begin(
    connection: Connection, *, location_id: str, person_id: str, now: datetime, random: Random
) -> dict[str, object] | None:
    """Begin the second step of a sign-in, ``{"token", "ways", "expires_at"}``; None without one.

    The token opens nothing by itself: it says that the password was right, for five minutes.
    """
    can = factors.ways(connection, location_id, person_id)
    if not can:
        return None
    token, expires_at = secrets.new_token(random), now + STEP_LIFE
    stored.begin(
        connection,
        location_id,
        secrets.digest(token),
        person_id=person_id,
        purpose=SIGN_IN,
        challenge=None,
        expires_at=expires_at,
    )
    return {"token": token, "ways": can, "expires_at": rfc3339(expires_at)}


def passkey_options(
    engine: Engine, party: RelyingParty | None, *, token: str, clock: Clock, random: Random
) -> dict:
    """Return what the browser is to have signed by a passkey of the person who began."""
    with write(engine) as connection:
        begun = _begun(connection, token, now=clock.now())
        return factors.ask_for_passkey(
            connection,
            party,
            location_id=begun["location_id"],
            person_id=begun["person_id"],
            ceremony_hash=secrets.digest(token),
            random=random,
        )


def finish(
    engine: Engine,
    server_key: signing.PrivateKey,
    party: RelyingParty | None,
    *,
    token: str,
    way: str,
    code: str | None,
    credential: Mapping | None,
    clock: Clock,
    random: Random,
    agent: str | None = None,
) -> dict:
    """Check the second factor and open the session, as ``service.sign_in_with_password`` does.

    Each try counts before it is looked at. Raises ``NotSignedIn`` step_over where the first step
    was too long ago, and factor_wrong; ``TooMany`` factor_locked (fact ``until``).
    """
    now = clock.now()
    with read(engine) as connection:
        begun = _begun(connection, token, now=now)
    location_id, person_id = begun["location_id"], begun["person_id"]
    guess = {"location_id": location_id, "kind": attempts.FACTOR, "subject": person_id}
    wrong = attempts.take(engine, **guess, now=now)
    whose = {"location_id": location_id, "person_id": person_id, "now": now}
    session = secrets.new_token(random)
    with write(engine) as connection:
        # Asked for once more inside the transaction: of two that prove at once, one goes on.
        begun = _begun(connection, token, now=now)
        if way == factors.TOTP:
            right = factors.code_proves(connection, server_key, code=_digits(code), **whose)
        elif way == factors.RECOVERY:
            right = factors.recovery_code_proves(connection, code=code or "", **whose)
        else:
            right = factors.passkey_proves(
                connection,
                party,
                challenge=begun["challenge"],
                credential=credential or {},
                **whose,
            )
        start = homes.start_at(connection, person_id, location_id, now)
        if right and start is not None:
            stored.end(connection, secrets.digest(token), purpose=SIGN_IN, now=now)
            attempts.forgive(connection, **guess)
            tokens.open_desk(connection, start, session, person_id, now=now, agent=agent)
            return {
                "token": session,
                "expires_at": rfc3339(now + tokens.SESSION_LIFE),
                "person": homes.works(connection, person_id)[start],
                "location_id": start,
            }
        access.note(
            connection,
            location_id=location_id,
            at=now,
            action="refused",
            subject_kind="person",
            subject_id=person_id,
            detail={"wrong": way},
        )
    raise NotSignedIn(
        "factor_wrong", "That does not prove who you are.", **attempts.facts(wrong, now)
    )


def _begun(connection: Connection, token: str, *, now: datetime) -> dict:
    begun = stored.begun(connection, secrets.digest(token), purpose=SIGN_IN, now=now)
    if begun is None:
        raise NotSignedIn("step_over", "This sign-in took too long. Begin it again.")
    return begun


def _digits(code: str | None) -> str:
    """Return a code as apps show it, without the gap in its middle."""
    return "".join((code or "").split())
