"""What of a record is odd that only the server can say: see ``api.records.project``. Pure."""

from collections.abc import Mapping
from typing import Any

from api.records.doses import differences
from api.records.order import content_hash

CLOCK_WRONG_ABOVE_MS = 5 * 60 * 1000


def of_dose(record: Mapping[str, Any]) -> list[dict[str, str]]:
    flags = []
    for one in record["passes"]:
        differing = differences(one["tablet_dose"], one["dose"])
        if differing:
            flags.append(
                _flag(
                    "dose_differs",
                    f"Pass {one['number']}: the tablet's dose is not the server's "
                    f"({', '.join(differing)}).",
                    one["event_id"],
                )
            )
    return flags


def of_checks(record: Mapping[str, Any], arrived: Mapping[str, Any]) -> list[dict[str, str]]:
    """Flag a delivered dose whose power check is not the one that the pass names for its tip."""
    flags = []
    for one in record["passes"]:
        delivery = one["settings"].get("delivery")
        # Settings are kept as they came, whatever their shape.
        ratio = delivery.get("verified_ratio") if isinstance(delivery, Mapping) else None
        check, tip = one["verification"], one["handpiece"] or {}
        if check is None:
            # Named by its event alone, it cannot be compared.
            fits = bool(arrived[one["event_id"]]["payload"].get("verification_event_id"))
        else:
            of_tip = check.get("handpiece_id") in (None, tip.get("handpiece_id"))
            fits = of_tip and ratio == check["ratio"]
        if ratio is not None and not fits:
            text = f"Pass {one['number']}: the delivered dose rests on no power check of its tip."
            flags.append(_flag("delivered_unchecked", text, one["event_id"]))
    return flags


def of_signature(record: Mapping[str, Any], entries: list) -> list[dict[str, str]]:
    sign_off = record["sign_off"]
    if sign_off is None:
        return []
    flags = []
    event_id = sign_off["event_id"]
    if content_hash(entries, before=event_id) != sign_off["content_hash"]:
        flags.append(
            _flag(
                "content_hash_differs",
                "The signature covers other entries than those that are here.",
                event_id,
            )
        )
    author = next(line["by"] for line in record["history"] if line["event_id"] == event_id)
    if author != sign_off["signer_id"]:
        flags.append(
            _flag("signer_not_author", "The signer is not the person signed in.", event_id)
        )
    return flags


def of_clocks(entries: list) -> list[dict[str, str]]:
    wrong = [
        one["body"]
        for one in entries
        if abs(one["body"]["clock_offset_ms"] or 0) > CLOCK_WRONG_ABOVE_MS
    ]
    if not wrong:
        return []
    first = min(wrong, key=lambda body: body["event_id"])
    return [
        _flag(
            "clock_wrong", "The tablet's clock was off by more than 5 minutes.", first["event_id"]
        )
    ]


def _flag(code: str, text: str, event_id: str) -> dict[str, str]:
    return {"code": code, "text": text, "event_id": event_id}
