"""On the practice's side: joining a group, leaving the practice's own key there, leaving."""

import base64
from collections.abc import Callable
from dataclasses import replace

from api.clock import Clock, rfc3339
from api.errors import BadInput
from api.events import signing
from api.group import words
from api.group.client import Client, Refused, Send
from api.group.link import Link, get, keep
from api.people import secrets
from api.settings import Settings
from api.storage import access, documents, readers, replication
from api.storage.engine import EVERYWHERE, Engine, read, write

Random = Callable[[int], bytes]
# (public half of the recovery key, about what) -> the practice's key, sealed to it.
Seal = Callable[[str, str], bytes]


def split_code(typed: str) -> tuple[str, str]:
    """Return (secret, fingerprint of the group's key) of a typed code. Raises ``BadInput``."""
    found = words.read_code(secrets.plain_code(typed))
    if found is None:
        raise BadInput("code_form", "This is no whole code of a group: 26 signs.", field="code")
    return found


def join(
    settings: Settings,
    engine: Engine,
    clock: Clock,
    random: Random,
    server_key: signing.PrivateKey,
    *,
    send: Send,
    address: str,
    code: str,
) -> Link:
    """Let the group at ``address`` follow this practice, by a code that the group made.

    The group is believed only with the key that the code names; what it then answers must be its
    own word about this practice. Raises ``BadInput``, ``Unreachable``, ``Refused``.
    """
    secret, fingerprint = split_code(code)
    name = practice_name(engine)
    client = Client(send, clock, server_key, random, group_key=None)
    group_key = client.identify(fingerprint=fingerprint)
    public_key = signing.public_key_text(server_key)
    statement = words.say(
        server_key,
        "join",
        group_key=group_key,
        code_hash=secrets.digest(secrets.plain_code(secret)),
        name=name,
    )
    answer = client.ask(
        "/group/join",
        {"code": secret, "name": name, "public_key": public_key, "statement": statement},
        signed=False,
    )
    certificate = answer.get("certificate")
    said = words.read(group_key, "certificate", certificate)
    if said is None or said.get("public_key") != public_key:
        raise Refused("group_other", "The answer is not signed by the group.")
    link = Link(
        address=address,
        group_key=group_key,
        practice_id=said["practice_id"],
        name=name,
        certificate={"text": certificate["text"], "signature": certificate["signature"]},
        joined_at=rfc3339(clock.now()),
    )
    _begin_anew(engine, clock, link, before=_before(settings))
    keep(settings, link)
    return link


def practice_name(engine: Engine) -> str:
    """Return what the practice is called. Raises ``BadInput`` before its first start."""
    with read(engine, locations=EVERYWHERE) as connection:
        for row in readers.locations(connection):
            location_id = row["location_id"]
            document = documents.get(connection, location_id, "location", location_id) or {}
            name = document.get("practice_name") or document.get("name")
            if name:
                # As the group keeps it, or what is signed here would be of another name.
                return " ".join(str(name).split())[:80].strip()
    raise BadInput(
        "practice_empty", "This server has no practice yet: `dosebook user create-admin`"
    )


def _before(settings: Settings) -> Link | None:
    try:
        return get(settings)
    except BadInput:
        # Written anew just now, which is the way out of a damaged one.
        return None


def _begin_anew(engine: Engine, clock: Clock, link: Link, *, before: Link | None) -> None:
    """Write down who follows from now on; what another group acknowledged counts no more."""
    with write(engine, locations=EVERYWHERE) as connection:
        for row in readers.locations(connection):
            if before is None or before.group_key != link.group_key:
                replication.forget(connection, row["location_id"])
            access.note(
                connection,
                location_id=row["location_id"],
                at=clock.now(),
                action="change",
                subject_kind="group",
                subject_id=link.practice_id,
                detail={"group": "joined", "key": words.fingerprint(link.group_key)},
            )


def leave_key(settings: Settings, link: Link, client: Client, *, public: str, seal: Seal) -> Link:
    """Leave the practice's own key at the group, sealed to the recovery key, if not done yet.

    With it, and the words on paper, a practice that lost everything is itself again.
    """
    if link.key_left == public:
        return link
    sealed = seal(public, link.practice_id)
    client.ask("/group/key", {"sealed_key": base64.b64encode(sealed).decode("ascii")})
    link = replace(link, key_left=public)
    keep(settings, link)
    return link
