"""What stands against each laser as a document, worked out anew whenever something counts."""

from collections.abc import Iterable, Mapping
from typing import Any

from api.devices.service_causes import FAILED
from api.devices.service_proofs import made
from api.devices.service_state import service_state
from api.devices.verification import FAIL
from api.storage import documents
from api.storage.engine import Connection

KIND = "device_service"
SAID = ("device.taken_out", "device.key_held", "device.release_asked", "device.released")
# Tests of a laser, and what their documents are.
TESTS = {"verification.recorded": "verification", "device.checked": "device_check"}
EVENT_TYPES = SAID


def project(connection: Connection, entry: Mapping[str, Any]) -> None:
    """Add what an entry says about a laser's service, and work out its state."""
    body = entry["body"]
    device_id = body["entity_id"]
    known = documents.get(connection, entry["location_id"], KIND, device_id) or {}
    said = {
        "event_id": body["event_id"],
        "type": body["type"],
        "at": body["occurred_at"],
        "by": body["actor_id"],
        "said": entry["payload"] or {},
        **made({**body, "received_at": entry["received_at"]}),
    }
    others = [one for one in known.get("entries", ()) if one["event_id"] != said["event_id"]]
    entries = sorted([*others, said], key=lambda one: one["event_id"])
    _work_out(connection, entry, device_id, entries)


def tested(connection: Connection, entry: Mapping[str, Any], device_id: str) -> None:
    """Work out a laser's state after one of its tests came in, or a handpiece was retired."""
    known = documents.get(connection, entry["location_id"], KIND, device_id) or {}
    entries = known.get("entries", [])
    if not _may_matter(connection, entry, entries):
        # Years of checks need not be read for one more that was passed.
        return
    _work_out(connection, entry, device_id, entries)


def _may_matter(
    connection: Connection, entry: Mapping[str, Any], entries: Iterable[Mapping[str, Any]]
) -> bool:
    """Say whether a test can change what stands: it failed, or somebody asks for a release on it.

    So may whatever is no test.
    """
    body = entry["body"]
    event_id, kind = body["event_id"], TESTS.get(body["type"])
    for doc_id in (body["entity_id"], event_id) if kind else ():
        test = documents.get(connection, entry["location_id"], kind, doc_id)
        if test is not None and test["event_id"] == event_id:
            return test["verdict"] in (FAIL, FAILED) or any(
                event_id in one["said"].get("tests", ()) for one in entries
            )
    return True


def device_of(connection: Connection, entry: Mapping[str, Any]) -> str | None:
    """Return which laser an entry is about, or None."""
    body, payload = entry["body"], entry["payload"] or {}
    if body["type"] in SAID:
        return body["entity_id"]
    if body["type"] == "handpiece.retired":
        handpiece = documents.get(connection, entry["location_id"], "handpiece", body["entity_id"])
        return (handpiece or {}).get("device_id")
    return payload.get("device_id")


def _work_out(
    connection: Connection, entry: Mapping[str, Any], device_id: str, entries: list[dict]
) -> None:
    location_id = entry["location_id"]
    state = service_state(
        verifications=of_device(connection, location_id, "verification", device_id),
        checks=of_device(connection, location_id, "device_check", device_id),
        entries=entries,
        retired={
            one["handpiece_id"]
            for one in of_device(connection, location_id, "handpiece", device_id)
            if one.get("status") == "retired"
        },
    )
    causes = [*state["causes"], *state["ended"]]
    document = {"device_id": device_id, "entries": entries, "causes": causes}
    known = documents.get(connection, location_id, KIND, device_id)
    if document != known and (entries or causes or known):
        documents.put(
            connection, location_id, KIND, device_id, document, position=entry["position"]
        )


def of_device(
    connection: Connection, location_id: str, kind: str, device_id: str
) -> list[dict[str, Any]]:
    """Return the documents of a kind that are of one laser."""
    found = documents.holding(connection, location_id, kind, field="device_id", value=device_id)
    return [one for one in found if one.get("device_id") == device_id]
