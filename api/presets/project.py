"""The practice's own settings and kinds of procedure as documents, with their versions."""

from collections.abc import Mapping
from typing import Any

from api.storage import documents

EVENT_TYPES = ("procedure_kind.listed", "preset.published", "preset.withdrawn")


def project(connection: Any, entry: Mapping[str, Any]) -> None:
    """Put what an entry says about a preset or a kind of procedure into its document.

    A version that built on another than the current one (verdict ``conflict``) does not replace
    it: it stands in ``drafts`` until somebody publishes on the current version.
    """
    body = entry["body"]
    kind = "procedure_kind" if body["type"] == "procedure_kind.listed" else "preset"
    known = documents.get(connection, entry["location_id"], kind, body["entity_id"])
    documents.put(
        connection,
        entry["location_id"],
        kind,
        body["entity_id"],
        _DOCUMENTS[body["type"]](entry, known),
        position=entry["position"],
    )


def _listed(entry: Mapping, _: Mapping | None) -> dict:
    body = entry["body"]
    return {
        **(entry["payload"] or {}),
        "procedure_kind_id": body["entity_id"],
        "status": "current",
        "event_id": body["event_id"],
    }


def _published(entry: Mapping, known: Mapping | None) -> dict:
    body = entry["body"]
    published = {
        **(entry["payload"] or {}),
        "event_id": body["event_id"],
        "published_at": body["occurred_at"],
        "published_by": body["actor_id"],
    }
    if entry["verdict"] == "conflict":
        draft = {**published, "base_version": body["base_version"]}
        shell = known or {"preset_id": body["entity_id"], "status": "draft", "drafts": []}
        return {**shell, "drafts": [*shell["drafts"], draft]}
    return {
        **published,
        "preset_id": body["entity_id"],
        "status": "current",
        "withdrawn": None,
        "drafts": [] if known is None else known["drafts"],
    }


def _withdrawn(entry: Mapping, known: Mapping | None) -> dict:
    body = entry["body"]
    shell = known or {"preset_id": body["entity_id"], "drafts": []}
    return {
        **shell,
        "status": "withdrawn",
        "withdrawn": {
            "reason": (entry["payload"] or {}).get("reason"),
            "at": body["occurred_at"],
            "by": body["actor_id"],
        },
    }


_DOCUMENTS = {
    "procedure_kind.listed": _listed,
    "preset.published": _published,
    "preset.withdrawn": _withdrawn,
}
