"""On the group's side: which practices are followed, how one joins, and how each is known again."""

from collections.abc import Callable, Mapping
from datetime import datetime, timedelta

from api.clock import Clock, parse_rfc3339, rfc3339
from api.errors import BadInput, Conflict, NotFound, NotSignedIn
from api.events import signing
from api.group import words
from api.ids import new_id
from api.people import secrets
from api.storage import followed, practices
from api.storage.engine import Connection

Random = Callable[[int], bytes]

JOIN, RESTORE = "join", "restore"
CODE_LIFE = timedelta(hours=1)
LONGEST_NAME = 80
LARGEST_KEY = 4096
# How far a request's time may be from the group's, which it was told at the start of the contact.
NEAR = timedelta(minutes=10)


def make_code(
    connection: Connection,
    clock: Clock,
    random: Random,
    server_key: signing.PrivateKey,
    *,
    purpose: str,
    practice_id: str | None = None,
    life: timedelta = CODE_LIFE,
) -> dict[str, str]:
    """Make a one-time code {code, expires_at}: a secret, and by which key this server is known.

    Raises ``NotFound`` "practice_unknown", ``Conflict`` "practice_revoked".
    """
    if purpose == RESTORE:
        row = practices.get(connection, practice_id or "")
        if row is None:
            raise NotFound("practice_unknown", "There is no such practice.")
        if row["revoked_at"] is not None:
            # Else the code would fail it halfway, after the recovery key was typed.
            raise Conflict("practice_revoked", "It is no longer followed here.")
    expires_at = clock.now() + life
    secret = secrets.new_code(random)
    practices.add_code(
        connection,
        secrets.digest(secrets.plain_code(secret)),
        purpose=purpose,
        practice_id=practice_id,
        expires_at=expires_at,
    )
    code = words.code_text(secret, signing.public_key_text(server_key))
    return {"code": code, "expires_at": rfc3339(expires_at)}


def join(
    connection: Connection,
    clock: Clock,
    random: Random,
    server_key: signing.PrivateKey,
    *,
    secret: str,
    statement: Mapping,
    public_key: str,
    name: str,
) -> dict:
    """Use a code up and follow the practice that holds ``public_key``.

    ``statement`` is of kind "join" {group_key, code_hash, name}, signed by that key: who it is
    wants to be followed, by this server and no other. A practice that was here before keeps its
    id. Returns {practice_id, certificate}. Raises ``BadInput`` "code_wrong", "join_unsigned".
    """
    signing.load_public_key(public_key)
    name = " ".join(name.split())
    if not 0 < len(name) <= LONGEST_NAME:
        raise BadInput("name_missing", "The practice must say its name.", field="name")
    code_hash = secrets.digest(secrets.plain_code(secret))
    said = words.read(public_key, "join", statement)
    mine = signing.public_key_text(server_key)
    if said is None or (said.get("group_key"), said.get("code_hash"), said.get("name")) != (
        mine,
        code_hash,
        name,
    ):
        raise BadInput("join_unsigned", "The practice's own key must sign this.", field="statement")
    now = clock.now()
    if practices.take_code(connection, code_hash, purpose=JOIN, now=now) is None:
        raise BadInput("code_wrong", "This code is unknown, used or too old.", field="code")
    before = practices.by_key(connection, public_key)
    practice_id = before["practice_id"] if before else new_id(now, random)
    if before is None:
        practices.add(connection, practice_id, name=name, public_key=public_key, now=now)
    else:
        practices.change(connection, practice_id, name=name, revoked_at=None)
    certificate = words.say(
        server_key,
        "certificate",
        practice_id=practice_id,
        name=name,
        public_key=public_key,
        at=rfc3339(now),
    )
    return {"practice_id": practice_id, "certificate": certificate}


def known(
    connection: Connection,
    server_key: signing.PrivateKey,
    *,
    practice_id: str,
    path: str,
    at: str,
    body: bytes,
    signature: str,
    now: datetime,
) -> dict:
    """Return the practice that signed a request. Raises ``NotSignedIn`` where none did.

    "practice_unknown" for another key, an unknown practice or one that is no longer followed;
    "request_old" for a time that is not near the group's.
    """
    row = practices.get(connection, practice_id)
    text = words.request_text(
        path=path, at=at, body=body, group_key=signing.public_key_text(server_key)
    )
    if (
        row is None
        or row["revoked_at"] is not None
        or not signing.verify(row["public_key"], text, signature)
    ):
        raise NotSignedIn("practice_unknown", "This practice is not followed here.")
    try:
        away = abs(parse_rfc3339(at) - now)
    except ValueError:
        away = NEAR * 2
    if away > NEAR:
        raise NotSignedIn("request_old", "The request was made at another time.")
    return row


def keep_key(connection: Connection, practice_id: str, sealed: bytes) -> None:
    """Keep the practice's own key, sealed to its recovery key: nobody here can open it."""
    if not 0 < len(sealed) <= LARGEST_KEY:
        raise BadInput("key_unreadable", "This is no sealed key.", field="sealed_key")
    practices.change(connection, practice_id, sealed_key=sealed)


def revoke(connection: Connection, practice_id: str, *, now: datetime) -> None:
    """Follow a practice no more; what is held of it stays. Raises ``NotFound``, ``Conflict``."""
    row = practices.get(connection, practice_id)
    if row is None:
        raise NotFound("practice_unknown", "There is no such practice.")
    if row["revoked_at"] is not None:
        raise Conflict("practice_revoked", "It is no longer followed already.")
    practices.change(connection, practice_id, revoked_at=rfc3339(now))


def listed(connection: Connection) -> list[dict]:
    """Return the practices with their histories, for whoever looks after the group's server."""
    found = []
    for row in practices.every_one(connection):
        logs = [
            {
                name: history[name]
                for name in (
                    "location_id",
                    "of_location",
                    "state",
                    "position",
                    "from_location",
                    "from_position",
                    "received_at",
                    "unprojected",
                )
            }
            for history in followed.of_practice(connection, row["practice_id"])
        ]
        names = ("practice_id", "name", "enrolled_at", "contact_at", "revoked_at")
        found.append(
            {
                **{name: row[name] for name in names},
                "key": words.fingerprint(row["public_key"]),
                "logs": logs,
            }
        )
    return found
