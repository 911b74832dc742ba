"""How what was said about maintenance and incidents becomes their documents. Pure.

Mirror: ``pwa/src/session/upkeep-fold.ts``; both are held to ``tests/vectors/upkeep.json``.
"""

from collections.abc import Mapping
from typing import Any

from api.clock import parse_rfc3339

OPEN = "open"
CLOSED = "closed"
# What was left undone when somebody said that an incident is closed.
NOT_ASSESSED = "not_assessed"
NOT_REPORTED = "not_reported"
ACTION_OPEN = "action_open"


def maintenance(known: Mapping[str, Any] | None, body: Mapping[str, Any], payload: Mapping) -> dict:
    """Return the document of a piece of work after this entry."""
    mark = _mark(body)
    if body["type"] == "maintenance.withdrawn":
        before = known or {"maintenance_id": body["entity_id"]}
        return {**before, "status": "withdrawn", "withdrawn": {**payload, **mark}}
    said = {**payload, "maintenance_id": body["entity_id"], "status": "current", **mark}
    # What came late does not bring back what somebody took back after it.
    withdrawn = (known or {}).get("withdrawn")
    if withdrawn and _later(withdrawn["at"], mark["at"]):
        return {**said, "status": "withdrawn", "withdrawn": withdrawn}
    return said


def incident(known: Mapping[str, Any] | None, body: Mapping[str, Any], payload: Mapping) -> dict:
    """Return the document of an incident after this entry.

    ``decisions`` are what was said of whether it has to be reported, and ``turns`` its closing and
    reopening, both in the order in which they happened: a tablet may hand in late. The last of
    each counts. ``open_points`` says what stands against closing it, also once it is closed.
    """
    mark = _mark(body)
    said = {**payload, **mark}
    document = {
        "incident_id": body["entity_id"],
        "decisions": [],
        "actions": [],
        "turns": [],
        **(known or {}),
    }
    what = body["type"].split(".")[1]
    if what == "recorded":
        kept = {name: document[name] for name in ("decisions", "actions", "turns")}
        if not _later(document.get("at"), mark["at"]):
            document = {**said, **kept, "incident_id": body["entity_id"]}
    elif what == "assessed":
        document["decisions"] = _in_order(document["decisions"], said)
    elif what == "action_set":
        document["actions"] = _replaced(document["actions"], said)
    else:
        turn = {**mark, "turn": what, "text": payload.get("conclusion") or payload.get("reason")}
        document["turns"] = _in_order(document["turns"], turn)
    turns = document["turns"]
    document["status"] = CLOSED if turns and turns[-1]["turn"] == "closed" else OPEN
    document["open_points"] = open_points(document)
    return document


def open_points(document: Mapping[str, Any]) -> list[str]:
    """Return what is still to be done about an incident before it can be closed, as codes."""
    decision = document["decisions"][-1] if document["decisions"] else None
    found = []
    if decision is None or decision["reportable"] == "not_yet_known":
        found.append(NOT_ASSESSED)
    elif decision["reportable"] == "yes" and not decision.get("reported_on"):
        found.append(NOT_REPORTED)
    if any(not one.get("done_on") for one in document["actions"]):
        found.append(ACTION_OPEN)
    return found


def _mark(body: Mapping) -> dict:
    return {"event_id": body["event_id"], "at": body["occurred_at"], "by": body["actor_id"]}


def _later(one: str | None, other: str) -> bool:
    return one is not None and parse_rfc3339(one) > parse_rfc3339(other)


def _in_order(known: list, one: Mapping) -> list[dict]:
    others = [each for each in known if each["event_id"] != one["event_id"]]
    return sorted([*others, dict(one)], key=lambda each: parse_rfc3339(each["at"]))


def _replaced(actions: list, one: Mapping) -> list[dict]:
    """Put an action in place of what was said of it before, unless that was said later."""
    before = next((each for each in actions if each["action_id"] == one["action_id"]), None)
    if before is None:
        return [*actions, dict(one)]
    if _later(before["at"], one["at"]):
        return list(actions)
    return [dict(one) if each is before else each for each in actions]
