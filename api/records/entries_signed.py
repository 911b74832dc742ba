"""What the signature, and whatever speaks about the record as a whole, do to it. Pure."""

from api.records.order import Entry
from api.records.unfinished import Unfinished, trace


def signed(draft: Unfinished, entry: Entry) -> bool:
    """Sign the record: its first version."""
    payload, body = entry.event["payload"], entry.event["body"]
    draft.record["sign_off"] = {
        "signer_id": payload["signer_id"],
        "role": payload["role"],
        "at": body["occurred_at"],
        "content_hash": payload["content_hash"],
        "event_id": body["event_id"],
        "statement": payload["statement"],
    }
    draft.signed_by = (body["tablet_id"], body["tablet_seq"])
    _next_version(draft, entry, "signed")
    return True


def addended(draft: Unfinished, entry: Entry) -> bool:
    """Add an addendum."""
    payload = entry.event["payload"]
    if draft.record["sign_off"] is None:
        draft.flag("addendum_without_signature", "An addendum to an unsigned record.", entry)
    draft.record["addenda"].append(
        {"text": payload["text"], "reason": payload["reason"], **trace(entry)}
    )
    _next_version(draft, entry, "addendum")
    return True


def placed(draft: Unfinished, entry: Entry) -> bool:
    """Note that the record is in the chart."""
    payload = entry.event["payload"]
    if draft.record["sign_off"] is None:
        draft.flag("placed_without_signature", "Put into the chart without a signature.", entry)
    body = entry.event["body"]
    placing = {
        "how": payload["how"],
        "note": payload.get("note"),
        # A desk that did not say which version it placed knew of the first one only.
        "version": payload.get("version") or 1,
        "at": body["occurred_at"],
        "by": body["actor_id"],
        "event_id": body["event_id"],
    }
    draft.record["placings"].append(placing)
    # What an earlier version's paper is said about afterwards does not take the later one out.
    chart = draft.record["chart"]
    if chart is None or placing["version"] >= chart["version"]:
        draft.record["chart"] = placing
    return True


def removed(draft: Unfinished, entry: Entry) -> bool:
    """Note that a paper was taken out of a chart where it no longer belongs."""
    payload = entry.event["payload"]
    draft.record["removals"].append(
        {"because": payload["because"], "note": payload.get("note"), **trace(entry)}
    )
    return True


def reattributed(draft: Unfinished, entry: Entry) -> bool:
    """Move the record to the chart of the patient it belongs to."""
    payload, record = entry.event["payload"], draft.record
    if record["patient"] is not None and _patient(record["patient"]) != _patient(payload["from"]):
        draft.flag(
            "reattributed_from_another",
            "The record was moved from a chart in which it was not.",
            entry,
        )
    record["patient"] = dict(payload["to"])
    record["reattributions"].append(
        {
            "from": payload["from"],
            "to": payload["to"],
            "reason": payload["reason"],
            **trace(entry),
        }
    )
    if not _surely_before_signature(draft, entry):
        _next_version(draft, entry, "reattribution")
    return True


def voided(draft: Unfinished, entry: Entry) -> bool:
    """Say that the record does not hold. Everything in it stays."""
    if draft.record["voided"] is not None:
        draft.flag("voided_twice", "The record was voided more than once.", entry)
        return False
    draft.record["voided"] = {"reason": entry.event["payload"]["reason"], **trace(entry)}
    _next_version(draft, entry, "void")
    return True


def _next_version(draft: Unfinished, entry: Entry, cause: str) -> None:
    """Count a version; before the signature there is none."""
    versions = draft.record["versions"]
    if draft.record["sign_off"] is not None:
        versions.append({"version": len(versions) + 1, "cause": cause, **trace(entry)})


def _surely_before_signature(draft: Unfinished, entry: Entry) -> bool:
    # Between two writers no clock decides. Taken for later, a move costs a version; taken for
    # earlier, it would leave the paper of another patient standing as the present one.
    body = entry.event["body"]
    if draft.signed_by is None:
        return True
    tablet_id, seq = draft.signed_by
    return body["tablet_id"] == tablet_id and body["tablet_seq"] < seq


def _patient(said: dict) -> tuple:
    return said.get("chart_number"), said.get("second_identifier")
