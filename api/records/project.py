"""Keep the record document, its row in the index and the work it causes up to date."""

from collections.abc import Iterable, Mapping
from datetime import timedelta
from typing import Any

from api.clock import parse_rfc3339
from api.events import catalogue
from api.records.departures import departures as departures_of
from api.records.doses import differences
from api.records.fold import fold
from api.records.operator_flags import operator_flags
from api.records.order import content_hash
from api.records.preset_flags import preset_flags
from api.records.versions import first_of_present_patient
from api.storage import (
    attachment_uses,
    departures,
    documents,
    handpiece_uses,
    jobs,
    readers,
    record_index,
)

EVENT_TYPES = tuple(
    name for name, each in catalogue.EVENT_TYPES.items() if each.group == catalogue.PROCEDURE
)

# Later than this between making and receiving, on one clock, and it was made without a network.
OFFLINE_AFTER = timedelta(seconds=60)
CLOCK_WRONG_ABOVE_MS = 5 * 60 * 1000
_RENDERINGS = ("render_pdf", "render_text")


def project(connection: Any, entry: Mapping[str, Any]) -> None:
    """Fold the record of ``entry`` anew from all its entries, and store what it comes to."""
    location_id = entry["location_id"]
    record_id = entry["body"]["entity_id"]
    entries = readers.record_entries(connection, location_id, record_id)
    if all(known["event_id"] != entry["event_id"] for known in entries):
        entries.append(dict(entry))
    record = document(entries)
    record["flags"] += preset_flags(connection, record)
    record["flags"] += operator_flags(connection, record)
    documents.put(
        connection,
        location_id,
        "record",
        record_id,
        record,
        position=entry["position"],
        feed=documents.RECORDS,
    )
    _count_uses(connection, entry, record)
    attachment_uses.put(connection, location_id, record_id, _photographs(entries))
    record_index.put(connection, location_id, _summary(connection, record))
    departures.put(
        connection,
        location_id,
        record_id,
        [
            {**one, "by_name": _name(connection, location_id, one["by_id"])}
            for one in departures_of(record)
        ],
    )
    for version in range(first_of_present_patient(record), record["version"] + 1):
        # A version written down before is not written down again.
        for kind in _RENDERINGS:
            jobs.enqueue(connection, kind, record_id, version, location_id=location_id)


def document(entries: Iterable[Mapping[str, Any]]) -> dict[str, Any]:
    """Return the record document of log entries, with what only the server can say.

    Beyond the fold: ``received``, ``made_offline``, and flags for a dose that is not ours, a
    signature over other entries than are here, a signer who is not the author, and a wrong clock.
    """
    found = list(entries)
    record = fold(found)
    record["received"] = {
        "first_received_at": min(one["received_at"] for one in found),
        "last_received_at": max(one["received_at"] for one in found),
        "position": max(one["position"] for one in found),
    }
    arrived = {one["event_id"]: one for one in found}
    for line in record["history"]:
        entry = arrived[line["event_id"]]
        line["received_at"] = entry["received_at"]
        line["made_offline"] = _made_offline(entry)
    record["made_offline"] = any(line["made_offline"] for line in record["history"])
    record["flags"] += [
        *_dose_flags(record),
        *_check_flags(record, arrived),
        *_signature_flags(record, found),
        *_clock_flags(found),
    ]
    return record


def _photographs(entries: Iterable[Mapping[str, Any]]) -> set[str]:
    """Return the hashes of every photograph that was ever named; nothing once it was erased."""
    return {
        one["payload"]["sha256"]
        for one in entries
        if one["body"]["type"] == "attachment.added" and one["payload"]
    }


def _count_uses(connection: Any, entry: Mapping[str, Any], record: Mapping[str, Any]) -> None:
    location_id = entry["location_id"]
    used = {
        one["handpiece"]["handpiece_id"]: one["started_at"]
        for one in record["passes"]
        if one["handpiece"] and record["status"] != "void"
    }
    for handpiece_id in handpiece_uses.put(connection, location_id, record["record_id"], used):
        document = {
            "handpiece_id": handpiece_id,
            **handpiece_uses.count(connection, location_id, handpiece_id),
        }
        documents.put(
            connection,
            location_id,
            "handpiece_use",
            handpiece_id,
            document,
            position=entry["position"],
        )


def _summary(connection: Any, record: Mapping[str, Any]) -> dict[str, Any]:
    patient, procedure = record["patient"] or {}, record["procedure"] or {}
    device, sign_off = record["device"] or {}, record["sign_off"] or {}
    return {
        "record_id": record["record_id"],
        "status": record["status"],
        "version": record["version"],
        "chart_number": patient.get("chart_number"),
        "second_identifier": patient.get("second_identifier"),
        "procedure_text": procedure.get("text"),
        "site": record["site"],
        "operator_id": record["operator_id"],
        "operator_name": _name(connection, record["location_id"], record["operator_id"]),
        "device_id": device.get("device_id"),
        "device_label": device.get("label"),
        "started_at": record["started_at"],
        "ended_at": record["ended_at"],
        "signed_at": sign_off.get("at"),
        "passes": len(record["passes"]),
        "placed_at": (record["chart"] or {}).get("at"),
        "placed_version": (record["chart"] or {}).get("version"),
        "position": record["received"]["position"],
        "flags": sorted({one["code"] for one in record["flags"]}),
    }


def _name(connection: Any, location_id: str, person_id: str | None) -> str | None:
    if person_id is None:
        return None
    person = documents.get(connection, location_id, "person", person_id)
    return (person or {}).get("display_name")


def _dose_flags(record: Mapping[str, Any]) -> list[dict[str, str]]:
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


def _check_flags(record: Mapping[str, Any], arrived: Mapping[str, Any]) -> list[dict[str, str]]:
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


def _signature_flags(record: Mapping[str, Any], entries: list) -> list[dict[str, str]]:
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


def _clock_flags(entries: list) -> list[dict[str, str]]:
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


def _made_offline(entry: Mapping[str, Any]) -> bool:
    body = entry["body"]
    # In seconds: the offset of a clock that is wrong beyond reason fits no date.
    made_s = parse_rfc3339(body["occurred_at"]).timestamp() + (body["clock_offset_ms"] or 0) / 1000
    received_s = parse_rfc3339(entry["received_at"]).timestamp()
    return received_s - made_s > OFFLINE_AFTER.total_seconds()


def _flag(code: str, text: str, event_id: str) -> dict[str, str]:
    return {"code": code, "text": text, "event_id": event_id}
