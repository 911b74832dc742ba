"""A record being put together, and what the fold must remember on the way. Pure."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from api.records.order import Entry, flag

Record = dict[str, Any]


@dataclass
class Unfinished:
    """The record so far, its flags, and what only the entries to come need to know."""

    record: Record
    flags: list[dict[str, str]]
    opened: bool = False
    after_end: set[str] = field(default_factory=set)
    # Who assists now; the record names everybody who did.
    assisting: set[str] = field(default_factory=set)
    signed_by: tuple[str, int] | None = None

    def flag(self, code: str, text: str, entry: Entry) -> None:
        """Note that something about ``entry`` is odd."""
        self.flags.append(flag(code, text, entry.event))


def trace(entry: Entry) -> dict[str, Any]:
    """Return when an entry was first made, who wrote what holds, and which event that is."""
    body = entry.event["body"]
    return {
        # A later correction does not move what happened to a later moment.
        "at": entry.first["body"]["occurred_at"],
        "by": body["actor_id"],
        "event_id": body["event_id"],
    }


def belongs_elsewhere(
    handpiece: Mapping[str, Any] | None, device: Mapping[str, Any] | None
) -> bool:
    """Say whether a handpiece is known to be another laser's."""
    of_handpiece = (handpiece or {}).get("device_id")
    of_record = (device or {}).get("device_id")
    return None not in (of_handpiece, of_record) and of_handpiece != of_record
