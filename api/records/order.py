"""In which order the events of one record count, and which of them hold. Pure.

An event is ``{"body": dict, "payload": dict or None (erased), "body_hash": hex}``. Nothing here
looks at the order in which events arrive: the same set of events gives the same answer.
"""

import hashlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

Event = Mapping[str, Any]

OPENED = "procedure.opened"
SIGNED = "record.signed"
ADDENDED = "record.addended"
PLACED = "record.placed_in_chart"
REMOVED = "record.removed_from_chart"
REATTRIBUTED = "record.reattributed"
VOIDED = "record.voided"
WITHDRAWN = "entry.withdrawn"
_ABOUT_THE_SIGNED_RECORD = frozenset({ADDENDED, PLACED, REMOVED, REATTRIBUTED, VOIDED})
# What stands for good, with the flag raised by an attempt to take it back.
_STANDING = {
    ADDENDED: ("addendum_kept", "An addendum cannot be taken back."),
    REATTRIBUTED: ("reattribution_kept", "A move to another chart cannot be taken back."),
    VOIDED: ("void_kept", "That a record is void cannot be taken back."),
}
_HASH_LABEL = b"dosebook-record-1"


@dataclass(frozen=True)
class Entry:
    """One place in the record: ``first`` took it, ``event`` holds it after all corrections."""

    first: Event
    event: Event


@dataclass
class Resolved:
    """What holds: entries in order, ids of events that have an effect, and what was odd."""

    entries: list[Entry]
    effective: set[str]
    flags: list[dict[str, str]] = field(default_factory=list)


def in_order(events: Iterable[Event]) -> list[Event]:
    """Return the distinct events in the order in which they count.

    First the writer that opened the record, by its own sequence number, then all other writers by
    event id. Addenda, placings in the chart, moves to another chart and the voiding speak about the
    record as a whole, so they come after everything else: another writer may sign, and its
    signature must not be overtaken by them.
    """
    distinct: dict[str, Event] = {}
    for event in events:
        known = distinct.setdefault(event["body"]["event_id"], event)
        if event["body_hash"] < known["body_hash"]:
            distinct[event["body"]["event_id"]] = event
    opening = opener(distinct.values())
    home = opening["body"]["tablet_id"] if opening else None

    def key(event: Event) -> tuple[bool, bool, int, str]:
        body = event["body"]
        away = body["tablet_id"] != home
        return (
            _about_the_signed_record(event, distinct),
            away,
            0 if away else body["tablet_seq"],
            body["event_id"],
        )

    return sorted(distinct.values(), key=key)


def opener(events: Iterable[Event]) -> Event | None:
    """Return the event that opened the record; where none has arrived, the one of lowest id."""
    found = list(events)
    openings = [
        event
        for event in found
        if event["body"]["type"] == OPENED and event["body"]["corrects"] is None
    ]
    return min(openings or found, key=lambda event: event["body"]["event_id"], default=None)


def content_hash(events: Iterable[Event], *, before: str | None = None) -> str:
    """Return the hash a signature covers, in hex.

    SHA-256 of ``dosebook-record-1`` and the raw SHA-256 of each body text, in order, of the events
    that come before the one with id ``before``; without ``before``, of all that a signature made
    now would cover (what speaks about the record as a whole never is: each such event is signed
    by its own writer).
    """
    ordered = in_order(events)
    known = {event["body"]["event_id"]: event for event in ordered}
    digest = hashlib.sha256(_HASH_LABEL)
    for event in ordered:
        if event["body"]["event_id"] == before or _about_the_signed_record(event, known):
            break
        digest.update(bytes.fromhex(event["body_hash"]))
    return digest.hexdigest()


def resolve(ordered: Sequence[Event]) -> Resolved:
    """Apply withdrawals and corrections to events given in order.

    A correction takes the place of what it names. Withdrawing the first event of a place empties
    it; withdrawing a correction brings back what it had replaced. Of several corrections of one
    event the one with the highest id holds, and that is flagged. What comes after the signature
    and is not about the signed record has no effect.
    """
    counted, flags = _before_signature(ordered)
    known = {event["body"]["event_id"]: event for event in counted}
    parents, ignored = _parents(counted, known, flags)
    children: dict[str, list[Event]] = {}
    for event in counted:
        parent = parents.get(event["body"]["event_id"])
        if parent is not None:
            children.setdefault(parent, []).append(event)
    roots = [
        event
        for event in counted
        if event["body"]["event_id"] not in parents and event["body"]["event_id"] not in ignored
    ]
    holder, effective = _holders(roots, children, flags)
    entries = []
    for root in roots:
        event = holder.get(root["body"]["event_id"])
        if event is None:
            continue
        if event["payload"] is None:
            flags.append(flag("erased", "The content of an entry was erased.", event))
            continue
        entries.append(Entry(root, event))
        effective.add(event["body"]["event_id"])
    return Resolved(entries, effective, flags)


def flag(code: str, text: str, event: Event) -> dict[str, str]:
    """Return one flag of the record document."""
    return {"code": code, "text": text, "event_id": event["body"]["event_id"]}


def _about_the_signed_record(event: Event, known: Mapping[str, Event]) -> bool:
    body = event["body"]
    if body["type"] == WITHDRAWN:
        target = known.get(body["corrects"])
        return target is not None and target["body"]["type"] in (PLACED, REMOVED)
    return body["type"] in _ABOUT_THE_SIGNED_RECORD


def _before_signature(ordered: Sequence[Event]) -> tuple[list[Event], list[dict[str, str]]]:
    known = {event["body"]["event_id"]: event for event in ordered}
    counted: list[Event] = []
    flags: list[dict[str, str]] = []
    signed = False
    for event in ordered:
        if signed and not _about_the_signed_record(event, known):
            flags.append(
                flag("entry_after_signature", "An entry was made after the signature.", event)
            )
            continue
        counted.append(event)
        signed = signed or event["body"]["type"] == SIGNED
    return counted, flags


def _parents(
    counted: Sequence[Event], known: Mapping[str, Event], flags: list[dict[str, str]]
) -> tuple[dict[str, str], set[str]]:
    """Map each event that acts on another to that other, and name those that act on nothing."""
    parents: dict[str, str] = {}
    ignored: set[str] = set()
    for event in counted:
        body = event["body"]
        withdrawal = body["type"] == WITHDRAWN
        if body["corrects"] is None and not withdrawal:
            continue
        target = known.get(body["corrects"])
        if target is None:
            flags.append(
                flag("corrected_entry_missing", "The entry that this one names is missing.", event)
            )
            if withdrawal:
                ignored.add(body["event_id"])
        elif target["body"]["type"] in _STANDING:
            # What stands for good is not replaced; one that names another is simply a further one.
            if body["type"] != target["body"]["type"]:
                flags.append(flag(*_STANDING[target["body"]["type"]], event))
                ignored.add(body["event_id"])
        elif not withdrawal and target["body"]["type"] != body["type"]:
            flags.append(
                flag("correction_of_another_type", "A correction names another kind.", event)
            )
            ignored.add(body["event_id"])
        else:
            parents[body["event_id"]] = body["corrects"]
    for event in counted:
        if _in_circle(event["body"]["event_id"], parents):
            flags.append(flag("circular_correction", "Corrections name each other.", event))
    return parents, ignored


def _in_circle(event_id: str, parents: Mapping[str, str]) -> bool:
    seen: set[str] = set()
    step = parents.get(event_id)
    while step is not None and step not in seen:
        if step == event_id:
            return True
        seen.add(step)
        step = parents.get(step)
    return False


def _holders(
    roots: Sequence[Event], children: Mapping[str, list[Event]], flags: list[dict[str, str]]
) -> tuple[dict[str, Event | None], set[str]]:
    """For each event, which event holds its place (None: withdrawn), from the leaves up.

    Without recursion, since a long chain of corrections must not exhaust the stack.
    """
    reached = list(roots)
    for event in reached:  # grows while it is walked: breadth first
        reached.extend(children.get(event["body"]["event_id"], ()))
    holder: dict[str, Event | None] = {}
    effective: set[str] = set()
    for event in reversed(reached):
        event_id = event["body"]["event_id"]
        acting = children.get(event_id, ())
        taken_back = any(
            child["body"]["type"] == WITHDRAWN and child["body"]["event_id"] in effective
            for child in acting
        )
        if event["body"]["type"] == WITHDRAWN:
            if not taken_back:
                effective.add(event_id)
            continue
        if taken_back:
            holder[event_id] = None
            continue
        standing = [child for child in acting if holder.get(child["body"]["event_id"]) is not None]
        if len(standing) > 1:
            latest = max(standing, key=lambda child: child["body"]["event_id"])
            flags.append(flag("two_corrections", "One entry was corrected more than once.", latest))
            holder[event_id] = holder[latest["body"]["event_id"]]
        else:
            holder[event_id] = holder[standing[0]["body"]["event_id"]] if standing else event
    return holder, effective
