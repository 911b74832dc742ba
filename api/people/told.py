"""What was said of a person over time, as lines that a sentence can be made of. Pure."""

from collections.abc import Iterable, Mapping
from typing import Any

# What a change may touch besides the roles, with its own place in the sentence.
_FIELDS = ("display_name", "initials", "auditor_until", "credential", "licence_expires")

_QUALIFICATIONS = {
    "credential.noted": "credential",
    "credential.withdrawn": "credential_withdrawn",
    "scope.decided": "scope",
}


def told(entries: Iterable[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Return a line for each entry about one person, in the order of the log.

    A line has ``event_id, type, what, at, by`` and, by ``what``: for "registered" and "returned"
    the ``roles``; for "changed" ``roles_given, roles_taken`` and ``changes`` ({field, was, now});
    for "left" the ``reason``; for "credential", "credential_withdrawn" and "scope" what was
    ``said``; for "erased" nothing.
    """
    lines = []
    known: dict[str, Any] | None = None
    here = False
    for entry in entries:
        payload = entry["payload"]
        line = _line(entry)
        if payload is None:
            lines.append({**line, "what": "erased"})
            continue
        if entry["body"]["type"] in _QUALIFICATIONS:
            lines.append({**line, "what": _QUALIFICATIONS[entry["body"]["type"]], "said": payload})
            continue
        if entry["body"]["type"] == "person.left":
            lines.append({**line, "what": "left", "reason": payload.get("reason")})
            here = False
            continue
        lines.append({**line, **_registered(known, payload, here=here)})
        known, here = payload, True
    return lines


def _registered(
    known: Mapping[str, Any] | None, payload: Mapping[str, Any], *, here: bool
) -> dict[str, Any]:
    roles = list(payload.get("roles") or ())
    if known is None or not here:
        what = "registered" if known is None else "returned"
        until = payload.get("auditor_until")
        return {"what": what, "roles": roles, "auditor_until": until}
    before = list(known.get("roles") or ())
    return {
        "what": "changed",
        "roles_given": [one for one in roles if one not in before],
        "roles_taken": [one for one in before if one not in roles],
        "changes": [
            {"field": name, "was": known.get(name), "now": payload.get(name)}
            for name in _FIELDS
            if (known.get(name) or None) != (payload.get(name) or None)
        ],
    }


def _line(entry: Mapping[str, Any]) -> dict[str, Any]:
    body = entry["body"]
    return {
        "event_id": body["event_id"],
        "type": body["type"],
        "at": body["occurred_at"],
        "by": body["actor_id"],
    }
