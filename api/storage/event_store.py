"""The only writer of the log."""

import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, and_, bindparam, insert, or_, select, update

from api.events import chain
from api.storage.postgresql import UNREAD
from api.storage.readers import QUARANTINED
from api.storage.rows import every, insert_all, utc_text
from api.storage.tables import event, location, payload

Project = Callable[[Connection, Sequence[dict]], None]

# Made once: every push needs these, and to make one takes longer than to use it.
_encode = json.JSONEncoder(ensure_ascii=False, separators=(",", ":")).encode
_OF_LOCATION = update(location).where(location.c.location_id == bindparam("which"))
_COUNTED = _OF_LOCATION.values(position=location.c.position + bindparam("more")).returning(
    location.c.position, location.c.link, location.c.epoch
)
_LINKED = _OF_LOCATION.values(link=bindparam("link")).execution_options(**{UNREAD: True})
_STORED = (
    select(
        event.c.event_id,
        event.c.tablet_id,
        event.c.tablet_seq,
        event.c.position,
        event.c.verdict,
        event.c.reason,
        event.c.body,
        payload.c.salt,
        payload.c.payload,
    )
    .select_from(
        event.outerjoin(
            payload,
            and_(
                payload.c.location_id == event.c.location_id,
                payload.c.event_id == event.c.event_id,
            ),
        )
    )
    .where(
        event.c.location_id == bindparam("location_id"),
        or_(
            event.c.event_id.in_(bindparam("event_ids", expanding=True)),
            and_(
                event.c.tablet_id == bindparam("tablet_id"),
                event.c.tablet_seq.in_(bindparam("seqs", expanding=True)),
            ),
        ),
    )
)


@dataclass(frozen=True, kw_only=True)
class NewEntry:
    """An event on its way into the log, with the verdict that was come to about it.

    ``parsed_body`` and ``parsed_payload`` are None where a text could not be read.
    """

    event_id: str
    tablet_id: str
    tablet_seq: int
    body: str
    payload: str
    salt: bytes
    signature: str
    verdict: str
    reason: str | None
    parsed_body: dict | None
    parsed_payload: dict | None


def open_location(connection: Connection, location_id: str, *, epoch: str, now: datetime) -> None:
    """Begin the log of a location, empty."""
    connection.execute(
        insert(location).values(
            location_id=location_id,
            epoch=epoch,
            position=0,
            link=chain.FIRST_LINK,
            opened_at=utc_text(now),
        )
    )


def lock_log(connection: Connection, location_id: str) -> None:
    """Let nobody else append to a location's log until the transaction ends.

    For whoever decides by what the log came to and appends what it decided. Only PostgreSQL needs
    to be told: on SQLite a write transaction has the whole file to itself.
    """
    connection.execute(
        select(location.c.position)
        .where(location.c.location_id == location_id)
        .with_for_update(key_share=True)
    )


def append(
    connection: Connection,
    location_id: str,
    entries: Sequence[NewEntry],
    *,
    received_at: datetime,
    project: Project | None,
) -> list[dict]:
    """Append events to a location's log and project them; return the entries with positions.

    The counter row is locked here and stays locked until the transaction ends, so that positions
    become visible in their order and without holes: a reader that has seen position n has seen
    everything up to n. Entries put into quarantine are not projected.

    Raises the database's IntegrityError when an event or a sequence number is there already.
    """
    if not entries:
        return []
    counter = connection.execute(_COUNTED, {"which": location_id, "more": len(entries)}).one()
    first = counter.position - len(entries) + 1
    received_text = utc_text(received_at)
    rows, link = [], counter.link
    for position, entry in enumerate(entries, first):
        header = header_text(
            epoch=counter.epoch,
            location_id=location_id,
            position=position,
            received_at=received_text,
            verdict=entry.verdict,
            reason=entry.reason,
            signature=entry.signature,
        )
        header_hash, body_hash = chain.sha256(header), chain.sha256(entry.body)
        link = chain.link(previous=link, header_hash=header_hash, body_hash=body_hash)
        rows.append(
            {
                "location_id": location_id,
                "position": position,
                "epoch": counter.epoch,
                "event_id": entry.event_id,
                "tablet_id": entry.tablet_id,
                "tablet_seq": entry.tablet_seq,
                **index_columns(entry.parsed_body),
                "received_at": received_text,
                "verdict": entry.verdict,
                "reason": entry.reason,
                "header": header,
                "body": entry.body,
                "body_hash": body_hash,
                "header_hash": header_hash,
                "signature": entry.signature,
                "link": link,
            }
        )
    insert_all(connection, event, rows)
    insert_all(
        connection,
        payload,
        [
            {
                "location_id": location_id,
                "event_id": entry.event_id,
                "salt": entry.salt,
                "payload": entry.payload,
            }
            for entry in entries
        ],
    )
    connection.execute(_LINKED, {"which": location_id, "link": link})
    appended = []
    for row, entry in zip(rows, entries, strict=True):
        appended.append(
            {
                "position": row["position"],
                "received_at": received_text,
                "verdict": entry.verdict,
                "reason": entry.reason,
                "location_id": location_id,
                "event_id": entry.event_id,
                "body": entry.parsed_body,
                "payload": entry.parsed_payload,
                "body_hash": row["body_hash"].hex(),
            }
        )
    if project is not None:
        project(connection, [entry for entry in appended if entry["verdict"] != QUARANTINED])
    return appended


def header_text(
    *,
    epoch: str,
    location_id: str,
    position: int,
    received_at: str,
    verdict: str,
    reason: str | None,
    signature: str,
) -> str:
    """Write what the server says about an event; made once, stored, hashed, never made again."""
    return _encode(
        {
            "epoch": epoch,
            "location_id": location_id,
            "position": position,
            "received_at": received_at,
            "verdict": verdict,
            "reason": reason,
            "signature": signature,
        }
    )


def index_columns(body: dict | None) -> dict[str, str | None]:
    """Return what of a body stands in columns of its own; None where it is not a text."""
    body = body or {}
    names = ("type", "entity_id", "actor_id", "corrects")
    return {name: body.get(name) if isinstance(body.get(name), str) else None for name in names}


def find_stored(
    connection: Connection,
    location_id: str,
    tablet_id: str,
    *,
    event_ids: Sequence[str],
    seqs: Sequence[int],
) -> list[dict]:
    """Return what the log has under any of these event ids, or these numbers of the tablet."""
    named = {
        "location_id": location_id,
        "tablet_id": tablet_id,
        "event_ids": [*event_ids],
        "seqs": [*seqs],
    }
    return every(connection.execute(_STORED, named))
