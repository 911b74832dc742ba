"""Erasing the content of a record: asked for by one person, decided by another.

Who asks says on which basis, and where the practice's rules still keep the record, why it may go
all the same. What is looked at then is looked at once more when the other decides. Nothing here
knows a law: the rules are the practice's own (``records/retention.py``).
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import UTC, date
from itertools import zip_longest
from typing import Any
from zoneinfo import ZoneInfo

from api.clock import rfc3339
from api.errors import BadInput, Conflict, NotAllowed, NotFound
from api.records import erasure, erasure_mark, retention
from api.storage import documents, erased, readers, renderings
from api.storage.engine import Connection
from api.sync.aside import hold
from api.sync.house_tablets import Doing, append

# Of one event, which may have 64 KiB: ids of up to 64 characters, hashes of 64.
_IDS, _HASHES = 400, 80


def look_at(connection: Connection, location_id: str, record_id: str, today: date) -> dict:
    """Return what there is to lose of a record, and what stands for and against it.

    {record_id, status, entries, aside, photographs, papers, position, last_day, keep_until, rule,
    over, held, erasure}. Raises ``NotFound`` "record_unknown".
    """
    stored = erased.entries_of(connection, location_id, record_id)
    if not stored:
        raise NotFound("record_unknown", "There is no such record.")
    there = [row for row in stored if row["payload"] is not None]
    day = retention.last_day([readers.as_entry(row) for row in stored])
    rules = (documents.get(connection, location_id, erasure.RULES, location_id) or {}).get("rules")
    kept = retention.keep_until(day, rules or ())
    until = None if kept is None else kept[0]
    hold_of = documents.get(connection, location_id, erasure.HOLD, record_id)
    record = documents.get(connection, location_id, "record", record_id)
    return {
        "record_id": record_id,
        "status": None if record is None else record["status"],
        "entries": len(there),
        "aside": sum(row["verdict"] == readers.QUARANTINED for row in there),
        "photographs": len(erased.photographs_of(connection, location_id, record_id)),
        "papers": len(renderings.hashes_of(connection, location_id, record_id)),
        "position": stored[-1]["position"],
        "last_day": day.isoformat(),
        "keep_until": None if until is None else until.isoformat(),
        "rule": None if kept is None else dict(kept[1]),
        "over": retention.is_over(until, today),
        "held": bool(hold_of and hold_of["held"]),
        "erasure": documents.get(connection, location_id, erased.KIND, record_id),
    }


def today_at(doing: Doing) -> date:
    """Return the day it is where the practice is."""
    place = documents.get(doing.connection, doing.location_id, "location", doing.location_id)
    return doing.clock.now().astimezone(ZoneInfo(place["zone"])).date()


def ask(
    doing: Doing,
    *,
    record_id: str,
    basis: str,
    citation: str,
    reason: str,
    override: str | None,
) -> dict:
    """Ask that the content of a record go; return {event_id, position}.

    Raises ``NotFound``; ``Conflict`` "erasure_waits" (it was asked for), "nothing_to_erase",
    "record_held", "retention_not_over" {keep_until} where the end of the time is the basis and it
    has not ended; ``BadInput`` at ``override`` where the rules still keep the record, or there are
    none, and nobody says why it may go.
    """
    hold(doing)
    seen = look_at(doing.connection, doing.location_id, record_id, today_at(doing))
    if seen["erasure"] is not None and seen["erasure"]["status"] == erasure.ASKED:
        raise Conflict("erasure_waits", "Somebody has asked for this already.")
    _refuse(seen, basis=basis, override=override)
    return append(
        doing,
        "erasure.asked",
        record_id,
        {
            "basis": basis,
            "citation": citation,
            "reason": reason,
            # Where nothing had to be overridden, nothing was.
            "override": None if seen["over"] else override,
            "keep_until": seen["keep_until"],
            "position": seen["position"],
        },
    )


def decline(doing: Doing, *, record_id: str, reason: str) -> dict:
    """Say that it is not to be; whoever asked may take it back so. Raises as :func:`confirm`."""
    hold(doing)
    _asked(doing, record_id)
    return append(doing, "erasure.declined", record_id, {"reason": reason})


def confirm(doing: Doing, *, record_id: str) -> dict:
    """Let the content of a record go; return {event_id, position} of the last event about it.

    Raises ``Conflict`` "erasure_not_asked", "record_changed" (entries came since it was asked
    for), and as :func:`ask`; ``NotAllowed`` "second_person_needed" for whoever asked.
    """
    hold(doing)
    asked = _asked(doing, record_id)
    if asked["by"] == doing.actor_id:
        raise NotAllowed("second_person_needed", "Another person has to decide about this.")
    seen = look_at(doing.connection, doing.location_id, record_id, today_at(doing))
    if seen["position"] != asked["position"]:
        raise Conflict(
            "record_changed",
            "Entries came since this was asked for. Decline it, look at the record, and ask again.",
        )
    _refuse(seen, basis=asked["basis"], override="said" if asked["overrides"] else None)
    last: dict = {}
    for part in _parts(doing, record_id):
        last = append(
            doing,
            erased.ERASED,
            record_id,
            {
                "asked_by": asked["by"],
                "asked_at": asked["at"],
                "confirmed_by": doing.actor_id,
                "confirmed_at": rfc3339(doing.clock.now().astimezone(UTC)),
                "basis": asked["basis"],
                "citation": asked["citation"],
                **part,
            },
        )
    return last


def _asked(doing: Doing, record_id: str) -> Mapping[str, Any]:
    known = documents.get(doing.connection, doing.location_id, erased.KIND, record_id)
    if known is None or known["status"] != erasure.ASKED:
        raise Conflict("erasure_not_asked", "Nobody has asked for this, or it was decided.")
    return known["asked"]


def _refuse(seen: Mapping[str, Any], *, basis: str, override: str | None) -> None:
    if seen["entries"] == 0:
        raise Conflict("nothing_to_erase", "Nothing is left of this record.")
    if seen["held"]:
        raise Conflict("record_held", "This record is held: it may not be erased.")
    if seen["over"]:
        return
    if basis == retention.RETENTION_ENDED:
        raise Conflict(
            "retention_not_over",
            "By the practice's rules this record is still to be kept, or no rule was set.",
            keep_until=seen["keep_until"],
        )
    if not (override or "").strip():
        raise BadInput(
            "override_missing",
            "The practice's rules still keep this record, or there are none. Say why it may go.",
            field="override",
        )


def _parts(doing: Doing, record_id: str) -> Iterator[dict[str, list]]:
    """Yield what goes, in parts that fit into an event each."""
    connection, location_id = doing.connection, doing.location_id
    record = documents.get(connection, location_id, "record", record_id)
    # What was erased before is named once more: as it would be after a restore.
    ids = [row["event_id"] for row in erased.entries_of(connection, location_id, record_id)]
    used = {} if record is None else erasure_mark.used(record)
    columns = {
        "event_ids": _chunks(ids, _IDS),
        "photographs": _chunks(erased.photographs_of(connection, location_id, record_id), _HASHES),
        "papers": _chunks(renderings.hashes_of(connection, location_id, record_id), _HASHES),
        "handpieces": _chunks(
            [{"handpiece_id": name, "used_at": used[name]} for name in sorted(used)], _HASHES
        ),
    }
    for part in zip_longest(*columns.values(), fillvalue=()):
        yield {name: list(some) for name, some in zip(columns, part, strict=True)}


def _chunks(values: Sequence, size: int) -> Iterable[Sequence]:
    return [values[start : start + size] for start in range(0, len(values), size)]
