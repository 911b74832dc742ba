"""What the entries of a procedure's course, from its opening to its end, do to a record. Pure."""

from typing import Any

from api.records.entries_passes import end_pause
from api.records.order import Entry
from api.records.unfinished import Unfinished, belongs_elsewhere, trace

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
_ATTACHMENT_FIELDS = (
    "attachment_id",
    "kind",
    "sha256",
    "media_type",
    "size_bytes",
    "width_px",
    "height_px",
    "caption",
    "taken_at",
)
_PROTECTION_FIELDS = ("heads", "eyewear", "evacuator", "masks", "deviations")


def opened(draft: Unfinished, entry: Entry) -> bool:
    """Take over what the opening says; only the first one counts."""
    if draft.opened:
        draft.flag("opened_twice", "The procedure was opened more than once.", entry)
        return False
    draft.opened = True
    payload = entry.event["payload"]
    draft.record.update({name: payload.get(name) for name in OPENING_FIELDS})
    draft.record["assistant_ids"] = list(payload.get("assistant_ids") or [])
    draft.assisting = set(draft.record["assistant_ids"])
    if belongs_elsewhere(payload.get("handpiece"), payload.get("device")):
        draft.flag(
            "handpiece_of_another_device", "The record's handpiece is another laser's.", entry
        )
    return True


def timeout_answered(draft: Unfinished, entry: Entry) -> bool:
    """Keep the time-out as answered; the last one holds."""
    answers = _answers(entry)
    draft.record["time_out"] = {name: answers[name] for name in answers if name != "event_id"}
    return True


def list_answered(draft: Unfinished, entry: Entry) -> bool:
    """Add a list as answered."""
    payload = entry.event["payload"]
    own = {"kind": payload["kind"], "within_s": payload.get("within_s")}
    draft.record["lists"].append({**own, **_answers(entry)})
    return True


def noted(draft: Unfinished, entry: Entry) -> bool:
    """Add a note."""
    draft.record["notes"].append({"text": entry.event["payload"]["text"], **trace(entry)})
    return True


def paused(draft: Unfinished, entry: Entry) -> bool:
    """Begin a pause, unless one is open or the procedure is over."""
    pauses = draft.record["pauses"]
    if draft.record["ended_at"] is not None:
        draft.flag("pause_after_end", "A pause was noted after the procedure's end.", entry)
        return False
    if pauses and pauses[-1]["to_at"] is None:
        draft.flag("paused_twice", "A pause was noted while another was open.", entry)
        return False
    moment = trace(entry)
    pauses.append(
        {
            "from_at": moment["at"],
            "to_at": None,
            "reason": entry.event["payload"].get("reason"),
            "by": moment["by"],
            "event_id": moment["event_id"],
        }
    )
    return True


def resumed(draft: Unfinished, entry: Entry) -> bool:
    """End the open pause."""
    if end_pause(draft.record, trace(entry)["at"]):
        return True
    draft.flag("resumed_without_pause", "It went on, and no pause was open.", entry)
    return False


def handed_over(draft: Unfinished, entry: Entry) -> bool:
    """Note who took over from whom; an operator's passes are theirs from here on."""
    payload, record = entry.event["payload"], draft.record
    from_id, to_id, role = payload["from_id"], payload["to_id"], payload["role"]
    in_role = {
        "operator": {record["operator_id"]},
        "assistant": draft.assisting,
        # Whoever is signed in records; no entry says who else could.
        "recorder": {from_id},
    }
    if from_id not in in_role[role]:
        draft.flag("handover_from_another", "Whoever handed over was not in that role.", entry)
    if role == "operator":
        record["operator_id"] = to_id
    elif role == "assistant":
        draft.assisting = (draft.assisting - {from_id}) | {to_id}
        if to_id not in record["assistant_ids"]:
            record["assistant_ids"].append(to_id)
    record["handovers"].append(
        {
            "from_id": from_id,
            "to_id": to_id,
            "role": role,
            "note": payload.get("note"),
            **trace(entry),
        }
    )
    return True


def operator_accepted(draft: Unfinished, entry: Entry) -> bool:
    """Keep why it went on with an operator although something stood against them."""
    payload = entry.event["payload"]
    draft.record["accepted"].append(
        {
            **{name: payload[name] for name in ("operator_id", "findings", "reason")},
            **trace(entry),
        }
    )
    return True


def service_overridden(draft: Unfinished, entry: Entry) -> bool:
    """Keep why it went on with a laser that was out of service, and why that was."""
    payload = entry.event["payload"]
    draft.record["overrides"].append(
        {**{name: payload[name] for name in ("device_id", "causes", "reason")}, **trace(entry)}
    )
    return True


def protection_noted(draft: Unfinished, entry: Entry) -> bool:
    """Keep how people were protected; the last word holds, the history keeps all."""
    payload = entry.event["payload"]
    draft.record["protection"] = {
        **{name: payload.get(name) for name in _PROTECTION_FIELDS},
        **trace(entry),
    }
    if len(payload["eyewear"]) < payload["heads"]:
        draft.flag("eyewear_missing", "There was less eyewear than heads.", entry)
    return True


def attachment_added(draft: Unfinished, entry: Entry) -> bool:
    """Add a photograph; its bytes lie beside the log, by their hash."""
    payload = entry.event["payload"]
    known = {one["attachment_id"] for one in draft.record["attachments"]}
    if payload["attachment_id"] in known:
        draft.flag("attachment_repeated", "A second photograph carries an earlier one's id.", entry)
        return False
    draft.record["attachments"].append(
        {**{name: payload.get(name) for name in _ATTACHMENT_FIELDS}, **trace(entry)}
    )
    return True


def ended(draft: Unfinished, entry: Entry) -> bool:
    """End the procedure, and the pause that was open."""
    payload = entry.event["payload"]
    if draft.record["ended_at"] is not None:
        draft.flag("ended_twice", "The procedure was ended more than once.", entry)
    end_pause(draft.record, payload["ended_at"])
    draft.record["outcome"] = payload["outcome"]
    draft.record["ended_at"] = payload["ended_at"]
    return True


def _answers(entry: Entry) -> dict[str, Any]:
    payload, moment = entry.event["payload"], trace(entry)
    return {
        "list_id": payload["list_id"],
        "list_version": payload["list_version"],
        "title": payload["title"],
        "led_by": payload["led_by"],
        "answers": payload["answers"],
        "completed_at": moment["at"],
        "event_id": moment["event_id"],
    }
