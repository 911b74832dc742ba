"""One record to read: its document, its papers, and whether it may be signed.

Every reading of patients' data is written into the access log, so each function needs a
connection that may write.
"""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from api.errors import Conflict, NotFound
from api.records.departures import for_the_present_patient
from api.records.fold import fold
from api.records.order import content_hash
from api.storage import access, documents, readers, renderings
from api.storage.engine import Connection

_PERSON_FIELDS = ("display_name", "initials", "roles", "credential")


def detail(
    connection: Connection,
    *,
    location_id: str,
    record_id: str,
    actor_id: str,
    now: datetime,
    tablet_id: str | None = None,
    may_see_moves: bool,
) -> dict[str, Any]:
    """Return the record document, with ``people`` and the labels of ``tablets`` by id.

    From whose number a record was moved is another patient's matter: without ``may_see_moves`` it
    is left out, and so is a reason that says it. Raises ``NotFound``.
    """
    record = known(connection, location_id, record_id)
    note(connection, location_id, now, "read", actor_id, tablet_id, record_id)
    if not may_see_moves:
        record = for_the_present_patient(record)
    return {
        **record,
        "people": people_of(connection, record),
        "tablets": _labels(connection, record),
    }


def rendering(
    connection: Connection,
    *,
    location_id: str,
    record_id: str,
    kind: str,
    actor_id: str,
    now: datetime,
    tablet_id: str | None = None,
) -> dict[str, Any]:
    """Return the stored rendering of the record's present version: ``content, sha256, version``.

    ``kind`` is "pdf" or "text". Raises ``NotFound``; ``Conflict`` not_signed for a record without
    signature, paper_erased where its content was erased (what was written after that is shown, and
    no paper is made of a part), not_rendered_yet while the work is still to be done.
    """
    record = known(connection, location_id, record_id)
    must_have_paper(record)
    found = renderings.get(connection, location_id, record_id, record["version"], kind)
    if found is None:
        raise Conflict("not_rendered_yet", "The paper is being made. Try again in a moment.")
    note(connection, location_id, now, f"export_{kind}", actor_id, tablet_id, record_id)
    return found


def must_have_paper(record: Mapping[str, Any]) -> None:
    """Raise ``Conflict`` paper_erased or not_signed for a record of which no paper is ever made."""
    if record.get("erased"):
        raise Conflict("paper_erased", "The content of this record was erased; no paper is kept.")
    if record["version"] == 0:
        raise Conflict("not_signed", "An unsigned record has no paper.")


def check_signature(
    connection: Connection,
    *,
    location_id: str,
    record_id: str,
    actor_id: str | None,
    payload: Mapping[str, Any],
) -> None:
    """Refuse a signature made here and now that would not cover the record as it stands.

    Raises ``Conflict`` not_ended, content_differs (something was added since it was read back) or
    signer_not_author. What a tablet signed without a network is kept and flagged instead.
    """
    entries = readers.record_entries(connection, location_id, record_id)
    if not entries or fold(entries)["status"] != "ended":
        raise Conflict("not_ended", "Only an ended, unsigned record can be signed.")
    if payload.get("signer_id") != actor_id:
        raise Conflict("signer_not_author", "The signer is not the person signed in.")
    if payload.get("content_hash") != content_hash(entries):
        raise Conflict("content_differs", "The record is not the one that was read back.")


def people_of(connection: Connection, record: Mapping[str, Any]) -> dict[str, dict[str, Any]]:
    """Return what is shown of each person that a record names, by person id."""
    people = {}
    for person_id in sorted(_named(record)):
        person = documents.get(connection, record["location_id"], "person", person_id)
        if person is not None:
            people[person_id] = {name: person.get(name) for name in _PERSON_FIELDS}
    return people


def _named(record: Mapping[str, Any]) -> set[str]:
    time_out, sign_off = record["time_out"] or {}, record["sign_off"] or {}
    gone = record.get("erased") or {}
    answered = [*record["lists"], *([time_out] if time_out else [])]
    named = {
        record["operator_id"],
        record["supervising_id"],
        (record["consent"] or {}).get("by"),
        sign_off.get("signer_id"),
        gone.get("asked_by"),
        gone.get("by"),
        *record["assistant_ids"],
        *(one["operator_id"] for one in record["passes"]),
        *(one[name] for one in record["handovers"] for name in ("from_id", "to_id")),
        *(one["operator_id"] for one in record.get("accepted") or ()),
        *(one["wearer"] for one in (record["protection"] or {}).get("eyewear") or ()),
        *(one["led_by"] for one in answered),
        *(answer.get("by") for one in answered for answer in one["answers"]),
        *(line["by"] for line in record["history"]),
    }
    return {person_id for person_id in named if person_id}


def _labels(connection: Connection, record: Mapping[str, Any]) -> dict[str, str | None]:
    labels = {}
    for tablet_id in sorted({line["tablet_id"] for line in record["history"]}):
        tablet = documents.get(connection, record["location_id"], "tablet", tablet_id)
        if tablet is not None:
            labels[tablet_id] = tablet.get("label")
    return labels


def known(connection: Connection, location_id: str, record_id: str) -> dict[str, Any]:
    """Return the stored document of a record. Raises ``NotFound``; notes nothing."""
    record = documents.get(connection, location_id, "record", record_id)
    if record is None:
        raise NotFound("record_unknown", "There is no such record.")
    return record


def note(
    connection: Connection,
    location_id: str,
    now: datetime,
    action: str,
    actor_id: str,
    tablet_id: str | None,
    record_id: str | None,
    detail: Mapping[str, Any] | None = None,
) -> None:
    """Write a reading of records into the access log."""
    access.note(
        connection,
        location_id=location_id,
        at=now,
        action=action,
        actor_id=actor_id,
        tablet_id=tablet_id,
        subject_kind="record",
        subject_id=record_id,
        detail=detail,
    )
