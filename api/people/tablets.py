"""Tablets: a one-time code enrols one, a name and a confirmation change it, revoking ends it.

What follows from an event (``tablet.enrolled``, ``tablet.renamed``, ``tablet.revoked``) is done
here; the caller appends the event in the same transaction.
"""

import json
from collections.abc import Callable, Mapping
from datetime import datetime, timedelta

from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.kdf.hkdf import HKDF

from api.clock import Clock, rfc3339
from api.errors import BadInput, Conflict, NotFound, NotSignedIn
from api.events import signing
from api.ids import new_id
from api.people import certificates, secrets
from api.storage import access, accounts, documents, tablet_states
from api.storage.engine import Connection, narrow

Random = Callable[[int], bytes]

CODE_LIFE = timedelta(minutes=10)
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
        action="create",
        actor_id=made_by,
        subject_kind="enrolment_code",
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
    before: Mapping | None = None,
    first_seq: int = 1,
) -> dict:
    """Use a code up and enrol the tablet that holds ``public_key``.

    ``before`` is the certificate of the enrolment that this one goes on from; its events then begin
    with ``first_seq``, and those that it had not sent come along as they are.

    Returns ``{"tablet_id", "location_id", "label", "enrolled_by", "certificate",
    "server_public_key", "keep_key", "replaces"}``. The caller appends ``tablet.enrolled`` in the
    same transaction, so that neither is there without the other. Raises ``NotSignedIn`` for a code
    that is unknown, used or too old, and ``BadInput`` for a key or a label that cannot be used, and
    for an earlier enrolment at another location; the code then stays unused, as nothing is
    committed.
    """
    now = clock.now()
    label = plain_label(label)
    signing.load_public_key(public_key)
    taken = accounts.take_code(connection, secrets.digest(secrets.plain_code(code)), now=now)
    if taken is None:
        raise NotSignedIn("code_wrong", "This code is unknown, used or too old.")
    location_id = taken["location_id"]
    narrow(connection, location_id)
    earlier = None if before is None else _earlier(server_key, before, location_id)
    replaces = earlier and earlier["tablet_id"]
    label = free_label(connection, location_id, label, but=replaces)
    first_id = earlier and earlier.get("first_id", replaces)
    tablet_id = new_id(now, random)
    certificate = certificates.issue(
        server_key,
        tablet_id=tablet_id,
        location_id=location_id,
        public_key=public_key,
        now=now,
        first_id=first_id,
    )
    accounts.add_tablet(
        connection,
        location_id,
        tablet_id,
        kind=accounts.TABLET,
        label=label,
        public_key=public_key,
        certificate=json.dumps(certificate),
        now=now,
        replaces=replaces,
        first_seq=first_seq if replaces else 1,
    )
    return {
        "tablet_id": tablet_id,
        "location_id": location_id,
        "label": label,
        "enrolled_by": taken["made_by"],
        "certificate": certificate,
        "server_public_key": signing.public_key_text(server_key),
        "keep_key": keep_key(server_key, first_id or tablet_id),
        "replaces": replaces,
    }


def free_label(connection: Connection, location_id: str, label: str, *, but: str | None) -> str:
    """Return a name that no tablet of the location has, ``but`` one: numbered where it is taken.

    Whoever enrols a tablet has a code that soon runs out; one that is renamed is told instead.
    """
    taken = _labels(connection, location_id, but)
    number, free = 1, label
    while _alike(free) in taken:
        number += 1
        ending = f" ({number})"
        free = label[: LONGEST_LABEL - len(ending)] + ending
    return free


def _labels(connection: Connection, location_id: str, but: str | None) -> set[str]:
    """Return the names that are in use; a tablet that is shut out keeps none from others."""
    return {
        _alike(row["label"])
        for row in accounts.tablets(connection, location_id)
        if row["revoked_at"] is None and row["tablet_id"] != but
    }


def _alike(label: str) -> str:
    """Return a name as people tell names apart."""
    return " ".join(label.split()).casefold()


def plain_label(label: str) -> str:
    """Return a tablet's name without outer blanks. Raises ``BadInput`` for none, or a long one."""
    if not label.strip() or len(label) > LONGEST_LABEL:
        raise BadInput("label_form", f"A label has 1 to {LONGEST_LABEL} characters.", field="label")
    return label.strip()


def _earlier(server_key: signing.PrivateKey, before: Mapping, location_id: str) -> dict[str, str]:
    said = certificates.read(server_key, before)
    if said is None:
        raise BadInput(
            "certificate_wrong", "This tablet was not enrolled with this server.", field="before"
        )
    if said["location_id"] != location_id:
        # Its entries belong into the log of the location where they were made.
        raise BadInput(
            "other_location", "This code is for another location than the tablet's.", field="code"
        )
    return said


def keep_key(server_key: signing.PrivateKey, tablet_id: str) -> str:
    """Return the key [32 bytes, base64url] under which a tablet seals what it keeps.

    The tablet holds it so that it cannot be read out, and needs it in clear only to wrap it by a
    PIN: at enrolment and when somebody signs in. ``tablet_id`` is that of its first enrolment, so
    that enrolled again it still reads what it has sealed.
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


def revoke(connection: Connection, *, location_id: str, tablet_id: str, now: datetime) -> None:
    """Shut a tablet out: nobody stays signed in on it, and from now on it only hands in.

    The caller appends ``tablet.revoked`` in the same transaction. Raises ``NotFound`` for a tablet
    that is not this location's, ``Conflict`` for one that is revoked already.
    """
    known(connection, location_id, tablet_id)
    if not accounts.revoke_tablet(connection, location_id, tablet_id, now):
        raise Conflict("already_revoked", "This tablet was revoked before.")
    accounts.end_tokens(connection, location_id, tablet_id=tablet_id, now=now)


def rename(connection: Connection, *, location_id: str, tablet_id: str, label: str) -> str:
    """Give a tablet another name and return it; the caller appends ``tablet.renamed``.

    Raises ``NotFound``, and ``BadInput`` for a name that cannot be used or another tablet has.
    """
    label = plain_label(label)
    known(connection, location_id, tablet_id)
    if _alike(label) in _labels(connection, location_id, tablet_id):
        raise BadInput("label_taken", "Another tablet here has this name.", field="label")
    tablet_states.rename(connection, location_id, tablet_id, label)
    return label


def confirm(connection: Connection, *, location_id: str, tablet_id: str) -> str:
    """Take in a tablet that was known by its certificate only, and return its name.

    The caller appends ``tablet.enrolled``. Raises ``NotFound``, and ``Conflict`` where there is
    nothing to confirm.
    """
    label = known(connection, location_id, tablet_id)["label"]
    if not tablet_states.confirm(connection, location_id, tablet_id):
        raise Conflict("not_unconfirmed", "There is nothing to confirm about this tablet.")
    return label


def known(connection: Connection, location_id: str, tablet_id: str) -> dict:
    """Return the row of a tablet of this location. Raises ``NotFound``."""
    row = accounts.tablet_by_id(connection, tablet_id)
    if row is None or (row["location_id"], row["kind"]) != (location_id, accounts.TABLET):
        raise NotFound("tablet_unknown", "There is no such tablet.")
    return row
