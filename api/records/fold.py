"""The events of one procedure -> its record. Pure: same events, any order of arrival, same record.

The mirror on the tablet is ``pwa/src/session/fold.ts``; both are held to the same vectors.
"""

from collections.abc import Iterable
from typing import Any

from api.records.entries import OPENING_FIELDS, Draft, Record, apply
from api.records.order import Event, flag, in_order, opener, resolve


def fold(events: Iterable[Event]) -> Record:
    """Return the record document of the events of one procedure.

    Each event is ``{"body", "payload" (None: erased), "body_hash"}``. Raises ``ValueError`` without
    any event. What is odd is flagged, never dropped in silence: every event is in ``history``.
    """
    ordered = in_order(events)
    if not ordered:
        raise ValueError("a record needs at least one event")
    resolved = resolve(ordered)
    draft = Draft(_empty(ordered), flags=resolved.flags)
    effective = set(resolved.effective)
    effective -= apply(draft, resolved.entries)
    if not draft.opened:
        draft.flags.append(
            flag("opening_missing", "The event that opened this record is missing.", ordered[0])
        )
    record = draft.record
    _settle_status(record)
    record["history"] = [_history_line(event, effective) for event in ordered]
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
        "passes": [],
        "notes": [],
        "outcome": None,
        "sign_off": None,
        "addenda": [],
        "chart": None,
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
    if record["sign_off"] is not None:
        record["version"] = 1 + len(record["addenda"])
        record["status"] = "amended" if record["addenda"] else "signed"
    elif record["ended_at"] is not None:
        record["status"] = "ended"


def _history_line(event: Event, effective: set[str]) -> dict[str, Any]:
    body = event["body"]
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
    }
