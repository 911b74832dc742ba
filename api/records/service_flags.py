"""Flags on a record whose laser was out of service when its procedure began, or went out meanwhile.

What stood against the laser is read from its document (``device_service``). A case that was opened
without an override is told apart by what its tablet can have known; so are passes that were made
after the laser went out in the middle of a case.
"""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any

from api.clock import parse_rfc3339, put_right
from api.records.reflag import reflag
from api.storage import documents, readers

OVERRIDDEN = "out_of_service_overridden"
NOT_OVERRIDDEN = "out_of_service_not_overridden"
NOT_KNOWN = "out_of_service_not_known"
MEANWHILE = "out_of_service_meanwhile"
MEANWHILE_NOT_KNOWN = "out_of_service_meanwhile_not_known"
CODES = (OVERRIDDEN, NOT_OVERRIDDEN, NOT_KNOWN, MEANWHILE, MEANWHILE_NOT_KNOWN)
KIND = "device_service"


def service_flags(
    house: documents.Once, record: Mapping[str, Any], entries: Iterable[Mapping[str, Any]]
) -> list[dict[str, str]]:
    """Return a flag where the laser of a record was out of service when it was opened, and one
    where it went out meanwhile and passes were made after that.
    """
    device_id = (record["device"] or {}).get("device_id")
    service = device_id and house.get(KIND, device_id)
    if not service or not record["started_at"]:
        return []
    openings = (one["body"] for one in entries if one["payload"])
    opening = next((one for one in openings if one["type"] == "procedure.opened"), None)
    if opening is None:
        # Its content was erased, or is not here yet.
        return []
    begun = put_right(record["started_at"], opening["clock_offset_ms"])
    at_start = _stood_at(service["causes"], begun)
    later = [one for one in service["causes"] if one not in at_start]
    opening = {**opening, "at": opening["occurred_at"]}
    return [*_when_opened(record, opening, at_start), *_meanwhile(record, later)]


def _when_opened(
    record: Mapping[str, Any], opening: Mapping[str, Any], causes: Sequence[Mapping]
) -> list[dict[str, str]]:
    if not causes:
        return []
    since = f"The laser was out of service since {causes[0]['at']}"
    device_id = record["device"]["device_id"]
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


def _meanwhile(record: Mapping[str, Any], causes: Sequence[Mapping]) -> list[dict[str, str]]:
    """Return a flag for the passes that were made after a cause that did not stand at the start."""
    lines = {one["event_id"]: one for one in record["history"]}
    made = []
    for one in record["passes"]:
        line = lines[one["event_id"]]
        begun = put_right(one["started_at"], line.get("clock_offset_ms"))
        if stood := _stood_at(causes, begun):
            made.append((one, line, stood))
    if not made:
        return []
    unheard = all(
        _came_later(each, line) and not _known(each, line)
        for _, line, stood in made
        for each in stood
    )
    first = min((stood[0] for _, _, stood in made), key=_from)
    numbers = ", ".join(str(one["number"]) for one, _, _ in made)
    text = (
        f"The laser went out of service at {first['at']}, during the case. "
        f"Passes made after that: {numbers}."
    )
    code = MEANWHILE
    if unheard:
        code, text = MEANWHILE_NOT_KNOWN, f"{text} That was not known on the tablet then."
    return [{"code": code, "text": text, "event_id": made[0][0]["event_id"]}]


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
    first = min(_from(one) for one in causes)
    house = documents.Once(connection, location_id)
    used_it = documents.holding(
        connection, location_id, "record", field="device_id", value=device_id
    )
    for record in [one for one in used_it if _reaches(one, first)]:
        if (record["device"] or {}).get("device_id") != device_id or record.get("erased"):
            continue
        found = service_flags(house, record, _openings(connection, record))
        reflag(connection, record, found, codes=CODES, position=entry["position"])


def _reaches(record: Mapping[str, Any], first: datetime) -> bool:
    """Say whether anything in a record may have been after a moment, whatever its clock."""
    if not record.get("started_at"):
        return False
    begun = [record["started_at"], *(one["started_at"] for one in record.get("passes") or ())]
    known = {one.get("clock_offset_ms") for one in record.get("history") or ()}
    return any(put_right(one, off) >= first for one in begun for off in known)


def _openings(connection: Any, record: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    found = readers.openings(connection, record["location_id"], record["record_id"])
    effective = {line["event_id"] for line in record["history"] if line["effective"]}
    return [one for one in found if one["event_id"] in effective] or found


def _from(cause: Mapping[str, Any]) -> datetime:
    return parse_rfc3339(cause.get("from", cause["at"]))


def _stood_at(causes: Iterable[Mapping], moment: datetime) -> list[Mapping]:
    found = [
        one
        for one in causes
        if _from(one) <= moment
        and (not one.get("cleared") or moment < parse_rfc3339(one["cleared"]["at"]))
    ]
    return sorted(found, key=lambda one: (_from(one), one["event_id"]))


def _known(cause: Mapping, written: Mapping) -> bool:
    """Say whether the tablet itself had written the cause down before it wrote an entry."""
    same = cause["tablet_id"] is not None and cause["tablet_id"] == written["tablet_id"]
    return same and cause["tablet_seq"] < written["tablet_seq"]


def _came_later(cause: Mapping, written: Mapping) -> bool:
    """Say whether a cause reached the server only after an entry was made."""
    if cause["received_at"] is None:
        return False
    made = put_right(written["at"], written.get("clock_offset_ms"))
    return parse_rfc3339(cause["received_at"]) > made
