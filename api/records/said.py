"""What the history keeps of an entry's content: enough to tell it in a sentence. Pure.

The mirror on the tablet is ``pwa/src/session/said.ts``; both are held to the fold's vectors.
"""

from collections.abc import Iterator, Mapping
from typing import Any

# Of every type the fields that a sentence about it needs; of all others, none.
_KEPT: Mapping[str, tuple[str, ...]] = {
    "procedure.opened": ("procedure", "site", "handpiece"),
    "timeout.answered": ("title",),
    "list.answered": ("kind", "title"),
    "pass.started": ("pass_id", "number", "settings", "handpiece"),
    "laser.emitted": ("pass_id", "laser_on_time", "source", "pulses"),
    "procedure.noted": ("text",),
    "procedure.paused": ("reason",),
    "procedure.handed_over": ("role", "from_id", "to_id", "note"),
    "operator.accepted": ("operator_id", "reason"),
    "service.overridden": ("causes", "reason"),
    "protection.noted": ("heads",),
    "attachment.added": ("caption",),
    "procedure.ended": ("ended_at",),
    "entry.withdrawn": ("reason",),
    "record.signed": ("signer_id", "role"),
    "record.addended": ("reason",),
    "record.placed_in_chart": ("how", "version", "note"),
    "record.removed_from_chart": ("note",),
    "record.reattributed": ("to", "reason"),
    "record.voided": ("reason",),
}
# Worked out from the rest, and different with every engine.
_DERIVED = frozenset({"dose"})


def said_of(type: str, payload: Mapping[str, Any] | None) -> dict[str, Any] | None:
    """Return the kept fields of a payload; None where the content was erased."""
    if payload is None:
        return None
    return {name: payload.get(name) for name in _KEPT.get(type, ())}


def changes_of(
    was: Mapping[str, Any] | None, now: Mapping[str, Any] | None
) -> list[dict[str, Any]]:
    """Return what ``now`` says otherwise than ``was``: ``{path, was, now}``, by dotted path."""
    if was is None or now is None:
        return []
    before, after = dict(_leaves(was)), dict(_leaves(now))
    changes = (
        {"path": path, "was": before.get(path), "now": after.get(path)}
        for path in sorted(before.keys() | after.keys())
    )
    return [one for one in changes if one["was"] != one["now"]]


def _leaves(payload: Mapping[str, Any]) -> Iterator[tuple[str, Any]]:
    stack = [(name, value) for name, value in payload.items() if name not in _DERIVED]
    while stack:
        path, value = stack.pop()
        if isinstance(value, Mapping):
            stack += [(f"{path}.{name}", inner) for name, inner in value.items()]
        elif isinstance(value, list):
            stack += [(f"{path}.{place}", inner) for place, inner in enumerate(value)]
        else:
            yield path, value
