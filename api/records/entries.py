"""What each kind of entry does to a record. Pure."""

import math
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from api.errors import BadInput
from api.records.doses import pass_dose
from api.records.order import Entry, flag

Record = dict[str, Any]

OPENING_FIELDS = (
    "patient",
    "procedure",
    "site",
    "indication",
    "why_laser",
    "operator_id",
    "supervising_id",
    "assistant_ids",
    "others_present",
    "room",
    "device",
    "handpiece",
    "verification",
    "consent",
    "anaesthesia",
    "alerts_reviewed",
    "started_at",
)
_PASS_FIELDS = (
    "pass_id",
    "number",
    "settings",
    "preset",
    "changed_from_preset",
    "spot_known",
    "focus",
    "coolant",
    "distance",
)


_SECONDS = re.compile(r"([0-9]+(?:\.[0-9]+)?(?:[eE][+-]?[0-9]+)?) s")


@dataclass
class Draft:
    """A record being put together, with what the fold must remember on the way."""

    record: Record
    flags: list[dict[str, str]]
    opened: bool = False
    after_end: set[str] = field(default_factory=set)

    def flag(self, code: str, text: str, entry: Entry) -> None:
        """Note that something about ``entry`` is odd."""
        self.flags.append(flag(code, text, entry.event))


def apply(draft: Draft, entries: Iterable[Entry]) -> set[str]:
    """Put the entries into the record; return the ids of events that had no effect after all."""
    without_effect = set()
    emissions = []
    for entry in entries:
        kind = entry.event["body"]["type"]
        if kind == "laser.emitted":
            # Kept until all passes are known: a corrected pass may stand behind its emissions.
            emissions.append(entry)
        elif kind not in _HANDLERS or not _HANDLERS[kind](draft, entry):
            without_effect.add(entry.event["body"]["event_id"])
    _close_passes(draft)
    without_effect |= {
        entry.event["body"]["event_id"] for entry in emissions if not _emitted(draft, entry)
    }
    _sum_emissions(draft.record)
    return without_effect


def _opened(draft: Draft, entry: Entry) -> bool:
    if draft.opened:
        draft.flag("opened_twice", "The procedure was opened more than once.", entry)
        return False
    draft.opened = True
    payload = entry.event["payload"]
    draft.record.update({name: payload.get(name) for name in OPENING_FIELDS})
    draft.record["assistant_ids"] = list(payload.get("assistant_ids") or [])
    return True


def _answered(draft: Draft, entry: Entry) -> bool:
    payload = entry.event["payload"]
    draft.record["time_out"] = {
        "list_id": payload["list_id"],
        "list_version": payload["list_version"],
        "title": payload["title"],
        "led_by": payload["led_by"],
        "answers": payload["answers"],
        # A later correction of an answer does not move the time-out to a later moment.
        "completed_at": entry.first["body"]["occurred_at"],
    }
    return True


def _pass_started(draft: Draft, entry: Entry) -> bool:
    payload = entry.event["payload"]
    if any(one["pass_id"] == payload["pass_id"] for one in draft.record["passes"]):
        draft.flag("pass_repeated", "A second pass carries the id of an earlier one.", entry)
        return False
    if draft.record["ended_at"] is not None:
        draft.flag("pass_after_end", "A pass was started after the procedure's end.", entry)
        draft.after_end.add(payload["pass_id"])
    draft.record["passes"].append(
        {
            **{name: payload.get(name) for name in _PASS_FIELDS},
            "started_at": entry.first["body"]["occurred_at"],
            "ended_at": None,
            "laser_on": [],
            "laser_on_s": 0.0,
            "sources": [],
            "dose": _dose(draft, entry),
            "total_energy_j": {"set": None, "delivered": None},
            "tablet_dose": payload.get("dose"),
            "event_id": entry.event["body"]["event_id"],
        }
    )
    return True


def _dose(draft: Draft, entry: Entry) -> dict[str, Any]:
    try:
        return pass_dose(entry.event["payload"]["settings"])
    except BadInput:
        draft.flag("dose_not_computable", "The settings of a pass give no dose.", entry)
        return {"engine": None, "set": {}, "delivered": None, "basis": None, "absent": {}}


def _emitted(draft: Draft, entry: Entry) -> bool:
    payload = entry.event["payload"]
    one = next(
        (one for one in draft.record["passes"] if one["pass_id"] == payload["pass_id"]), None
    )
    if one is None:
        draft.flag("emission_without_pass", "A laser-on time belongs to no pass.", entry)
        return False
    seconds = _seconds(payload["laser_on_time"])
    if seconds is None:
        draft.flag("laser_on_unreadable", "A laser-on time cannot be read.", entry)
        return False
    one["laser_on"].append(
        {
            "seconds": seconds,
            "source": payload["source"],
            "pulses": payload.get("pulses"),
            "at": entry.first["body"]["occurred_at"],
            "event_id": entry.event["body"]["event_id"],
        }
    )
    return True


def _seconds(text: str) -> float | None:
    found = _SECONDS.fullmatch(text)
    seconds = float(found[1]) if found else math.inf
    return seconds if math.isfinite(seconds) else None


def _noted(draft: Draft, entry: Entry) -> bool:
    body = entry.event["body"]
    draft.record["notes"].append(
        {
            "text": entry.event["payload"]["text"],
            "at": entry.first["body"]["occurred_at"],
            "by": body["actor_id"],
            "event_id": body["event_id"],
        }
    )
    return True


def _ended(draft: Draft, entry: Entry) -> bool:
    if draft.record["ended_at"] is not None:
        draft.flag("ended_twice", "The procedure was ended more than once.", entry)
    draft.record["outcome"] = entry.event["payload"]["outcome"]
    draft.record["ended_at"] = entry.event["payload"]["ended_at"]
    return True


def _signed(draft: Draft, entry: Entry) -> bool:
    payload, body = entry.event["payload"], entry.event["body"]
    draft.record["sign_off"] = {
        "signer_id": payload["signer_id"],
        "role": payload["role"],
        "at": body["occurred_at"],
        "content_hash": payload["content_hash"],
        "event_id": body["event_id"],
        "statement": payload["statement"],
    }
    return True


def _addended(draft: Draft, entry: Entry) -> bool:
    payload, body = entry.event["payload"], entry.event["body"]
    if draft.record["sign_off"] is None:
        draft.flag("addendum_without_signature", "An addendum to an unsigned record.", entry)
    draft.record["addenda"].append(
        {
            "text": payload["text"],
            "reason": payload["reason"],
            "at": body["occurred_at"],
            "by": body["actor_id"],
            "event_id": body["event_id"],
        }
    )
    return True


def _placed(draft: Draft, entry: Entry) -> bool:
    payload, body = entry.event["payload"], entry.event["body"]
    if draft.record["sign_off"] is None:
        draft.flag("placed_without_signature", "Put into the chart without a signature.", entry)
    draft.record["chart"] = {
        "how": payload["how"],
        "note": payload.get("note"),
        "at": body["occurred_at"],
        "by": body["actor_id"],
        "event_id": body["event_id"],
    }
    return True


_HANDLERS: Mapping[str, Callable[[Draft, Entry], bool]] = {
    "procedure.opened": _opened,
    "timeout.answered": _answered,
    "pass.started": _pass_started,
    "procedure.noted": _noted,
    "procedure.ended": _ended,
    "record.signed": _signed,
    "record.addended": _addended,
    "record.placed_in_chart": _placed,
}


def _close_passes(draft: Draft) -> None:
    """End each pass where the next one starts, or where the procedure ends if that comes first."""
    passes = draft.record["passes"]
    for place, one in enumerate(passes):
        following = passes[place + 1] if place + 1 < len(passes) else None
        if one["pass_id"] in draft.after_end:
            one["ended_at"] = following["started_at"] if following else None
        elif following is not None and following["pass_id"] not in draft.after_end:
            one["ended_at"] = following["started_at"]
        else:
            one["ended_at"] = draft.record["ended_at"]


def _sum_emissions(record: Record) -> None:
    for one in record["passes"]:
        # Added one by one: newer versions of sum() compensate, and the tablet's addition does not.
        for part in one["laser_on"]:
            one["laser_on_s"] += part["seconds"]
        one["sources"] = sorted({part["source"] for part in one["laser_on"]})
        if one["laser_on"]:
            # Without any laser-on time the energy is unknown, which is not the same as none.
            one["total_energy_j"] = {
                "set": _energy_j(one["dose"]["set"], one["laser_on_s"]),
                "delivered": _energy_j(one["dose"]["delivered"], one["laser_on_s"]),
            }


def _energy_j(values: Mapping[str, float] | None, seconds: float) -> float | None:
    power_w = (values or {}).get("average_power")
    return None if power_w is None else power_w * seconds
