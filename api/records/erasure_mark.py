"""What a record whose content was erased says of itself: when, by whom, and on which basis."""

from collections.abc import Iterable, Mapping
from typing import Any

from api.storage import documents, erased

ERASED = "erased"


def among(house: documents.Once, record_ids: Iterable[str]) -> dict[str, dict[str, Any]]:
    """Return the erasures of those of these records that were erased, by record."""
    said = {each: house.get(erased.KIND, each) for each in record_ids}
    found = {each: one for each, one in said.items() if one and one["erased"] is not None}
    if not found:
        return found
    listed = erased.records_among(house.connection, house.location_id, found)
    return {each: found[each] for each in listed}


def put_on(
    record: dict[str, Any], erasure: Mapping[str, Any], entries: Iterable[Mapping[str, Any]]
) -> None:
    """Let a record say that it was erased; what came later than the erasure stays in sight."""
    record["erased"] = erasure["erased"]
    if any(one["payload"] is not None for one in entries):
        return
    record["status"] = ERASED
    # Nothing else can be said of what is not there.
    record["flags"] = []


def used(record: Mapping[str, Any]) -> dict[str, str]:
    """Return which handpieces a record used, and when: by id."""
    return {
        one["handpiece"]["handpiece_id"]: one["started_at"]
        for one in record["passes"]
        if one["handpiece"] and record["status"] != "void"
    }


def uses(record: Mapping[str, Any], erasure: Mapping[str, Any] | None) -> dict[str, str]:
    """As :func:`used`, with what was used in erased passes: its count must not fall."""
    gone = {one["handpiece_id"]: one["used_at"] for one in (erasure or {}).get("handpieces") or ()}
    return {**gone, **used(record)}
