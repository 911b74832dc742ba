"""The lists that are answered around a procedure as documents, with all their versions."""

from collections.abc import Mapping
from typing import Any

from api.storage import documents

EVENT_TYPES = ("list.published", "list.set_aside", "list.acknowledged")

_EMPTY: Mapping[str, Any] = {
    "versions": [],
    "drafts": [],
    "set_aside": [],
    "acknowledged_by": [],
}


def project(connection: Any, entry: Mapping[str, Any]) -> None:
    """Put what an entry says about a list into its document.

    The document's own fields are those of the last published version; ``versions`` holds them all,
    since an earlier one stays in force until a later one's day has come. A version that built on
    another than the last one (verdict ``conflict``) waits in ``drafts`` until a published version
    says that it comes of it (``from_draft``) or somebody decides against it (``set_aside``).
    ``acknowledged_by`` says who has read which version.
    """
    body = entry["body"]
    list_id = body["entity_id"]
    known = documents.get(connection, entry["location_id"], "list", list_id)
    shell = {**_EMPTY, **(known or {"list_id": list_id, "status": "draft"})}
    if known and "versions" not in known:
        # Projected before all versions were kept: what it says is the one version there was.
        shell["versions"] = [known]
    documents.put(
        connection,
        entry["location_id"],
        "list",
        list_id,
        _DOCUMENTS[body["type"]](entry, shell),
        position=entry["position"],
    )


def _published(entry: Mapping, shell: Mapping) -> dict:
    body = entry["body"]
    payload = entry["payload"] or {}
    version = {
        **payload,
        "event_id": body["event_id"],
        "published_at": body["occurred_at"],
        "published_by": body["actor_id"],
    }
    kept = {name: shell[name] for name in _EMPTY}
    if entry["verdict"] == "conflict":
        draft = {**version, "base_version": body["base_version"]}
        return {**shell, "drafts": [*kept["drafts"], draft]}
    taken_up = payload.get("from_draft")
    return {
        **version,
        **kept,
        "list_id": body["entity_id"],
        "status": "current",
        "versions": [*kept["versions"], version],
        "drafts": [one for one in kept["drafts"] if one["event_id"] != taken_up],
    }


def _set_aside(entry: Mapping, shell: Mapping) -> dict:
    body = entry["body"]
    said = {
        "reason": (entry["payload"] or {}).get("reason"),
        "at": body["occurred_at"],
        "by": body["actor_id"],
    }
    gone = [one for one in shell["drafts"] if one["event_id"] == body["corrects"]]
    return {
        **shell,
        "drafts": [one for one in shell["drafts"] if one["event_id"] != body["corrects"]],
        "set_aside": [*shell["set_aside"], *({**one, "set_aside": said} for one in gone)],
    }


def _acknowledged(entry: Mapping, shell: Mapping) -> dict:
    body = entry["body"]
    said = {
        "person_id": body["actor_id"],
        "version": (entry["payload"] or {}).get("version"),
        "at": body["occurred_at"],
    }
    same = (said["person_id"], said["version"])
    if any((one["person_id"], one["version"]) == same for one in shell["acknowledged_by"]):
        return dict(shell)
    return {**shell, "acknowledged_by": [*shell["acknowledged_by"], said]}


_DOCUMENTS = {
    "list.published": _published,
    "list.set_aside": _set_aside,
    "list.acknowledged": _acknowledged,
}
