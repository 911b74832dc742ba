"""What was erased of records: taken away when the log says so, and told ever after.

The projector of ``retention.erased`` is the one place where content goes, so that whoever projects
the same log (a restore, a group, a rebuild) lets go of the same. Done again it does no harm.
"""

from collections.abc import Callable, Mapping
from typing import Any

from api.records import erasure_beside
from api.records import project as records
from api.records.erasure_beside import payload_hash_of
from api.records.erasure_mark import ERASED
from api.storage import documents, erased, jobs, readers

EVENT_TYPES = (
    "retention.ruled",
    "retention.held",
    "retention.hold_ended",
    "erasure.asked",
    "erasure.declined",
    erased.ERASED,
)
RULES, HOLD = "retention", "retention_hold"
ASKED, DECLINED = "asked", "declined"
# Rewrites the database's files, so that what was deleted is no longer among their bytes.
PURGE = "purge"


def project(connection: Any, entry: Mapping[str, Any]) -> None:
    """Keep rules, holds and erasures as documents; let go of what is erased."""
    _PROJECT[entry["body"]["type"]](connection, entry, entry["payload"] or {})


def _put(connection: Any, entry: Mapping[str, Any], kind: str, document: dict) -> None:
    documents.put(
        connection,
        entry["location_id"],
        kind,
        entry["body"]["entity_id"],
        {**document, "event_id": entry["event_id"]},
        position=entry["position"],
    )


def _ruled(connection: Any, entry: Mapping[str, Any], said: Mapping[str, Any]) -> None:
    body = entry["body"]
    rules = {"rules": said.get("rules") or [], "at": body["occurred_at"], "by": body["actor_id"]}
    _put(connection, entry, RULES, rules)


# Why something is held, asked for or declined stands in the log only: what tablets pull lies on
# them in the clear.
def _held(connection: Any, entry: Mapping[str, Any], _said: Mapping[str, Any]) -> None:
    body = entry["body"]
    held = body["type"] == "retention.held"
    _put(
        connection,
        entry,
        HOLD,
        {
            "record_id": body["entity_id"],
            "held": held,
            "at": body["occurred_at"],
            "by": body["actor_id"],
        },
    )


def _asked(connection: Any, entry: Mapping[str, Any], said: Mapping[str, Any]) -> None:
    body = entry["body"]
    known = documents.get(connection, entry["location_id"], erased.KIND, body["entity_id"]) or {}
    asked = {name: said.get(name) for name in ("basis", "citation", "keep_until", "position")}
    _put(
        connection,
        entry,
        erased.KIND,
        {
            **_nothing(body["entity_id"]),
            **known,
            "status": ASKED,
            "asked": {
                **asked,
                "by": body["actor_id"],
                "at": body["occurred_at"],
                "overrides": bool(said.get("override")),
                "event_id": entry["event_id"],
            },
        },
    )


def _declined(connection: Any, entry: Mapping[str, Any], _said: Mapping[str, Any]) -> None:
    body = entry["body"]
    known = documents.get(connection, entry["location_id"], erased.KIND, body["entity_id"])
    if known is None:
        return
    # What went before it was asked for once more stays gone.
    status = ERASED if known["event_ids"] else DECLINED
    declined = {"by": body["actor_id"], "at": body["occurred_at"], "event_id": entry["event_id"]}
    _put(connection, entry, erased.KIND, {**known, "status": status, "declined": declined})


def _erased(connection: Any, entry: Mapping[str, Any], said: Mapping[str, Any]) -> None:
    if not said:
        return
    location_id, record_id = entry["location_id"], entry["body"]["entity_id"]
    known = documents.get(connection, location_id, erased.KIND, record_id)
    document = {**_nothing(record_id), **(known or {}), "status": ERASED}
    for name in ("event_ids", "photographs"):
        document[name] = list(dict.fromkeys([*document[name], *said[name]]))
    uses = {one["handpiece_id"]: one for one in [*document["handpieces"], *said["handpieces"]]}
    document["handpieces"] = [uses[name] for name in sorted(uses)]
    document["erased"] = {
        "basis": said["basis"],
        "citation": said["citation"],
        "asked_by": said.get("asked_by"),
        "by": said.get("confirmed_by"),
        "at": said["confirmed_at"],
        "position": entry["position"],
    }
    _put(connection, entry, erased.KIND, document)
    with erasure_beside.known_from_log(connection, location_id):
        _take_away(connection, entry, said)
        erasure_beside.let_go(connection, entry, said)
        _tell_anew(connection, entry, location_id, record_id)
        # A photograph goes once it is known that nothing which is left of the record names it.
        erased.take_away(connection, location_id, entry["position"])


def _nothing(record_id: str) -> dict[str, Any]:
    empty: dict[str, Any] = {"event_ids": [], "photographs": [], "handpieces": []}
    return {"record_id": record_id, "asked": None, "declined": None, "erased": None, **empty}


def _take_away(connection: Any, entry: Mapping[str, Any], said: Mapping[str, Any]) -> None:
    location_id, record_id = entry["location_id"], entry["body"]["entity_id"]
    stored = erased.entries_named(connection, location_id, said["event_ids"])
    rows = [{"kind": erased.RECORD, "what": record_id, "sha256": None, "position": None}]
    for event_id in said["event_ids"]:
        one = stored.get(event_id)
        # An entry about something else is none of the record's, whatever is said.
        if one is not None and one["entity_id"] != record_id:
            continue
        rows.append(
            {
                "kind": erased.PAYLOAD,
                "what": event_id,
                "sha256": payload_hash_of(one["body"]) if one else None,
                "position": one["position"] if one else None,
            }
        )
    for paper in said["papers"]:
        rows.append(
            {
                "kind": erased.RENDERING,
                "what": f"{record_id}/{paper['version']}/{paper['kind']}",
                "sha256": paper["sha256"],
                "position": None,
            }
        )
    for sha256 in said["photographs"]:
        # Another record may name the same picture by now.
        if erased.used_elsewhere(connection, location_id, record_id, sha256):
            continue
        rows.append({"kind": erased.ATTACHMENT, "what": sha256, "sha256": sha256, "position": None})
    at, place = entry["received_at"], entry["position"]
    erased.note(connection, location_id, record_id, rows, by_position=place, at=at)
    erased.take_away(connection, location_id, place)
    erased.forget(connection, location_id, record_id)
    jobs.enqueue(connection, PURGE, record_id, place, location_id=location_id)


def _tell_anew(connection: Any, entry: Mapping[str, Any], location_id: str, record_id: str) -> None:
    entries = readers.record_entries(connection, location_id, record_id)
    if entries:
        # Changed at the place of the erasure, or no tablet would hear of it.
        records.project(connection, {**entries[-1], "position": entry["position"]})
    else:
        documents.drop(connection, location_id, "record", record_id)


_PROJECT: Mapping[str, Callable[[Any, Mapping[str, Any], Mapping[str, Any]], None]] = {
    "retention.ruled": _ruled,
    "retention.held": _held,
    "retention.hold_ended": _held,
    "erasure.asked": _asked,
    "erasure.declined": _declined,
    erased.ERASED: _erased,
}
