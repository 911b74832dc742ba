"""Opening one more location of the practice: its own log, desk writer and first administrator."""

import hashlib
import json
from collections.abc import Callable, Mapping
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from api.clock import Clock
from api.errors import BadInput, Conflict
from api.events import signing
from api.ids import new_id
from api.storage import access, desk_keys, documents, event_store, readers
from api.storage.engine import EVERYWHERE, Connection, Engine, again
from api.storage.rows import plain_words
from api.sync import desk, judge

Random = Callable[[int], bytes]


def open_another(
    engine: Engine,
    clock: Clock,
    server_key: signing.PrivateKey,
    *,
    here: str,
    opener: Mapping,
    name: str,
    zone: str,
    idempotency_key: str,
    projectors: judge.Projectors,
    random: Random,
) -> str:
    """Open a location and register ``opener``, a person's document, as administrator there.

    Returns its id; the same key with the same words opens it once. Raises ``BadInput`` by field:
    name_missing, name_taken where a location of the practice is called so already, zone_unknown;
    ``Conflict`` idempotency_key_reused.
    """
    name = " ".join(name.split())
    _must_be_a_zone(zone)
    if not name:
        raise BadInput("name_missing", "Say what this location is called.", field="name")
    asked = json.dumps(["location.opened", opener["person_id"], name, zone])
    request_hash = hashlib.sha256(asked.encode()).hexdigest()

    def work(connection: Connection) -> str:
        now, location_id = clock.now(), new_id(clock.now(), random)
        claimed = desk_keys.claim(
            connection,
            here,
            idempotency_key,
            request_hash=request_hash,
            event_id=location_id,
            now=now,
        )
        if claimed["request_hash"] != request_hash:
            raise Conflict("idempotency_key_reused", "this key was used for another command")
        if claimed["event_id"] != location_id:
            return claimed["event_id"]
        _must_be_new(connection, name)
        mine = documents.get(connection, here, "location", here) or {}
        means = {"projectors": projectors, "random": random}
        desk.open_location_in(
            connection,
            clock,
            server_key,
            location_id=location_id,
            actor_id=opener["person_id"],
            payload={
                "name": name,
                "practice_name": mine.get("practice_name") or name,
                "zone": zone,
                "rooms": [],
            },
            **means,
        )
        desk.append_in(
            connection,
            clock,
            server_key,
            location_id=location_id,
            actor_id=opener["person_id"],
            type="person.registered",
            entity_id=opener["person_id"],
            payload={
                "display_name": opener["display_name"],
                "initials": opener["initials"],
                "roles": ["administrator"],
                "credential": opener.get("credential"),
                "licence_expires": None,
                "auditor_until": None,
            },
            zone=zone,
            **means,
        )
        access.note(
            connection,
            location_id=here,
            at=now,
            action="create",
            actor_id=opener["person_id"],
            subject_kind="location",
            subject_id=location_id,
        )
        return location_id

    return again(engine, work, locations=EVERYWHERE)


def _must_be_a_zone(zone: str) -> None:
    try:
        ZoneInfo(zone)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise BadInput("zone_unknown", "There is no such time zone.", field="zone") from None


def _must_be_new(connection: Connection, name: str) -> None:
    """Let no two locations of the practice be called the same, whatever capitals and accents."""
    known = readers.locations(connection)
    # Of two that are opened at once, the second one sees the first.
    event_store.lock_log(connection, known[0]["location_id"])
    for row in readers.locations(connection):
        there = row["location_id"]
        document = documents.get(connection, there, "location", there) or {}
        if plain_words(document.get("name")) == plain_words(name):
            raise BadInput(
                "name_taken", "A location of the practice is called so already.", field="name"
            )
