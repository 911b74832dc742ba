"""The events of one procedure -> its record. Pure: same events, any order of arrival, same record.

The mirror on the tablet is ``pwa/src/session/fold.ts``; both are held to the same vectors.
"""

from collections.abc import Iterable, Mapping
from typing import Any

from api.records.entries import apply
from api.records.entries_course import OPENING_FIELDS
from api.records.order import (
    PLACED,
    REMOVED,
    VOIDED,
    WITHDRAWN,
    Event,
    flag,
    in_order,
    opener,
    resolve,
)
from api.records.said import changes_of, said_of
from api.records.unfinished import Record, Unfinished

_EXPECTED_AFTER_VOIDING = frozenset({VOIDED, WITHDRAWN, PLACED, REMOVED})


def fold(events: Iterable[Event]) -> Record:
    """Return the record document of the events of one procedure.

    Each event is ``{"body", "payload" (None: erased), "body_hash"}``. Raises ``ValueError`` without
    any event. What is odd is flagged, never dropped in silence: every event is in ``history``.
    """
    ordered = in_order(events)
    if not ordered:
        raise ValueError("a record needs at least one event")
    resolved = resolve(ordered)
    draft = Unfinished(_empty(ordered), flags=resolved.flags)
    effective = set(resolved.effective)
    effective -= apply(draft, resolved.entries)
    if not draft.opened:
        draft.flags.append(
            flag("opening_missing", "The event that opened this record is missing.", ordered[0])
        )
    record = draft.record
    _settle_status(record)
    draft.flags += _after_voiding(record, ordered)
    known = {event["body"]["event_id"]: event for event in ordered}
    record["history"] = [_history_line(event, effective, known) for event in ordered]
    places = {event["body"]["event_id"]: place for place, event in enumerate(ordered)}
    record["flags"] = sorted(draft.flags, key=lambda one: (places[one["event_id"]], one["code"]))
    return record


def _empty(ordered: list[Event]) -> Record:
    first = opener(ordered)["body"]
    return {
        "record_id": first["entity_id"],
        "location_id": first["location_id"],
        "status": "draft",
        "version": 0,
        **dict.fromkeys(OPENING_FIELDS),
        "assistant_ids": [],
        "ended_at": None,
        "time_out": None,
        "lists": [],
        "protection": None,
        "passes": [],
        "pauses": [],
        "handovers": [],
        "accepted": [],
        "overrides": [],
        "notes": [],
        "attachments": [],
        "outcome": None,
        "sign_off": None,
        "addenda": [],
        "chart": None,
        "placings": [],
        "removals": [],
        "reattributions": [],
        "voided": None,
        "versions": [],
        "history": [],
        "flags": [],
        "provenance": {
            "tablet_id": first["tablet_id"],
            "app_build": first["app_build"],
            "engine_version": first["engine_version"],
            "zone": first["zone"],
            "first_at": ordered[0]["body"]["occurred_at"],
            "last_at": ordered[-1]["body"]["occurred_at"],
        },
    }


def _settle_status(record: Record) -> None:
    record["version"] = len(record["versions"])
    if record["voided"] is not None:
        record["status"] = "void"
    elif record["version"] > 0:
        record["status"] = "signed" if record["version"] == 1 else "amended"
    elif record["ended_at"] is not None:
        record["status"] = "ended"


def _after_voiding(record: Record, ordered: list[Event]) -> list[dict[str, str]]:
    """Flag what the voiding writer entered afterwards; of other writers' entries none can say."""
    if record["voided"] is None:
        return []
    event_id = record["voided"]["event_id"]
    body = next(one["body"] for one in ordered if one["body"]["event_id"] == event_id)
    return [
        flag("entry_after_void", "An entry was made after the record was voided.", event)
        for event in ordered
        if event["body"]["tablet_id"] == body["tablet_id"]
        and event["body"]["tablet_seq"] > body["tablet_seq"]
        # A second voiding is flagged as such; the paper of a void record still goes to its place.
        and event["body"]["type"] not in _EXPECTED_AFTER_VOIDING
    ]


def _history_line(event: Event, effective: set[str], known: Mapping[str, Event]) -> dict[str, Any]:
    body = event["body"]
    target = known.get(body["corrects"])
    same_kind = target is not None and target["body"]["type"] == body["type"]
    return {
        "event_id": body["event_id"],
        "type": body["type"],
        "at": body["occurred_at"],
        "by": body["actor_id"],
        "tablet_id": body["tablet_id"],
        "tablet_seq": body["tablet_seq"],
        "corrects": body["corrects"],
        # With these a tablet that did not record the procedure can work out what it signs.
        "body_hash": event["body_hash"],
        "effective": body["event_id"] in effective,
        "said": said_of(body["type"], event["payload"]),
        "changes": changes_of(target["payload"], event["payload"]) if same_kind else [],
    }
