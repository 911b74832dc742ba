"""What stands against each laser as a document, worked out anew whenever something counts."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from api.devices import plate
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


def concerned(connection: Connection, entry: Mapping[str, Any]) -> list[str]:
    """Return every id of the laser that an entry is about; nothing where it is about none."""
    device_id = _device_of(connection, entry)
    return [] if device_id is None else _ids(connection, entry["location_id"], device_id)


def follow(connection: Connection, entry: Mapping[str, Any], device_ids: Sequence[str]) -> None:
    """Work out anew what stands against a laser, under each of its ids, after an entry."""
    location_id = entry["location_id"]
    if entry["body"]["type"] in SAID:
        _keep(connection, entry)
    elif not _may_matter(connection, entry, _entries(connection, location_id, device_ids)):
        # Years of checks need not be read for one more that was passed.
        return
    for device_id in device_ids:
        _work_out(connection, entry, device_id)


def _keep(connection: Connection, entry: Mapping[str, Any]) -> None:
    """Add what an entry says about a laser's service to its document."""
    body, location_id = entry["body"], entry["location_id"]
    device_id = body["entity_id"]
    known = documents.get(connection, location_id, KIND, device_id) or {"causes": []}
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
    kept = {**known, "device_id": device_id, "entries": entries}
    documents.put(connection, location_id, KIND, device_id, kept, position=entry["position"])


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


def _device_of(connection: Connection, entry: Mapping[str, Any]) -> str | None:
    """Return which laser an entry is about, or None."""
    body, payload = entry["body"], entry["payload"] or {}
    if body["type"] in (*SAID, "device.registered"):
        return body["entity_id"]
    if body["type"] == "handpiece.retired":
        handpiece = documents.get(connection, entry["location_id"], "handpiece", body["entity_id"])
        return (handpiece or {}).get("device_id")
    return payload.get("device_id")


def _ids(connection: Connection, location_id: str, device_id: str) -> list[str]:
    return plate.under_all_ids(documents.list(connection, location_id, "device"), device_id)


def _entries(
    connection: Connection, location_id: str, device_ids: Iterable[str]
) -> list[dict[str, Any]]:
    known = (documents.get(connection, location_id, KIND, one) or {} for one in device_ids)
    return [each for one in known for each in one.get("entries", ())]


def _work_out(connection: Connection, entry: Mapping[str, Any], device_id: str) -> None:
    """Put what stands against a laser, under whichever of its ids it was said, into its document.

    ``entries`` of the document are what was said under this id alone.
    """
    location_id = entry["location_id"]
    ids = _ids(connection, location_id, device_id)

    def of_laser(kind: str) -> list[dict[str, Any]]:
        return [each for one in ids for each in of_device(connection, location_id, kind, one)]

    state = service_state(
        verifications=of_laser("verification"),
        checks=of_laser("device_check"),
        entries=_entries(connection, location_id, ids),
        retired={
            one["handpiece_id"] for one in of_laser("handpiece") if one.get("status") == "retired"
        },
    )
    causes = [*state["causes"], *state["ended"]]
    known = documents.get(connection, location_id, KIND, device_id)
    entries = (known or {}).get("entries", [])
    document = {"device_id": device_id, "entries": entries, "causes": causes}
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
