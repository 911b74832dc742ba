"""The practice's own settings and kinds of procedure as documents, with their versions."""

from collections.abc import Mapping
from typing import Any

from api.presets import fold
from api.storage import documents

EVENT_TYPES = ("procedure_kind.listed", "preset.published", "preset.withdrawn")


def project(connection: Any, entry: Mapping[str, Any]) -> None:
    """Put what an entry says about a preset or a kind of procedure into its document."""
    body = entry["body"]
    kind = "procedure_kind" if body["type"] == "procedure_kind.listed" else "preset"
    known = documents.get(connection, entry["location_id"], kind, body["entity_id"])
    documents.put(
        connection,
        entry["location_id"],
        kind,
        body["entity_id"],
        _listed(entry) if kind == "procedure_kind" else fold.apply(known, entry),
        position=entry["position"],
    )


def _listed(entry: Mapping) -> dict:
    body = entry["body"]
    return {
        **(entry["payload"] or {}),
        "procedure_kind_id": body["entity_id"],
        "status": "current",
        "event_id": body["event_id"],
        # Notes and cautions are shown with the day they were written.
        "listed_at": body["occurred_at"],
        "listed_by": body["actor_id"],
    }
