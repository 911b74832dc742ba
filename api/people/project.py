"""Locations, people and tablets as documents."""

from collections.abc import Callable, Mapping
from typing import Any

from api.clock import parse_rfc3339
from api.people import qualifications
from api.storage import documents, endings


def project(connection: Any, entry: Mapping[str, Any]) -> None:
    """Put what an entry says about a location, person or tablet into its document."""
    body = entry["body"]
    if body["type"] == "person.left":
        _leave(connection, entry)
        return
    if body["type"] in qualifications.EVENT_TYPES:
        _qualify(connection, entry)
        return
    kind, id_name, fields = _KINDS[body["type"]]
    documents.put(
        connection,
        entry["location_id"],
        kind,
        body["entity_id"],
        {
            **(entry["payload"] or {}),
            id_name: body["entity_id"],
            "status": "current",
            "event_id": body["event_id"],
            **fields(body),
            **_kept(connection, entry, kind),
        },
        position=entry["position"],
    )


def _qualify(connection: Any, entry: Mapping[str, Any]) -> None:
    location_id, person_id = entry["location_id"], entry["body"]["entity_id"]
    person = documents.get(connection, location_id, "person", person_id)
    if person is not None:
        documents.put(
            connection,
            location_id,
            "person",
            person_id,
            qualifications.with_entry(person, entry),
            position=entry["position"],
        )


def _kept(connection: Any, entry: Mapping[str, Any], kind: str) -> dict[str, Any]:
    if kind != "person":
        return {}
    known = documents.get(connection, entry["location_id"], kind, entry["body"]["entity_id"]) or {}
    return {name: known[name] for name in qualifications.KEPT if name in known}


def _leave(connection: Any, entry: Mapping[str, Any]) -> None:
    body, location_id = entry["body"], entry["location_id"]
    person = documents.get(connection, location_id, "person", body["entity_id"])
    if person is None:
        return
    # Of what was given before only: when the log is projected anew, whoever has come back stays in.
    endings.end_access(
        connection, location_id, body["entity_id"], before=parse_rfc3339(entry["received_at"])
    )
    documents.put(
        connection,
        location_id,
        "person",
        body["entity_id"],
        {
            **person,
            "status": "left",
            "left_at": body["occurred_at"],
            "left_because": (entry["payload"] or {}).get("reason"),
            "event_id": body["event_id"],
        },
        position=entry["position"],
    )


def _nothing(_: Mapping) -> dict:
    return {}


def _enrolment(body: Mapping) -> dict:
    return {"enrolled_at": body["occurred_at"], "enrolled_by": body["actor_id"]}


_KINDS: Mapping[str, tuple[str, str, Callable[[Mapping], dict]]] = {
    "location.opened": ("location", "location_id", _nothing),
    "person.registered": ("person", "person_id", _nothing),
    "tablet.enrolled": ("tablet", "tablet_id", _enrolment),
}
EVENT_TYPES = (*_KINDS, "person.left", *sorted(qualifications.EVENT_TYPES))
