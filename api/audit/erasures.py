"""What the log says is erased, for whoever checks the log: only what it says may be missing."""

from collections.abc import Mapping
from typing import Any

from api.events import catalogue
from api.storage import erased, followed, readers
from api.storage.engine import Connection


def ordered(connection: Connection, location_id: str) -> dict[str, dict[str, Any]]:
    """Return, by event id, what the log says of each entry whose content it says is erased.

    Each {by_position, record_id, at, by, asked_by, basis, citation}. That these orders are
    themselves what was signed and chained is found out where they stand. At a group an order that
    stands in another history of the same log counts as well: it explains whatever is missing of its
    record, and is to have been done where that history is in force; ``by_location`` names it then.
    """
    found: dict[str, dict[str, Any]] = {}
    for row in erased.orders(connection, location_id):
        order, ids = _read(row)
        for event_id in ids:
            found.setdefault(event_id, order)
    others = followed.beside(connection, location_id, if_current=False)
    for other_id, state in others.items():
        for row in erased.orders(connection, other_id):
            order, ids = _read(row)
            order["by_location"] = other_id
            done = set(ids) if state == followed.CURRENT else set()
            for entry in erased.entries_of(connection, location_id, row["entity_id"]):
                if entry["payload"] is None or entry["event_id"] in done:
                    found.setdefault(entry["event_id"], order)
    return found


def _read(row: Mapping[str, Any]) -> tuple[dict[str, Any], list[str]]:
    said = readers.as_entry(row)["payload"] or {}
    ids = said.get("event_ids")
    order = {
        "by_position": row["position"],
        "record_id": row["entity_id"],
        "at": said.get("confirmed_at"),
        "by": said.get("confirmed_by"),
        "asked_by": said.get("asked_by"),
        "basis": said.get("basis"),
        "citation": said.get("citation"),
    }
    return order, ids if isinstance(ids, list) else []


def missing_problem(stored: Mapping[str, Any], order: Mapping[str, Any] | None) -> str | None:
    """Return what is wrong with an entry in respect of its erasure, or None.

    "payload_missing": its content is not there and nobody ordered that, or it is of a kind that
    cannot be erased. "erasure_undone": the log says that it is erased, and it is there.
    """
    if stored["payload"] is not None:
        return "erasure_undone" if order is not None and _is_records(stored, order) else None
    if order is None or not _is_records(stored, order):
        return "payload_missing"
    return None


def _is_records(stored: Mapping[str, Any], order: Mapping[str, Any]) -> bool:
    """Say whether an entry is of the record that an order is about, and of a kind that may go."""
    event_type = catalogue.EVENT_TYPES.get(stored["type"] or "")
    if stored["entity_id"] != order["record_id"]:
        return False
    if event_type is None:
        return stored["verdict"] == readers.QUARANTINED
    return event_type.subject == "record"


def papers(connection: Connection, location_id: str, record_id: str) -> list[dict[str, Any]]:
    """Return {version, kind, sha256} of papers that were erased: the hash proves one at hand."""
    found = []
    for one in erased.of_record(connection, location_id, record_id):
        if one["kind"] == erased.RENDERING:
            _, version, kind = one["what"].rsplit("/", 2)
            found.append({"version": int(version), "kind": kind, "sha256": one["sha256"]})
    return found
