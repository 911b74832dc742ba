"""What was put aside, for whoever looks into it: what it is, why it is there, what may be done."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from api.events import catalogue, parse
from api.people import rights
from api.records.said import said_of
from api.storage import accounts, aside, documents, readers
from api.storage.engine import Connection
from api.sync import aside as settling
from api.sync import judge

_AT_ONCE = 100
# What a thing of the house is called by; none of these is about a patient.
_NAMES = ("label", "title", "name", "text")


@dataclass(kw_only=True)
class Looking:
    """Who looks, and with which eyes."""

    connection: Connection
    location_id: str
    roles: tuple[str, ...]
    # Whether they may see what is about patients.
    sees_patients: bool
    authorise: judge.Authorise
    _patients: dict[str, dict[str, Any] | None] = field(default_factory=dict)
    _labels: dict[str, str | None] = field(default_factory=dict)


def listed(
    looking: Looking, *, before: int | None, tablet_id: str | None, waiting: bool, limit: int
) -> tuple[list[dict[str, Any]], int | None]:
    """Return entries, the latest first, and where the next page goes on, None where nothing does.

    With ``waiting`` only those that nobody has decided about, else only the others.
    """
    decided = aside.settled_keys(looking.connection, looking.location_id)
    found: list[dict[str, Any]] = []
    while True:
        rows = aside.page(looking.connection, looking.location_id, before=before, limit=_AT_ONCE)
        for row in rows:
            if (aside.key_of(row) in decided) is waiting:
                continue
            if tablet_id is not None and row["tablet_id"] != tablet_id:
                continue
            if len(found) == limit:
                return found, found[-1]["position"]
            found.append(_one(looking, row))
        if len(rows) < _AT_ONCE:
            return found, None
        before = rows[-1]["position"]


def _one(looking: Looking, row: Mapping[str, Any]) -> dict[str, Any]:
    parsed = settling.read(row)
    body = parsed.body or {}
    event_type = catalogue.EVENT_TYPES.get(row["type"] or "")
    readable = not parse.body_problems(body) if body else False
    about_record = event_type is not None and event_type.group == catalogue.PROCEDURE
    shown = about_record and readable and looking.sees_patients
    connection, location_id = looking.connection, looking.location_id
    return {
        "position": row["position"],
        "event_id": row["event_id"],
        "corrects": row["corrects"],
        "received_at": row["received_at"],
        "reason": row["reason"],
        "tablet_id": row["tablet_id"],
        "tablet_label": _label(looking, row["tablet_id"]),
        "type": row["type"],
        "subject": event_type.subject if event_type else None,
        "entity_id": row["entity_id"],
        "actor_id": row["actor_id"],
        "occurred_at": body["occurred_at"] if readable else None,
        "name": None if about_record else _name(parsed.payload),
        "patient": _patient(looking, body["entity_id"]) if shown else None,
        "said": said_of(row["type"], parsed.payload) if shown and parsed.payload else None,
        "photograph": _photograph(row["type"], parsed.payload) if shown else None,
        "obstacle": settling.obstacle(connection, row, parsed, authorise=looking.authorise),
        "may_settle": rights.allowed(looking.roles, settling.right_for(parsed)),
        "decided": aside.decided(connection, location_id, aside.key_of(row)),
    }


def _photograph(type: str | None, payload: Mapping[str, Any] | None) -> str | None:
    """Return the hash of the photograph that an entry names."""
    named = (payload or {}).get("sha256") if type == "attachment.added" else None
    return named if isinstance(named, str) else None


def _name(payload: Mapping[str, Any] | None) -> str | None:
    texts = ((payload or {}).get(name) for name in _NAMES)
    return next((text for text in texts if isinstance(text, str)), None)


def _label(looking: Looking, tablet_id: str) -> str | None:
    if tablet_id not in looking._labels:
        row = accounts.tablet_by_id(looking.connection, tablet_id) or {}
        looking._labels[tablet_id] = row.get("label")
    return looking._labels[tablet_id]


def _patient(looking: Looking, record_id: str) -> dict[str, Any] | None:
    """Return under which chart number a record stands, or would stand."""
    if record_id not in looking._patients:
        where = (looking.connection, looking.location_id)
        record = documents.get(*where, "record", record_id) or {}
        patient = record.get("patient") or _opened_for(looking, record_id) or {}
        known = {name: patient.get(name) for name in ("chart_number", "second_identifier")}
        looking._patients[record_id] = known if known["chart_number"] else None
    return looking._patients[record_id]


def _opened_for(looking: Looking, record_id: str) -> Mapping[str, Any] | None:
    for entry in readers.openings(looking.connection, looking.location_id, record_id):
        patient = (entry["payload"] or {}).get("patient")
        if isinstance(patient, Mapping):
            return patient
    return None
