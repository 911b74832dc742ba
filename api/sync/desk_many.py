"""Several events for one press at a desk: all of them or none, and once only."""

import hashlib
import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from api.clock import Clock
from api.errors import Conflict
from api.events import signing
from api.ids import new_id
from api.storage import desk_keys, readers
from api.storage.engine import Connection, Engine, again
from api.sync import judge
from api.sync.desk import Random, append_in


@dataclass(frozen=True, kw_only=True)
class Command:
    """One event to be made; see :func:`api.sync.desk.append_in`."""

    type: str
    entity_id: str
    payload: Any
    base_version: int | None = None
    corrects: str | None = None


def append_all_as_desk(
    engine: Engine,
    clock: Clock,
    server_key: signing.PrivateKey,
    *,
    location_id: str,
    actor_id: str,
    idempotency_key: str,
    request: Any,
    count: int,
    decide: Callable[[Connection], Sequence[Command | None]],
    projectors: judge.Projectors,
    zone: str,
    authorise: judge.Authorise,
    random: Random,
) -> list[dict | None]:
    """Append the events that ``decide`` asks for inside one transaction.

    ``decide`` answers with ``count`` commands, None where nothing is to be done. Returns, in the
    same order, the entries {event_id, position, payload}, or None. The same key with the same
    ``request`` answers what the first one did, and does not decide again. Raises ``Conflict``
    idempotency_key_reused for another request, and whatever ``decide`` raises.
    """
    request_hash = hashlib.sha256(
        json.dumps([actor_id, request], sort_keys=True, separators=(",", ":")).encode()
    ).hexdigest()

    def append(connection: Connection) -> list[dict | None]:
        claimed = [
            _claim(
                connection, clock, location_id, f"{idempotency_key}/{place}", request_hash, random
            )
            for place in range(count)
        ]
        if any(row["request_hash"] != request_hash for row, _ in claimed):
            raise Conflict("idempotency_key_reused", "this key was used for another command")
        if all(new for _, new in claimed):
            for (row, _), command in zip(claimed, decide(connection), strict=True):
                if command is None:
                    continue
                append_in(
                    connection,
                    clock,
                    server_key,
                    location_id=location_id,
                    actor_id=actor_id,
                    type=command.type,
                    entity_id=command.entity_id,
                    payload=command.payload,
                    base_version=command.base_version,
                    corrects=command.corrects,
                    event_id=row["event_id"],
                    projectors=projectors,
                    zone=zone,
                    authorise=authorise,
                    random=random,
                )
        return [
            readers.entry_by_event(connection, location_id, row["event_id"]) for row, _ in claimed
        ]

    return again(engine, append)


def _claim(
    connection: Connection,
    clock: Clock,
    location_id: str,
    key: str,
    request_hash: str,
    random: Random,
) -> tuple[dict, bool]:
    event_id = new_id(clock.now(), random)
    row = desk_keys.claim(
        connection,
        location_id,
        key,
        request_hash=request_hash,
        event_id=event_id,
        now=clock.now(),
    )
    return row, row["event_id"] == event_id
