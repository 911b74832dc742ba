"""Flags on a record about who operated: decided by what stood in the register at that moment."""

from collections.abc import Iterator, Mapping
from typing import Any
from zoneinfo import ZoneInfo

from api.clock import parse_rfc3339
from api.records import operators
from api.storage import documents

_CREDENTIALS = {
    "licence": "licence",
    "course": "laser course",
    "hands_on": "hands-on training",
    "device_training": "training on this laser",
}


def operator_flags(house: documents.Once, record: Mapping[str, Any]) -> list[dict[str, str]]:
    """Return a flag for each thing that stood against an operator, once for each operator."""
    flags = []
    for operator_id, at, event_id in _operated(record):
        person = house.get("person", operator_id)
        if person is None:
            continue
        moment = parse_rfc3339(at)
        for one in operators.findings(
            person,
            at=moment,
            day=moment.astimezone(_zone(house, record)).date(),
            device_id=(record["device"] or {}).get("device_id"),
            procedure_kind_id=(record["procedure"] or {}).get("procedure_kind_id"),
        ):
            text = _text(person["display_name"], one) + _why(record, operator_id)
            flags.append({"code": one["code"], "text": text, "event_id": event_id})
    return flags


def _operated(record: Mapping[str, Any]) -> Iterator[tuple[str, str, str]]:
    """Yield (person, moment, event) of the first thing that each operator did."""
    seen = set()
    for one in record["passes"]:
        if one["operator_id"] and one["operator_id"] not in seen:
            seen.add(one["operator_id"])
            yield one["operator_id"], one["started_at"], one["event_id"]


def _zone(house: documents.Once, record: Mapping[str, Any]) -> ZoneInfo:
    location = house.get("location", record["location_id"]) or {}
    return ZoneInfo(location.get("zone") or "UTC")


def _text(name: str, one: Mapping[str, Any]) -> str:
    thing = _CREDENTIALS.get(one["kind"], "")
    return {
        operators.MISSING: f"{name} operated without a {thing} on file.",
        operators.EXPIRED: f"{name} operated although their {thing} ended on {one['expires_on']}.",
        operators.OUTSIDE_DEVICE: f"{name} operated a laser outside their scope.",
        operators.OUTSIDE_PROCEDURE: f"{name} did a kind of procedure outside their scope.",
    }[one["code"]]


def _why(record: Mapping[str, Any], operator_id: str) -> str:
    given = [one["reason"] for one in record["accepted"] if one["operator_id"] == operator_id]
    return f" Reason given: {'; '.join(given)}" if given else " No reason was given."
