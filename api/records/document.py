"""The record document that the server keeps: the fold, and what only the server can say. Pure.

Nearly all of it rests on the entries alone and not on their places in the log, so it can be worked
out before they have any, while another tablet's entries are still being written (:func:`foresee`).
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from api.clock import parse_rfc3339
from api.records import server_flags as flags
from api.records.fold import fold
from api.records.order import OPENED

# Later than this between making and receiving, on one clock, and it was made without a network.
OFFLINE_AFTER = timedelta(seconds=60)
Entries = Sequence[Mapping[str, Any]]


@dataclass(frozen=True)
class Foreseen:
    """What a record will be if these entries are all there is of it, whatever their places."""

    of: frozenset[tuple]
    record: Mapping[str, Any]


def document(entries: Iterable[Mapping[str, Any]], foreseen: Foreseen | None = None) -> dict:
    """Return the record document of log entries, with what only the server can say.

    Beyond the fold: ``received``, ``made_offline``, and flags for a dose that is not ours, a
    signature over other entries than are here, a signer who is not the author, and a wrong clock.
    Where the entries are those of ``foreseen``, that is what is returned, with their last place.
    """
    found = list(entries)
    known = foreseen is not None and foreseen.of == _named(found)
    record = foreseen.record if known else _without_place(found)
    last = max(one["position"] for one in found)
    # A copy as deep as callers change it: what was foreseen serves again where a database gave way.
    return {
        **record,
        "received": {**record["received"], "position": last},
        "flags": [*record["flags"]],
    }


def foresee(entries: Entries) -> dict[str, Foreseen]:
    """Return by their id the records that begin with one of these entries, not yet in a log.

    Records that cannot be folded are left out: what is wrong with them is found out later.
    """
    of_records: dict[str, list] = {}
    for one in entries:
        of_records.setdefault(one["body"]["entity_id"], []).append(one)
    foreseen = {}
    for record_id, of_record in of_records.items():
        if any(one["body"]["type"] == OPENED for one in of_record):
            try:
                foreseen[record_id] = Foreseen(_named(of_record), _without_place(of_record))
            except Exception:
                # Whoever folds it again, in its place, says what is wrong with it.
                continue
    return foreseen


def _named(entries: Entries) -> frozenset[tuple]:
    return frozenset(
        (one["event_id"], one["body_hash"], one["received_at"], one["payload"] is None)
        for one in entries
    )


def _without_place(found: Entries) -> dict[str, Any]:
    record = fold(found)
    record["received"] = {
        "first_received_at": min(one["received_at"] for one in found),
        "last_received_at": max(one["received_at"] for one in found),
    }
    arrived = {one["event_id"]: one for one in found}
    for line in record["history"]:
        entry = arrived[line["event_id"]]
        line["received_at"] = entry["received_at"]
        line["clock_offset_ms"] = entry["body"]["clock_offset_ms"]
        line["made_offline"] = _made_offline(entry)
    record["made_offline"] = any(line["made_offline"] for line in record["history"])
    record["flags"] += [
        *flags.of_dose(record),
        *flags.of_checks(record, arrived),
        *flags.of_signature(record, list(found)),
        *flags.of_clocks(list(found)),
    ]
    return record


def _made_offline(entry: Mapping[str, Any]) -> bool:
    body = entry["body"]
    # In seconds: the offset of a clock that is wrong beyond reason fits no date.
    made_s = parse_rfc3339(body["occurred_at"]).timestamp() + (body["clock_offset_ms"] or 0) / 1000
    received_s = parse_rfc3339(entry["received_at"]).timestamp()
    return received_s - made_s > OFFLINE_AFTER.total_seconds()
