"""A tablet proves its key by signing a nonce, and gets a token for it."""

import json
from collections.abc import Callable, Mapping
from datetime import datetime, timedelta

from api.clock import Clock, rfc3339
from api.errors import NotSignedIn
from api.events import signing
from api.people import certificates, secrets, tablets
from api.storage import access, accounts, readers, tablet_states
from api.storage.engine import Connection, Engine, write

Random = Callable[[int], bytes]

NONCE_LIFE = timedelta(minutes=2)
TOKEN_LIFE = timedelta(hours=12)


def challenge(
    engine: Engine,
    *,
    tablet_id: str,
    clock: Clock,
    random: Random,
    server_key: signing.PrivateKey | None = None,
    certificate: Mapping | None = None,
) -> dict[str, str]:
    """Return ``{"nonce"}`` for a tablet to sign; an unknown id gets one too, worth nothing.

    It is worth something to a tablet that the server has forgotten, if its certificate holds.
    """
    nonce = secrets.new_token(random)
    certified = _certified(server_key, certificate, tablet_id)
    with write(engine) as connection:
        if certified or accounts.tablet_by_id(connection, tablet_id) is not None:
            accounts.add_challenge(
                connection,
                secrets.digest(nonce),
                tablet_id,
                expires_at=clock.now() + NONCE_LIFE,
            )
    return {"nonce": nonce}


def give_token(
    engine: Engine,
    *,
    tablet_id: str,
    nonce: str,
    signature: str,
    clock: Clock,
    random: Random,
    server_key: signing.PrivateKey | None = None,
    certificate: Mapping | None = None,
    label: str | None = None,
) -> dict[str, str]:
    """Exchange a nonce signed by the tablet's key for ``{"token", "expires_at"}``.

    A revoked tablet gets a token as well: it may still hand in what it holds, into quarantine,
    and whoever serves it looks at ``revoked_at``. A tablet that a restored server does not know is
    taken in by its certificate, unconfirmed: it hands in as well, and reads nothing until an
    administrator has confirmed it. Raises ``NotSignedIn``; the nonce is used up even then.
    """
    now = clock.now()
    with write(engine) as connection:
        fresh = accounts.take_challenge(connection, secrets.digest(nonce), tablet_id, now=now)
        tablet = accounts.tablet_by_id(connection, tablet_id)
        said = None if tablet else _certified(server_key, certificate, tablet_id)
        if said and readers.location_row(connection, said["location_id"]) is None:
            said = None
    public_key = (tablet or said or {}).get("public_key")
    if (
        not fresh
        or public_key is None
        or (tablet is not None and tablet["kind"] != accounts.TABLET)
        or not signing.verify(public_key, nonce, signature)
    ):
        raise NotSignedIn("tablet_unproven", "The tablet could not prove its key.")
    token = secrets.new_token(random)
    with write(engine) as connection:
        if tablet is None:
            tablet = _take_in(connection, said, certificate, label, now=now)
        accounts.add_token(
            connection,
            tablet["location_id"],
            secrets.digest(token),
            kind=accounts.TABLET,
            tablet_id=tablet_id,
            now=now,
            expires_at=now + TOKEN_LIFE,
        )
        tablet_states.see(connection, tablet_id, now=now, waiting=None)
    return {"token": token, "expires_at": rfc3339(now + TOKEN_LIFE)}


def _certified(
    server_key: signing.PrivateKey | None, certificate: Mapping | None, tablet_id: str
) -> dict[str, str] | None:
    if server_key is None or certificate is None:
        return None
    said = certificates.read(server_key, certificate)
    return said if said and said["tablet_id"] == tablet_id else None


def _take_in(
    connection: Connection,
    said: Mapping,
    certificate: Mapping,
    label: str | None,
    *,
    now: datetime,
) -> dict:
    tablet_id, location_id = said["tablet_id"], said["location_id"]
    own = (label or "").strip()[: tablets.LONGEST_LABEL]
    if accounts.tablet_by_id(connection, tablet_id) is None:
        accounts.add_tablet(
            connection,
            location_id,
            tablet_id,
            kind=accounts.TABLET,
            # The tablet's own word; an administrator looks at it before anything follows from it.
            label=tablets.free_label(connection, location_id, own or tablet_id[-8:], but=None),
            public_key=said["public_key"],
            certificate=json.dumps(dict(certificate)),
            now=now,
            replaces=said.get("first_id"),
            unconfirmed=True,
        )
        access.note(
            connection,
            location_id=location_id,
            at=now,
            action="create",
            tablet_id=tablet_id,
            subject_kind="tablet",
            subject_id=tablet_id,
            detail={"by": "certificate"},
        )
    return accounts.tablet_by_id(connection, tablet_id)


def by_token(connection: Connection, token: str, *, now: datetime) -> dict:
    """Return the tablet of a token: its row, with ``tablet_id, location_id, label, revoked_at``.

    Raises ``NotSignedIn`` for a token that is unknown, ended or too old.
    """
    tablet = accounts.tablet_by_token(connection, secrets.digest(token), now=now)
    if tablet is None:
        raise NotSignedIn("not_signed_in", "This tablet has to prove its key first.")
    return tablet
