"""Locations, people and tablets as documents."""

from collections.abc import Callable, Mapping
from typing import Any

from api.storage import documents


def project(connection: Any, entry: Mapping[str, Any]) -> None:
    """Put what an entry says about a location, person or tablet into its document."""
    body = entry["body"]
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
EVENT_TYPES = tuple(_KINDS)
