"""What was said of a person as an operator, put into their document with when it held."""

from collections.abc import Mapping
from typing import Any

EVENT_TYPES = frozenset({"credential.noted", "credential.withdrawn", "scope.decided"})
# What a new registration does not touch.
KEPT = ("credentials", "scopes")


def with_entry(person: Mapping[str, Any], entry: Mapping[str, Any]) -> dict[str, Any]:
    """Return the person's document after an entry about credentials or scope. Pure.

    Nothing is dropped: what was replaced or taken back keeps when it ended, so that it can be
    told what held at any moment.
    """
    body, payload = entry["body"], entry["payload"] or {}
    at, by, event_id = body["occurred_at"], body["actor_id"], body["event_id"]
    credentials = list(person.get("credentials") or ())
    scopes = list(person.get("scopes") or ())
    if body["type"] == "scope.decided":
        scopes.append({**payload, "decided_at": at, "by": by, "event_id": event_id})
    else:
        credentials = [
            {**one, "ended_at": at}
            if one["credential_id"] == payload.get("credential_id") and one["ended_at"] is None
            else one
            for one in credentials
        ]
        if body["type"] == "credential.noted" and payload:
            noted = {"noted_at": at, "by": by, "event_id": event_id, "ended_at": None}
            credentials.append({**payload, **noted})
    return {**person, "credentials": credentials, "scopes": scopes}
