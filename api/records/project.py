"""Keep the record document, its row in the index and the work it causes up to date."""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from itertools import chain
from typing import Any

from api.events import catalogue
from api.records import erasure_mark
from api.records.departures import departures as departures_of
from api.records.document import Foreseen, document, foresee
from api.records.operator_flags import operator_flags
from api.records.preset_flags import preset_flags
from api.records.service_flags import KIND as SERVICE_KIND
from api.records.service_flags import service_flags
from api.records.versions import first_of_present_patient
from api.storage import (
    attachment_uses,
    departures,
    documents,
    erased,
    handpiece_uses,
    jobs,
    readers,
    record_index,
)

__all__ = ["EVENT_TYPES", "foresee", "project", "project_all"]

EVENT_TYPES = tuple(
    name for name, each in catalogue.EVENT_TYPES.items() if each.group == catalogue.PROCEDURE
)

_RENDERINGS = ("render_pdf", "render_text")
_LEAVING = ("record.reattributed", "record.voided")


def project(connection: Any, entry: Mapping[str, Any]) -> None:
    """Fold the record of ``entry`` anew from all its entries, and store what it comes to."""
    project_all(connection, [entry])


def project_all(
    connection: Any,
    entries: Sequence[Mapping[str, Any]],
    foreseen: Mapping[str, Foreseen] | None = None,
) -> None:
    """Fold anew each record that entries just put into a location's log are about, and store it.

    ``foreseen`` is what was folded before they were in the log (``document.foresee``).
    """
    foreseen = foreseen or {}
    location_id = entries[0]["location_id"]
    house = documents.Once(connection, location_id)
    position = {one["body"]["entity_id"]: one["position"] for one in entries}
    begun = _begun(house, foreseen)
    entries_of = _all_entries(connection, location_id, entries, begun)
    records = {
        record_id: document(of_record, foreseen.get(record_id))
        for record_id, of_record in entries_of.items()
    }
    house.look_up(one for record in records.values() for one in _needed(record))
    erasures = erasure_mark.among(house, position)
    for record_id in erasures:
        # What is in hand may be what was erased: it came once more, and was not kept.
        entries_of[record_id] = readers.record_entries(connection, location_id, record_id)
        records[record_id] = document(entries_of[record_id])
    for record_id, record in records.items():
        of_record = entries_of[record_id]
        record["flags"] += preset_flags(house, record)
        record["flags"] += operator_flags(house, record)
        record["flags"] += service_flags(house, record, of_record)
        if record_id in erasures:
            erasure_mark.put_on(record, erasures[record_id], of_record)
        attachment_uses.put(connection, location_id, record_id, _photographs(of_record))
    documents.put_all(
        connection,
        location_id,
        "record",
        {record_id: (position[record_id], record) for record_id, record in records.items()},
        feed=documents.RECORDS,
    )
    used = {
        record_id: erasure_mark.uses(record, erasures.get(record_id))
        for record_id, record in records.items()
    }
    _count_uses(house, position, used, begun)
    listed = [each for each in records.values() if each["status"] != erasure_mark.ERASED]
    if listed:
        record_index.put_all(connection, location_id, [_summary(house, each) for each in listed])
    left = {
        record_id: [{**one, "by_name": _name(house, one["by_id"])} for one in departures_of(record)]
        for record_id, record in records.items()
        # Of one that never left a chart nothing stands there, and nothing is to be taken away.
        if any(one["body"]["type"] in _LEAVING for one in entries_of[record_id])
    }
    if left:
        departures.put_all(connection, location_id, left)
    # A version written down before is not written down again.
    jobs.enqueue_all(
        connection,
        location_id,
        [
            (kind, record_id, version)
            for record_id, record in records.items()
            # No paper is made of what is left of an erased record.
            if record_id not in erasures
            for version in range(first_of_present_patient(record), record["version"] + 1)
            for kind in _RENDERINGS
        ],
    )


def _begun(house: documents.Once, foreseen: Mapping[str, Foreseen]) -> set[str]:
    """Return which of the foreseen records nothing was known of before.

    One with an entry that counts has a document, and it is read together with what else is asked.
    """
    if not foreseen:
        return set()
    of_records = (("record", record_id) for record_id in foreseen)
    house.look_up(chain(of_records, *(_needed(one.record) for one in foreseen.values())))
    return {
        record_id
        for record_id in foreseen
        if house.get("record", record_id) is None and house.get(erased.KIND, record_id) is None
    }


def _all_entries(
    connection: Any, location_id: str, in_hand: Sequence[Mapping[str, Any]], begun: Collection[str]
) -> dict[str, list]:
    """Return by record the entries that count, of which those in hand need not be read again."""
    found: dict[str, list] = {one["body"]["entity_id"]: [] for one in in_hand}
    older = [record_id for record_id in found if record_id not in begun]
    if older:
        found |= readers.entries_of_records(
            connection,
            location_id,
            older,
            but_first=in_hand[0]["position"],
            but_last=in_hand[-1]["position"],
        )
    for one in in_hand:
        of_record = found[one["body"]["entity_id"]]
        # One that was put aside and is released now stands at a place of its own.
        if all(known["event_id"] != one["event_id"] for known in of_record):
            of_record.append(dict(one))
    return found


def _needed(record: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Yield which documents will be asked for about a record, by kind and id; some more may be."""
    yield erased.KIND, record["record_id"]
    yield "location", record["location_id"]
    if record["operator_id"]:
        yield "person", record["operator_id"]
    if (record["device"] or {}).get("device_id"):
        yield SERVICE_KIND, record["device"]["device_id"]
    for one in record["passes"]:
        if one["operator_id"]:
            yield "person", one["operator_id"]
        if one["handpiece"]:
            yield "handpiece_use", one["handpiece"]["handpiece_id"]
        if one.get("preset"):
            yield "preset", one["preset"]["preset_id"]


def _photographs(entries: Iterable[Mapping[str, Any]]) -> set[str]:
    """Return the hashes of every photograph that was ever named; nothing once it was erased."""
    return {
        one["payload"]["sha256"]
        for one in entries
        if one["body"]["type"] == "attachment.added" and one["payload"]
    }


def _count_uses(
    house: documents.Once,
    position: Mapping[str, int],
    used: Mapping[str, Mapping[str, str]],
    begun: Collection[str],
) -> None:
    connection, location_id = house.connection, house.location_id
    changes: dict[str, list] = {}
    changed_at: dict[str, int] = {}
    stored = handpiece_uses.put_all(connection, location_id, used, begun)
    for (record_id, handpiece_id), change in stored.items():
        changes.setdefault(handpiece_id, []).append(change)
        changed_at[handpiece_id] = max(position[record_id], changed_at.get(handpiece_id, 0))
    if not changes:
        return
    counts = {
        each: handpiece_uses.later(house.get("handpiece_use", each), of_handpiece)
        for each, of_handpiece in changes.items()
    }
    uncounted = [each for each, known in counts.items() if known is None]
    if uncounted:
        counts |= handpiece_uses.count(connection, location_id, uncounted)
    documents.put_all(
        connection,
        location_id,
        "handpiece_use",
        {
            each: (changed_at[each], {"handpiece_id": each, **count})
            for each, count in counts.items()
        },
    )


def _summary(house: documents.Once, record: Mapping[str, Any]) -> dict[str, Any]:
    patient, procedure = record["patient"] or {}, record["procedure"] or {}
    device, sign_off = record["device"] or {}, record["sign_off"] or {}
    return {
        "record_id": record["record_id"],
        "status": record["status"],
        "version": record["version"],
        "chart_number": patient.get("chart_number"),
        "second_identifier": patient.get("second_identifier"),
        "procedure_text": procedure.get("text"),
        "site": record["site"],
        "operator_id": record["operator_id"],
        "operator_name": _name(house, record["operator_id"]),
        "device_id": device.get("device_id"),
        "device_label": device.get("label"),
        "started_at": record["started_at"],
        "ended_at": record["ended_at"],
        "signed_at": sign_off.get("at"),
        "passes": len(record["passes"]),
        "placed_at": (record["chart"] or {}).get("at"),
        "placed_version": (record["chart"] or {}).get("version"),
        "position": record["received"]["position"],
        "flags": sorted({one["code"] for one in record["flags"]}),
    }


def _name(house: documents.Once, person_id: str | None) -> str | None:
    if person_id is None:
        return None
    return (house.get("person", person_id) or {}).get("display_name")
