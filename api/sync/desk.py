"""What happens at a desk becomes an event of the location's desk writer, signed by the server."""

import hashlib
import json
import os
from collections.abc import Callable, Mapping
from datetime import UTC
from importlib.metadata import version
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from api.clock import Clock
from api.dose.constants import ENGINE_VERSION
from api.errors import BadInput, Conflict, NotAllowed, NotFound
from api.events import build, catalogue, signing
from api.ids import new_id
from api.storage import access, accounts, desk_keys, event_store, followed, readers
from api.storage.engine import Connection, Engine, again, write
from api.sync import judge, protocol

APP_BUILD = f"desk {version('dosebook')}"
Random = Callable[[int], bytes]


def append_as_desk(
    engine: Engine,
    clock: Clock,
    server_key: signing.PrivateKey,
    *,
    location_id: str,
    actor_id: str | None,
    type: str,
    entity_id: str,
    payload: Mapping,
    base_version: int | None = None,
    corrects: str | None = None,
    idempotency_key: str,
    projectors: judge.Projectors,
    zone: str,
    authorise: judge.Authorise = judge.permit_all,
    random: Random = os.urandom,
) -> dict:
    """Append one event for a person at a desk; return {event_id, position} after the commit.

    The same key with the same command returns the first answer and appends nothing. Raises
    ``Conflict`` "idempotency_key_reused" for the same key with another command and
    "version_not_current" {current} when somebody published first: a person is there to decide,
    so nothing is put aside as at a tablet. Raises ``BadInput`` with the problems by field,
    ``NotAllowed`` with the reason that ``authorise`` gave, ``NotFound`` without the location.
    """
    command = [actor_id, type, entity_id, payload, base_version, corrects]
    request_hash = hashlib.sha256(
        json.dumps(command, sort_keys=True, separators=(",", ":")).encode()
    ).hexdigest()

    def append(connection: Connection) -> dict:
        _desk_writer(connection, location_id)
        event_id = new_id(clock.now(), random)
        first = desk_keys.claim(
            connection,
            location_id,
            idempotency_key,
            request_hash=request_hash,
            event_id=event_id,
            now=clock.now(),
        )
        if first["request_hash"] != request_hash:
            raise Conflict("idempotency_key_reused", "this key was used for another command")
        if first["event_id"] != event_id:
            entry = readers.entry_by_event(connection, location_id, first["event_id"])
            return {"event_id": entry["event_id"], "position": entry["position"]}
        return append_in(
            connection,
            clock,
            server_key,
            location_id=location_id,
            actor_id=actor_id,
            type=type,
            entity_id=entity_id,
            payload=payload,
            base_version=base_version,
            corrects=corrects,
            event_id=event_id,
            projectors=projectors,
            zone=zone,
            authorise=authorise,
            random=random,
        )

    return again(engine, append)


def append_in(
    connection: Connection,
    clock: Clock,
    server_key: signing.PrivateKey,
    *,
    location_id: str,
    actor_id: str | None,
    type: str,
    entity_id: str,
    payload: Mapping,
    base_version: int | None = None,
    corrects: str | None = None,
    event_id: str | None = None,
    projectors: judge.Projectors,
    zone: str,
    authorise: judge.Authorise = judge.permit_all,
    random: Random = os.urandom,
) -> dict:
    """Append one event inside the caller's write transaction; see :func:`append_as_desk`."""
    if type not in catalogue.EVENT_TYPES:
        raise BadInput("unknown_type", f"there is no event of type {type!r}", field="type")
    desk = _desk_writer(connection, location_id)
    desk = accounts.lock_tablet(connection, desk["tablet_id"], now=clock.now())
    item = _item(
        build.build_item(
            server_key,
            event_id=event_id or new_id(clock.now(), random),
            tablet_id=desk["tablet_id"],
            tablet_seq=desk["next_seq"],
            location_id=location_id,
            actor_id=actor_id,
            type=type,
            entity_id=entity_id,
            payload=payload,
            base_version=base_version,
            corrects=corrects,
            occurred_at=clock.now().astimezone(_zone(zone)),
            zone=zone,
            clock_offset_ms=0,
            app_build=APP_BUILD,
            engine_version=ENGINE_VERSION,
            random=random,
        )
    )
    parsed = judge.read_item(item)
    event_store.lock_log(connection, location_id)
    judged = judge.judge(connection, item, parsed, tablet=desk, authorise=authorise)
    if judged.verdict == protocol.CONFLICT:
        raise Conflict("version_not_current", "another version came first", current=judged.current)
    if judged.verdict != protocol.APPLIED:
        raise NotAllowed(judged.reason or "not_allowed", "this may not be done by this person")
    entry = judge.new_entry(item, parsed, judged, tablet_id=desk["tablet_id"])
    [appended] = event_store.append(
        connection,
        location_id,
        [entry],
        received_at=clock.now(),
        project=judge.project_with(projectors),
    )
    accounts.advance_tablet(
        connection, desk["tablet_id"], next_seq=desk["next_seq"] + 1, pushed_after_revoked=0
    )
    access.note(
        connection,
        location_id=location_id,
        at=clock.now(),
        action="change",
        actor_id=actor_id,
        tablet_id=desk["tablet_id"],
        subject_kind=catalogue.EVENT_TYPES[type].subject,
        subject_id=entity_id,
        detail={"events": 1, "types": [type]},
    )
    return {"event_id": appended["event_id"], "position": appended["position"]}


def open_location(
    engine: Engine,
    clock: Clock,
    server_key: signing.PrivateKey,
    *,
    payload: Mapping,
    projectors: judge.Projectors,
    location_id: str | None = None,
    random: Random = os.urandom,
) -> dict:
    """Begin a location: its log, its desk writer, its first entry ``location.opened``.

    ``payload`` is that of the event. Returns {location_id, epoch, event_id, position}.
    """
    with write(engine) as connection:
        return open_location_in(
            connection,
            clock,
            server_key,
            payload=payload,
            projectors=projectors,
            location_id=location_id or new_id(clock.now(), random),
            random=random,
        )


def open_location_in(
    connection: Connection,
    clock: Clock,
    server_key: signing.PrivateKey,
    *,
    payload: Mapping,
    projectors: judge.Projectors,
    location_id: str,
    actor_id: str | None = None,
    random: Random = os.urandom,
) -> dict:
    """Do what :func:`open_location` does inside the caller's write transaction."""
    now = clock.now().astimezone(UTC)
    epoch = new_id(now, random)
    event_store.open_location(connection, location_id, epoch=epoch, now=now)
    accounts.add_tablet(
        connection,
        location_id,
        new_id(now, random),
        kind=accounts.DESK,
        label="desk",
        public_key=signing.public_key_text(server_key),
        certificate=None,
        now=now,
    )
    appended = append_in(
        connection,
        clock,
        server_key,
        location_id=location_id,
        actor_id=actor_id,
        type="location.opened",
        entity_id=location_id,
        payload=payload,
        projectors=projectors,
        zone=str(payload.get("zone", "")),
        random=random,
    )
    return {"location_id": location_id, "epoch": epoch, **appended}


def _desk_writer(connection: Connection, location_id: str) -> dict:
    desk = accounts.desk_writer(connection, location_id)
    if desk is None and followed.get(connection, location_id) is not None:
        raise Conflict(
            "location_followed",
            "This is a copy of a practice's log: only the practice itself adds to it.",
        )
    if desk is None:
        raise NotFound("location_unknown", "there is no such location")
    return desk


def _zone(name: str) -> ZoneInfo:
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise BadInput("zone_unknown", f"there is no time zone {name!r}", field="zone") from None


def _item(built: Mapping) -> protocol.Item:
    return protocol.Item(
        built["event_id"],
        built["tablet_seq"],
        built["body"],
        built["payload"],
        bytes.fromhex(built["salt"]),
        built["signature"],
    )
