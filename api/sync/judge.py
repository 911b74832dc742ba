"""The verdict about an event: decided once, when it comes in, and kept in its header."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from types import MappingProxyType
from typing import Any

from api.clock import parse_rfc3339
from api.events import catalogue, parse
from api.storage import documents
from api.storage.engine import Connection
from api.storage.event_store import NewEntry
from api.sync.protocol import APPLIED, CONFLICT, QUARANTINED, Item

# (connection, location_id, actor_id, type, when it was made) -> None when the actor might, else a
# stable reason.
Authorise = Callable[[Connection, str, str | None, str, datetime], str | None]
PLACED = "record.placed_in_chart"
Projector = Callable[[Connection, dict], None]


@dataclass(frozen=True)
class OfWhole:
    """A projector that makes things anew from all the entries about them in the log.

    ``project`` is handed whatever came together at once, as it stands in the log, and what
    ``foresee`` made of it before it was there: of entries without a position, by themselves, before
    anything is locked. That may be of more entries, of fewer or None.
    """

    project: Callable[[Connection, Sequence[dict], Any], None]
    foresee: Callable[[Sequence[dict]], Any] = lambda _entries: None


Projectors = Mapping[str, Projector | OfWhole]
Foreseen = Mapping[OfWhole, Any]


def permit_all(
    _connection: Connection,
    _location_id: str,
    _actor_id: str | None,
    _type: str,
    _made_at: datetime,
) -> str | None:
    """Let everybody do everything: for tests of the log itself."""
    return None


@dataclass(frozen=True)
class Judged:
    """The verdict; ``current`` is the version in force where that is what stood against it."""

    verdict: str
    reason: str | None = None
    current: int | None = None


def read_item(item: Item) -> parse.Parsed:
    """Read the texts of an item."""
    return parse.parse_event(body=item.body, payload=item.payload, salt=item.salt)


def depends_on_house(parsed: parse.Parsed) -> bool:
    """Say whether the verdict depends on what earlier events of the same batch projected."""
    if parsed.reason is not None:
        # Of what is wrong nothing is known: its type may be no text even.
        return False
    event_type = catalogue.EVENT_TYPES[parsed.body["type"]]
    return event_type.group == catalogue.HOUSE or event_type.name == PLACED


def judge(
    connection: Connection,
    item: Item,
    parsed: parse.Parsed,
    *,
    tablet: Mapping,
    authorise: Authorise,
) -> Judged:
    """Decide about an event that came from ``tablet``."""
    if parsed.reason is not None:
        return Judged(QUARANTINED, parsed.reason)
    body = parsed.body
    named = (body["event_id"], body["tablet_seq"], body["location_id"])
    came_as = (item.event_id, item.tablet_seq, tablet["location_id"])
    # What an earlier enrolment of this tablet had not sent comes as it was made.
    writers = (tablet["tablet_id"], *tablet.get("earlier", ()))
    if named != came_as or body["tablet_id"] not in writers:
        return Judged(QUARANTINED, "envelope_mismatch")
    if tablet["revoked_at"] is not None:
        return Judged(QUARANTINED, "tablet_revoked")
    if tablet["unconfirmed"]:
        return Judged(QUARANTINED, "tablet_unconfirmed")
    reason = authorise(
        connection, tablet["location_id"], body["actor_id"], body["type"], made_at(body)
    )
    if reason is not None:
        return Judged(QUARANTINED, reason)
    if body["type"] == PLACED and not has_version(
        connection, tablet["location_id"], body["entity_id"], parsed.payload
    ):
        return Judged(QUARANTINED, "version_unknown")
    current = version_in_force(connection, tablet["location_id"], body)
    if current != body["base_version"] and catalogue.EVENT_TYPES[body["type"]].versioned:
        return Judged(CONFLICT, "version_not_current", current)
    return Judged(APPLIED)


def made_at(body: Mapping) -> datetime:
    """Return when an event was made, by its writer's clock put right as far as the writer knew."""
    said = parse_rfc3339(body["occurred_at"])
    try:
        return said + timedelta(milliseconds=body["clock_offset_ms"] or 0)
    except OverflowError:
        return said


def has_version(
    connection: Connection, location_id: str, record_id: str, payload: Mapping | None
) -> bool:
    """Say whether a record has the version that is said to be in the chart.

    Nobody can hold the paper of a version before its cause is in the log: papers are made here.
    """
    version = (payload or {}).get("version")
    if version is None:
        return True
    record = documents.get(connection, location_id, "record", record_id)
    return record is not None and version <= record["version"]


def version_in_force(connection: Connection, location_id: str, body: Mapping) -> int | None:
    """Return the version that a versioned event has to build on, or None for the first."""
    event_type = catalogue.EVENT_TYPES[body["type"]]
    if not event_type.versioned:
        return None
    document = documents.get(connection, location_id, event_type.subject, body["entity_id"])
    return None if document is None else document.get("version")


def new_entry(item: Item, parsed: parse.Parsed, judged: Judged, *, tablet_id: str) -> NewEntry:
    """Put an item and the verdict about it together for the log."""
    return NewEntry(
        event_id=item.event_id,
        tablet_id=tablet_id,
        tablet_seq=item.tablet_seq,
        body=item.body,
        payload=item.payload,
        salt=item.salt,
        signature=item.signature,
        verdict=judged.verdict,
        reason=judged.reason,
        parsed_body=parsed.body,
        parsed_payload=parsed.payload,
    )


def foresee(projectors: Projectors, entries: Sequence[dict]) -> Foreseen:
    """Return what can be made of entries before they stand in the log."""
    together: dict[OfWhole, list[dict]] = {}
    for entry in entries:
        projector = projectors.get(entry["body"]["type"])
        if isinstance(projector, OfWhole):
            together.setdefault(projector, []).append(entry)
    return {whole: whole.foresee(of_it) for whole, of_it in together.items()}


def project_with(
    projectors: Projectors, foreseen: Foreseen = MappingProxyType({})
) -> Callable[[Connection, Sequence[dict]], None]:
    """Return what hands entries to the projectors of their types; others are kept only."""

    def hand_over(connection: Connection, together: dict[OfWhole, list[dict]]) -> None:
        for whole, of_it in together.items():
            whole.project(connection, of_it, foreseen.get(whole))
        together.clear()

    def project(connection: Connection, entries: Sequence[dict]) -> None:
        together: dict[OfWhole, list[dict]] = {}
        for entry in entries:
            projector = projectors.get(entry["body"]["type"])
            if isinstance(projector, OfWhole):
                together.setdefault(projector, []).append(entry)
            elif projector is not None:
                # What comes before it in the log must not see what it changes.
                hand_over(connection, together)
                if entry["payload"] is not None:
                    declared = catalogue.declared(entry["body"]["type"], entry["payload"])
                    entry = {**entry, "payload": declared}
                projector(connection, entry)
        hand_over(connection, together)

    return project
