"""A person's second factors: set up, confirmed, proven, taken away."""

import hashlib
from collections.abc import Callable, Mapping
from datetime import datetime, timedelta

from cryptography.exceptions import InvalidTag

from api.clock import Clock
from api.errors import BadInput, NotFound
from api.events import signing
from api.ids import new_id
from api.people import passkeys, secrets, totp
from api.people.passkeys import RelyingParty
from api.storage import access, places
from api.storage import factors as stored
from api.storage.engine import Connection

Random = Callable[[int], bytes]

TOTP, PASSKEY, RECOVERY = stored.TOTP, stored.PASSKEY, "recovery"
ADD = "add_passkey"
ADD_LIFE = timedelta(minutes=30)
RECOVERY_CODES = 10
MOST_FACTORS = 10
ISSUER = "Dosebook"
LONGEST_LABEL = 60
_CHALLENGE_BYTES = 32


def of_person(connection: Connection, location_id: str, person_id: str) -> list[dict]:
    """Return what a person may know of their factors: no secrets among it."""
    shown = ("factor_id", "kind", "label", "made_at", "used_at")
    return [
        {name: row[name] for name in shown}
        for row in stored.of_person(connection, location_id, person_id)
    ]


def has_any(connection: Connection, location_id: str, person_id: str) -> bool:
    """Return whether a person has a confirmed factor."""
    return bool(stored.of_person(connection, location_id, person_id))


def begin_totp(
    connection: Connection,
    server_key: signing.PrivateKey,
    *,
    location_id: str,
    person_id: str,
    account: str,
    clock: Clock,
    random: Random,
) -> dict[str, str]:
    """Begin codes by time: ``{"factor_id", "secret", "picture"}``, shown this once.

    They count from :func:`confirm_totp` on. What was begun before and never confirmed is gone.
    """
    _must_have_room(connection, location_id, person_id)
    stored.remove_unconfirmed(connection, location_id, person_id)
    factor_id = new_id(clock.now(), random)
    secret = totp.new_secret(random)
    stored.add(
        connection,
        location_id,
        factor_id,
        person_id=person_id,
        kind=TOTP,
        label="",
        secret=totp.seal(
            server_key, secret, of=_owner(location_id, person_id, factor_id), random=random
        ),
        counter=0,
        now=clock.now(),
        confirmed=False,
    )
    address = totp.address(secret, account=account, issuer=ISSUER)
    return {"factor_id": factor_id, "secret": secret, "picture": totp.picture(address)}


def confirm_totp(
    connection: Connection,
    server_key: signing.PrivateKey,
    *,
    location_id: str,
    person_id: str,
    factor_id: str,
    label: str,
    code: str,
    clock: Clock,
) -> None:
    """Let codes by time count, once the app has shown a right one.

    Raises ``NotFound`` where nothing was begun and ``BadInput`` code_wrong.
    """
    row = stored.one(connection, location_id, person_id, factor_id)
    if row is None or row["kind"] != TOTP or row["confirmed_at"] is not None:
        raise NotFound("factor_unknown", "Nothing was begun that this code could confirm.")
    if not _fits(connection, server_key, row, code, now=clock.now()):
        raise BadInput("code_wrong", "This code does not fit.", field="code")
    stored.confirm(connection, location_id, factor_id, label=_plain_label(label), now=clock.now())
    _note(connection, location_id, person_id, clock.now(), "add", TOTP)


def begin_passkey(
    connection: Connection,
    party: RelyingParty | None,
    *,
    location_id: str,
    person_id: str,
    account: str,
    display_name: str,
    clock: Clock,
    random: Random,
) -> dict[str, object]:
    """Begin adding a passkey: ``{"token", "options"}``. Raises ``BadInput`` passkey_place."""
    party = must_be_a_place_for_passkeys(party)
    _must_have_room(connection, location_id, person_id)
    token, challenge = secrets.new_token(random), random(_CHALLENGE_BYTES)
    stored.begin(
        connection,
        location_id,
        secrets.digest(token),
        person_id=person_id,
        purpose=ADD,
        challenge=signing.to_base64url(challenge),
        expires_at=clock.now() + ADD_LIFE,
    )
    options = passkeys.to_add(
        party,
        account=account,
        display_name=display_name,
        user=hashlib.sha256(f"{location_id}|{person_id}".encode()).digest(),
        known=_credentials(connection, location_id, person_id),
        challenge=challenge,
    )
    return {"token": token, "options": options}


def confirm_passkey(
    connection: Connection,
    party: RelyingParty | None,
    *,
    location_id: str,
    person_id: str,
    token: str,
    label: str,
    credential: Mapping,
    clock: Clock,
    random: Random,
) -> None:
    """Add the passkey that a browser made. Raises ``BadInput`` passkey_wrong or passkey_place."""
    party = must_be_a_place_for_passkeys(party)
    begun = stored.end(connection, secrets.digest(token), purpose=ADD, now=clock.now())
    theirs = begun and (begun["location_id"], begun["person_id"]) == (location_id, person_id)
    made = (
        passkeys.added(party, credential, challenge=signing.from_base64url(begun["challenge"]))
        if theirs
        else None
    )
    if made is None or stored.by_credential(connection, made["credential_id"]) is not None:
        raise BadInput("passkey_wrong", "The passkey could not be checked. Set it up once more.")
    stored.add(
        connection,
        location_id,
        new_id(clock.now(), random),
        person_id=person_id,
        kind=PASSKEY,
        label=_plain_label(label),
        secret=made["public_key"],
        credential_id=made["credential_id"],
        counter=made["counter"],
        now=clock.now(),
        confirmed=True,
    )
    _note(connection, location_id, person_id, clock.now(), "add", PASSKEY)


def new_recovery_codes(
    connection: Connection, *, location_id: str, person_id: str, clock: Clock, random: Random
) -> list[str]:
    """Put new recovery codes in place of the old; return them, for they are shown only now."""
    codes = [secrets.new_code(random) for _ in range(RECOVERY_CODES)]
    stored.put_recovery_codes(
        connection,
        location_id,
        person_id,
        [secrets.digest(secrets.plain_code(code)) for code in codes],
        now=clock.now(),
    )
    _note(connection, location_id, person_id, clock.now(), "new", "recovery_codes")
    return codes


def codes_if_none(
    connection: Connection, *, location_id: str, person_id: str, clock: Clock, random: Random
) -> list[str]:
    """Return recovery codes for somebody who has none, as after the first factor; else nothing."""
    if stored.recovery_codes_left(connection, location_id, person_id):
        return []
    return new_recovery_codes(
        connection, location_id=location_id, person_id=person_id, clock=clock, random=random
    )


def remove(
    connection: Connection, *, location_id: str, person_id: str, factor_id: str, clock: Clock
) -> None:
    """Take a factor away, and with the last one the recovery codes. Raises ``NotFound``."""
    row = stored.one(connection, location_id, person_id, factor_id)
    if row is None or not stored.remove(connection, location_id, person_id, factor_id):
        raise NotFound("factor_unknown", "There is no such second factor.")
    if not has_any(connection, location_id, person_id):
        stored.remove_all(connection, location_id, person_id)
    _note(connection, location_id, person_id, clock.now(), "remove", row["kind"])


def move(
    connection: Connection,
    server_key: signing.PrivateKey,
    from_id: str,
    to_id: str,
    person_id: str,
    *,
    random: Random,
) -> None:
    """Let a person's factors and recovery codes be kept at another location.

    A secret is sealed for the row it lies in; one that does not open stays behind.
    """
    for row in stored.of_person(connection, from_id, person_id):
        secret = row["secret"]
        if row["kind"] == TOTP:
            was, is_now = (_owner(at, person_id, row["factor_id"]) for at in (from_id, to_id))
            try:
                plain = totp.unseal(server_key, secret, of=was)
            except InvalidTag:
                continue
            secret = totp.seal(server_key, plain, of=is_now, random=random)
        places.move_factor(connection, from_id, to_id, row["factor_id"], secret_text=secret)
    places.move_recovery_codes(connection, from_id, to_id, person_id)


# --- proving one at sign-in -----------------------------------------------------------------


def ways(connection: Connection, location_id: str, person_id: str) -> list[str]:
    """Return the kinds of proof a person can give, empty where no second factor is set up."""
    kinds = {row["kind"] for row in stored.of_person(connection, location_id, person_id)}
    if not kinds:
        return []
    left = stored.recovery_codes_left(connection, location_id, person_id)
    return [*sorted(kinds, reverse=True), *([RECOVERY] if left else [])]


def ask_for_passkey(
    connection: Connection,
    party: RelyingParty | None,
    *,
    location_id: str,
    person_id: str,
    ceremony_hash: str,
    random: Random,
) -> dict:
    """Return what the browser is to have signed; the challenge goes with what was begun."""
    party = must_be_a_place_for_passkeys(party)
    challenge = random(_CHALLENGE_BYTES)
    stored.challenge_with(connection, ceremony_hash, signing.to_base64url(challenge))
    known = _credentials(connection, location_id, person_id)
    return passkeys.to_prove(party, known=known, challenge=challenge)


def code_proves(
    connection: Connection,
    server_key: signing.PrivateKey,
    *,
    location_id: str,
    person_id: str,
    code: str,
    now: datetime,
) -> bool:
    """Return whether a code by time is right and was not used before; it is used up by this."""
    return any(
        _fits(connection, server_key, row, code, now=now)
        for row in stored.of_person(connection, location_id, person_id)
        if row["kind"] == TOTP
    )


def recovery_code_proves(
    connection: Connection, *, location_id: str, person_id: str, code: str, now: datetime
) -> bool:
    """Return whether a recovery code is right; it is used up by this."""
    code_hash = secrets.digest(secrets.plain_code(code))
    return stored.take_recovery_code(connection, location_id, person_id, code_hash, now=now)


def passkey_proves(
    connection: Connection,
    party: RelyingParty | None,
    *,
    location_id: str,
    person_id: str,
    challenge: str | None,
    credential: Mapping,
    now: datetime,
) -> bool:
    """Return whether one of the person's passkeys signed the challenge."""
    row = stored.by_credential(connection, str(credential.get("id")))
    if party is None or challenge is None or row is None:
        return False
    if (row["location_id"], row["person_id"]) != (location_id, person_id):
        return False
    counter = passkeys.proven(
        party,
        credential,
        challenge=signing.from_base64url(challenge),
        public_key=row["secret"],
        counter=row["counter"],
    )
    if counter is None:
        return False
    stored.note_use(connection, location_id, row["factor_id"], counter=counter, now=now)
    return True


def must_be_a_place_for_passkeys(party: RelyingParty | None) -> RelyingParty:
    """Return ``party``. Raises ``BadInput`` where the address in use cannot have passkeys."""
    if party is None:
        raise BadInput(
            "passkey_place",
            "A passkey belongs to a name, not to a number: open Dosebook under its name "
            "(on this machine: localhost).",
        )
    return party


def _fits(
    connection: Connection,
    server_key: signing.PrivateKey,
    row: Mapping,
    code: str,
    *,
    now: datetime,
) -> bool:
    owner = _owner(row["location_id"], row["person_id"], row["factor_id"])
    try:
        secret = totp.unseal(server_key, row["secret"], of=owner)
    except InvalidTag:
        # Sealed under the key of another server: this factor proves nothing here.
        return False
    step = totp.step_of(secret, code, now=now)
    return step is not None and stored.advance(
        connection, row["location_id"], row["factor_id"], counter=step, now=now
    )


def _owner(location_id: str, person_id: str, factor_id: str) -> str:
    return f"{location_id}|{person_id}|{factor_id}"


def _credentials(connection: Connection, location_id: str, person_id: str) -> list[str]:
    return [
        row["credential_id"]
        for row in stored.of_person(connection, location_id, person_id)
        if row["kind"] == PASSKEY
    ]


def _plain_label(label: str) -> str:
    return label.strip()[:LONGEST_LABEL]


def _must_have_room(connection: Connection, location_id: str, person_id: str) -> None:
    if len(stored.of_person(connection, location_id, person_id)) >= MOST_FACTORS:
        raise BadInput("factors_full", f"Nobody needs more than {MOST_FACTORS} second factors.")


def _note(
    connection: Connection, location_id: str, person_id: str, now: datetime, what: str, of: str
) -> None:
    access.note(
        connection,
        location_id=location_id,
        at=now,
        action="change",
        actor_id=person_id,
        subject_kind="person",
        subject_id=person_id,
        detail={"factor": of, "what": what},
    )
