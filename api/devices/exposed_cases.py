"""The exposed cases of one laser, wherever in the practice it was used: the one query."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from api.devices import plate, service
from api.devices.exposure import exposed
from api.errors import NotFound
from api.storage import documents
from api.storage.engine import Connection

_RECORD = (
    "status",
    "version",
    "started_at",
    "ended_at",
    "site",
    "operator_id",
)


def find(
    connection: Connection, *, device_id: str, here: str, elsewhere: Iterable[str] = ()
) -> dict[str, Any]:
    """Return ``{device, cases}`` of a laser of the location ``here``.

    ``elsewhere`` are the other locations whose records the caller may read: the same laser is
    found there by its id, or by maker, model and serial number, because it may have been moved and
    registered anew. Raises ``NotFound`` where the laser is not known here.
    """
    device = documents.get(connection, here, "device", device_id)
    if device is None:
        raise NotFound("device_unknown", "There is no such laser.")
    records, verifications = [], []
    causes: dict[str, Sequence[Mapping]] = {}
    names: dict[str, Mapping[str, Any]] = {}
    for location_id in (here, *elsewhere):
        known = _ids_there(connection, location_id, device, device_id)
        for each in known:
            records += _records(connection, location_id, each)
            verifications += service.of_device(connection, location_id, "verification", each)
            stood = documents.get(connection, location_id, service.KIND, each) or {}
            causes[location_id] = [*causes.get(location_id, ()), *stood.get("causes", ())]
        names[location_id] = documents.get(connection, location_id, "location", location_id) or {}
    cases = exposed(records, verifications=verifications, causes=causes)
    return {
        "device": {
            "device_id": device_id,
            **{name: device.get(name) for name in ("label", "maker", "model", "serial")},
        },
        "cases": [_case(connection, one, names) for one in cases],
    }


def _ids_there(
    connection: Connection, location_id: str, device: Mapping[str, Any], device_id: str
) -> list[str]:
    known = documents.list(connection, location_id, "device")
    others = [one for one in known if one["device_id"] != device_id]
    return plate.under_all_ids([*others, {**device, "device_id": device_id}], device_id)


def _records(connection: Connection, location_id: str, device_id: str) -> list[dict[str, Any]]:
    found = documents.holding(connection, location_id, "record", field="device_id", value=device_id)
    return [one for one in found if (one.get("device") or {}).get("device_id") == device_id]


def _case(
    connection: Connection, case: Mapping[str, Any], names: Mapping[str, Mapping[str, Any]]
) -> dict[str, Any]:
    record = case["record"]
    operator = documents.get(connection, case["location_id"], "person", record["operator_id"] or "")
    patient, procedure = record["patient"] or {}, record["procedure"] or {}
    return {
        "record_id": case["record_id"],
        "location_id": case["location_id"],
        "location_name": names[case["location_id"]].get("name"),
        "chart_number": patient.get("chart_number"),
        "second_identifier": patient.get("second_identifier"),
        "procedure_text": procedure.get("text"),
        "operator_name": (operator or {}).get("display_name"),
        **{name: record.get(name) for name in _RECORD},
        **{name: case[name] for name in ("windows", "service", "reasons")},
        "causes": [
            {name: one[name] for name in ("event_id", "kind", "at")} for one in case["causes"]
        ],
    }
