"""Flags on a record whose laser was out of service when its procedure began.

What stood against the laser is read from its document (``device_service``). A case that was opened
without an override is told apart by what its tablet can have known.
"""

from collections.abc import Iterable, Mapping
from datetime import timedelta
from typing import Any

from api.clock import parse_rfc3339
from api.records.reflag import reflag
from api.storage import documents, readers

OVERRIDDEN = "out_of_service_overridden"
NOT_OVERRIDDEN = "out_of_service_not_overridden"
NOT_KNOWN = "out_of_service_not_known"
CODES = (OVERRIDDEN, NOT_OVERRIDDEN, NOT_KNOWN)
KIND = "device_service"


def service_flags(
    house: documents.Once, record: Mapping[str, Any], entries: Iterable[Mapping[str, Any]]
) -> list[dict[str, str]]:
    """Return one flag where the laser of a record was out of service when it was opened."""
    device_id = (record["device"] or {}).get("device_id")
    service = device_id and house.get(KIND, device_id)
    if not service or not record["started_at"]:
        return []
    causes = _stood_at(service["causes"], record["started_at"])
    if not causes:
        return []
    openings = (one for one in entries if one["body"]["type"] == "procedure.opened")
    opening = next((one for one in openings if one["payload"]), None)
    if opening is None:
        # Its content was erased, or is not here yet.
        return []
    since = f"The laser was out of service since {causes[0]['at']}"
    overrides = [one for one in record.get("overrides") or () if one["device_id"] == device_id]
    if overrides:
        reasons = "; ".join(one["reason"] for one in overrides)
        code, text = OVERRIDDEN, f"{since}, and it went on all the same. Reason given: {reasons}"
    elif any(_known(one, opening) for one in causes):
        code, text = NOT_OVERRIDDEN, f"{since}, and no reason was given for going on."
    elif all(_came_later(one, opening) for one in causes):
        code, text = NOT_KNOWN, f"{since}. That was not known on the tablet then."
    else:
        text = f"{since}. No reason was given; whether the tablet had heard of it cannot be said."
        code = NOT_OVERRIDDEN
    return [{"code": code, "text": text, "event_id": opening["event_id"]}]


def service_changed(connection: Any, entry: Mapping[str, Any], device_id: str, before: Any) -> None:
    """Look again at the records of a laser after something changed what stood against it.

    ``before`` is its service document as it was. A failure can arrive after the records that it
    concerns: it was found without a network, or they were made so.
    """
    location_id = entry["location_id"]
    service = documents.get(connection, location_id, KIND, device_id)
    causes = [*((before or {}).get("causes") or ()), *((service or {}).get("causes") or ())]
    if service == before or not causes:
        return
    first = min(parse_rfc3339(one["at"]) for one in causes)
    house = documents.Once(connection, location_id)
    used_it = documents.holding(
        connection, location_id, "record", field="device_id", value=device_id
    )
    for record in [one for one in used_it if _since(one, first)]:
        if (record["device"] or {}).get("device_id") != device_id or record.get("erased"):
            continue
        found = service_flags(house, record, _openings(connection, record))
        reflag(connection, record, found, codes=CODES, position=entry["position"])


def _since(record: Mapping[str, Any], first: Any) -> bool:
    return bool(record.get("started_at")) and parse_rfc3339(record["started_at"]) >= first


def _openings(connection: Any, record: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    found = readers.openings(connection, record["location_id"], record["record_id"])
    effective = {line["event_id"] for line in record["history"] if line["effective"]}
    return [one for one in found if one["event_id"] in effective] or found


def _stood_at(causes: Iterable[Mapping], started_at: str) -> list[Mapping]:
    moment = parse_rfc3339(started_at)
    found = [
        one
        for one in causes
        if parse_rfc3339(one["at"]) <= moment
        and (not one.get("cleared") or moment < parse_rfc3339(one["cleared"]["at"]))
    ]
    return sorted(found, key=lambda one: (parse_rfc3339(one["at"]), one["event_id"]))


def _known(cause: Mapping, opening: Mapping) -> bool:
    """Say whether the tablet itself had written the cause down before it opened the case."""
    body = opening["body"]
    same = cause["tablet_id"] is not None and cause["tablet_id"] == body["tablet_id"]
    return same and cause["tablet_seq"] < body["tablet_seq"]


def _came_later(cause: Mapping, opening: Mapping) -> bool:
    """Say whether a cause reached the server only after the case was opened."""
    body = opening["body"]
    if cause["received_at"] is None:
        return False
    opened = parse_rfc3339(body["occurred_at"]) + timedelta(
        milliseconds=body["clock_offset_ms"] or 0
    )
    return parse_rfc3339(cause["received_at"]) > opened
