"""What has been said about one preset -> its document: the version in force, drafts, history. Pure.

The mirror on the tablet is ``pwa/src/session/preset-fold.ts``; both are held to the same vectors.
"""

from collections.abc import Mapping
from typing import Any

Document = dict[str, Any]


def apply(known: Mapping[str, Any] | None, entry: Mapping[str, Any]) -> Document:
    """Return the document after one more entry (``{"body", "payload", "verdict"}``).

    The version in force stands at the top level, as its payload says it, with ``event_id``,
    ``published_at``, ``published_by`` and ``status``: "current", "withdrawn", or "draft" while no
    version has come into force. Beside it, each in the order of the log:

    ``versions``     every version that was in force, the present one last
    ``drafts``       versions that built on something that was no longer so
    ``set_aside``    drafts that somebody decided against, with ``set_aside`` {reason, at, by}
    ``withdrawals``  {event_id, version, reason, at, by} of every withdrawal
    """
    document = {**_empty(entry["body"]["entity_id"]), **_lifted(known or {})}
    if entry["body"]["type"] == "preset.published":
        return _published(document, entry)
    return _withdrawn(document, entry)


def _lifted(known: Mapping[str, Any]) -> Mapping[str, Any]:
    """Return a document as it is made now; the first ones kept no versions but the one in force."""
    if "versions" in known or "version" not in known:
        return known
    of_the_preset = ("preset_id", "status", "withdrawn", "drafts")
    version = {name: value for name, value in known.items() if name not in of_the_preset}
    return {**known, "versions": [version]}


def _empty(preset_id: str) -> Document:
    return {
        "preset_id": preset_id,
        "status": "draft",
        "withdrawn": None,
        "versions": [],
        "drafts": [],
        "set_aside": [],
        "withdrawals": [],
    }


def _published(document: Document, entry: Mapping[str, Any]) -> Document:
    body, payload = entry["body"], entry["payload"] or {}
    version = {
        **payload,
        "event_id": body["event_id"],
        "published_at": body["occurred_at"],
        "published_by": body["actor_id"],
    }
    withdrawn = document["withdrawn"]
    # Who did not know of the withdrawal has not decided to put the preset back in force.
    unaware = withdrawn is not None and body["corrects"] != withdrawn.get("event_id")
    if entry["verdict"] == "conflict" or unaware:
        draft = {**version, "base_version": body["base_version"]}
        return {**document, "drafts": [*document["drafts"], draft]}
    answered = version.get("from_draft")
    return {
        # What this version leaves out is not carried over from the one before.
        **_empty(body["entity_id"]),
        **version,
        "status": "current",
        "versions": [*document["versions"], version],
        "drafts": [one for one in document["drafts"] if one["event_id"] != answered],
        "set_aside": document["set_aside"],
        "withdrawals": document["withdrawals"],
    }


def _withdrawn(document: Document, entry: Mapping[str, Any]) -> Document:
    body = entry["body"]
    said = {
        "reason": (entry["payload"] or {}).get("reason"),
        "at": body["occurred_at"],
        "by": body["actor_id"],
    }
    if body["corrects"] is not None:
        # About one draft only; the version in force stays what it is.
        drafts = document["drafts"]
        gone = [{**one, "set_aside": said} for one in drafts if one["event_id"] == body["corrects"]]
        return {
            **document,
            "drafts": [one for one in drafts if one["event_id"] != body["corrects"]],
            "set_aside": [*document["set_aside"], *gone],
        }
    in_force = document.get("version")
    version = in_force if body["base_version"] is None else body["base_version"]
    withdrawal = {"event_id": body["event_id"], "version": version, **said}
    document = {**document, "withdrawals": [*document["withdrawals"], withdrawal]}
    if version != in_force or document["withdrawn"] is not None:
        # Said of an earlier version, or said twice: what is in force does not change by it.
        return document
    return {**document, "status": "withdrawn", "withdrawn": withdrawal}
