"""Tablets: a one-time code enrols one, a signed nonce gives it a token, revoking shuts it out."""

import json
from collections.abc import Callable
from datetime import datetime, timedelta

from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.kdf.hkdf import HKDF

from api.clock import Clock, rfc3339
from api.errors import BadInput, NotFound, NotSignedIn
from api.events import signing
from api.ids import new_id
from api.people import secrets
from api.storage import access, accounts, documents
from api.storage.engine import Connection, Engine, narrow, write

Random = Callable[[int], bytes]

CODE_LIFE = timedelta(minutes=10)
NONCE_LIFE = timedelta(minutes=2)
TOKEN_LIFE = timedelta(hours=12)
LONGEST_LABEL = 80


def make_code(
    connection: Connection,
    *,
    location_id: str,
    made_by: str | None,
    clock: Clock,
    random: Random,
    life: timedelta = CODE_LIFE,
) -> dict[str, str]:
    """Make a one-time enrolment code: ``{"code", "expires_at"}``. Only its hash is kept."""
    if documents.get(connection, location_id, "location", location_id) is None:
        raise NotFound("location_unknown", "There is no such location.")
    now = clock.now()
    code = secrets.new_code(random)
    expires_at = now + life
    accounts.add_code(
        connection,
        location_id,
        secrets.digest(secrets.plain_code(code)),
        made_by=made_by,
        expires_at=expires_at,
    )
    access.note(
        connection,
        location_id=location_id,
        at=now,
        action="make_enrolment_code",
        actor_id=made_by,
    )
    return {"code": code, "expires_at": rfc3339(expires_at)}


def enrol(
    connection: Connection,
    *,
    code: str,
    public_key: str,
    label: str,
    server_key: signing.PrivateKey,
    clock: Clock,
    random: Random,
) -> dict:
    """Use a code up and enrol the tablet that holds ``public_key``.

    Returns ``{"tablet_id", "location_id", "label", "enrolled_by", "certificate",
    "server_public_key", "keep_key"}``. The caller appends ``tablet.enrolled`` in the same
    transaction, so that neither is there without the other. Raises ``NotSignedIn`` for a code
    that is unknown, used or too old, and ``BadInput`` for a key or a label that cannot be used;
    the code then stays unused, as nothing is committed.
    """
    now = clock.now()
    if not label.strip() or len(label) > LONGEST_LABEL:
        raise BadInput("label_form", f"A label has 1 to {LONGEST_LABEL} characters.", field="label")
    signing.load_public_key(public_key)
    taken = accounts.take_code(connection, secrets.digest(secrets.plain_code(code)), now=now)
    if taken is None:
        raise NotSignedIn("code_wrong", "This code is unknown, used or too old.")
    location_id = taken["location_id"]
    narrow(connection, location_id)
    tablet_id = new_id(now, random)
    text = json.dumps(
        {
            "tablet_id": tablet_id,
            "location_id": location_id,
            "public_key": public_key,
            "issued_at": rfc3339(now),
        },
        separators=(",", ":"),
    )
    certificate = {"text": text, "signature": signing.sign(server_key, text)}
    accounts.add_tablet(
        connection,
        location_id,
        tablet_id,
        kind=accounts.TABLET,
        label=label.strip(),
        public_key=public_key,
        certificate=json.dumps(certificate),
        now=now,
    )
    access.note(
        connection,
        location_id=location_id,
        at=now,
        action="enrol_tablet",
        actor_id=taken["made_by"],
        tablet_id=tablet_id,
    )
    return {
        "tablet_id": tablet_id,
        "location_id": location_id,
        "label": label.strip(),
        "enrolled_by": taken["made_by"],
        "certificate": certificate,
        "server_public_key": signing.public_key_text(server_key),
        "keep_key": keep_key(server_key, tablet_id),
    }


def keep_key(server_key: signing.PrivateKey, tablet_id: str) -> str:
    """Return the key [32 bytes, base64url] under which a tablet seals what it keeps.

    The tablet holds it so that it cannot be read out, and needs it in clear only to wrap it by a
    PIN: at enrolment and when somebody signs in.
    """
    return _key_of_tablet(server_key, tablet_id, "keep")


def view_key(server_key: signing.PrivateKey, tablet_id: str) -> str:
    """Return the key [32 bytes, base64url] under which a tablet seals the records sent to it.

    The tablet holds it under PINs only, and in memory while somebody is signed in. The server
    gives it again to everybody who may read records and has given the right PIN, so that a PIN
    that was changed elsewhere strands nothing.
    """
    return _key_of_tablet(server_key, tablet_id, "view")


def _key_of_tablet(server_key: signing.PrivateKey, tablet_id: str, use: str) -> str:
    # Worked out from the server's own key (HKDF, RFC 5869): there is nothing to store, one key
    # does not tell the other, and both come back with a restored server.
    secret = server_key.private_numbers().private_value.to_bytes(32, "big")
    derive = HKDF(
        algorithm=hashes.SHA256(),
        length=32,
        salt=None,
        info=f"dosebook-{use}-1|{tablet_id}".encode(),
    )
    return signing.to_base64url(derive.derive(secret))


def challenge(engine: Engine, *, tablet_id: str, clock: Clock, random: Random) -> dict[str, str]:
    """Return ``{"nonce"}`` for a tablet to sign; an unknown id gets one too, worth nothing."""
    nonce = secrets.new_token(random)
    with write(engine) as connection:
        if accounts.tablet_by_id(connection, tablet_id) is not None:
            accounts.add_challenge(
                connection,
                secrets.digest(nonce),
                tablet_id,
                expires_at=clock.now() + NONCE_LIFE,
            )
    return {"nonce": nonce}


def give_token(
    engine: Engine, *, tablet_id: str, nonce: str, signature: str, clock: Clock, random: Random
) -> dict[str, str]:
    """Exchange a nonce signed by the tablet's key for ``{"token", "expires_at"}``.

    A revoked tablet gets a token as well: it may still hand in what it holds, into quarantine,
    and whoever serves it looks at ``revoked_at``. Raises ``NotSignedIn``; the nonce is used up
    even then.
    """
    now = clock.now()
    with write(engine) as connection:
        fresh = accounts.take_challenge(connection, secrets.digest(nonce), tablet_id, now=now)
        tablet = accounts.tablet_by_id(connection, tablet_id)
    if (
        not fresh
        or tablet is None
        or tablet["kind"] != accounts.TABLET
        or not signing.verify(tablet["public_key"], nonce, signature)
    ):
        raise NotSignedIn("tablet_unproven", "The tablet could not prove its key.")
    token = secrets.new_token(random)
    with write(engine) as connection:
        accounts.add_token(
            connection,
            tablet["location_id"],
            secrets.digest(token),
            kind=accounts.TABLET,
            tablet_id=tablet_id,
            now=now,
            expires_at=now + TOKEN_LIFE,
        )
    return {"token": token, "expires_at": rfc3339(now + TOKEN_LIFE)}


def by_token(connection: Connection, token: str, *, now: datetime) -> dict:
    """Return the tablet of a token: its row, with ``tablet_id, location_id, label, revoked_at``.

    Raises ``NotSignedIn`` for a token that is unknown, ended or too old.
    """
    found = accounts.find_token(connection, secrets.digest(token), kind=accounts.TABLET, now=now)
    tablet = accounts.tablet_by_id(connection, found["tablet_id"]) if found else None
    if tablet is None:
        raise NotSignedIn("not_signed_in", "This tablet has to prove its key first.")
    return tablet


def revoke(
    connection: Connection, *, location_id: str, tablet_id: str, actor_id: str | None, now: datetime
) -> None:
    """Shut a tablet out: nobody stays signed in on it, and from now on it only hands in.

    Raises ``NotFound`` for a tablet that is not this location's or is revoked already.
    """
    if not accounts.revoke_tablet(connection, location_id, tablet_id, now):
        raise NotFound("tablet_unknown", "There is no such tablet.")
    accounts.end_tokens(connection, location_id, tablet_id=tablet_id, now=now)
    access.note(
        connection,
        location_id=location_id,
        at=now,
        action="revoke_tablet",
        actor_id=actor_id,
        tablet_id=tablet_id,
    )
