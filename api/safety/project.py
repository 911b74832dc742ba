"""The lists that are answered around a procedure as documents, with their versions."""

from collections.abc import Mapping
from typing import Any

from api.storage import documents

EVENT_TYPES = ("list.published",)


def project(connection: Any, entry: Mapping[str, Any]) -> None:
    """Put a published list into its document; one that built on an old version waits in drafts."""
    body = entry["body"]
    known = documents.get(connection, entry["location_id"], "list", body["entity_id"])
    published = {
        **(entry["payload"] or {}),
        "event_id": body["event_id"],
        "published_at": body["occurred_at"],
        "published_by": body["actor_id"],
    }
    if entry["verdict"] == "conflict":
        shell = known or {"list_id": body["entity_id"], "status": "draft", "drafts": []}
        draft = {**published, "base_version": body["base_version"]}
        document = {**shell, "drafts": [*shell["drafts"], draft]}
    else:
        document = {
            **published,
            "list_id": body["entity_id"],
            "status": "current",
            "drafts": [] if known is None else known["drafts"],
        }
    documents.put(
        connection,
        entry["location_id"],
        "list",
        body["entity_id"],
        document,
        position=entry["position"],
    )
