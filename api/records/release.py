"""Records of one patient given to somebody: to whom and why goes into the access log."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from api.errors import BadInput, Conflict
from api.records import service
from api.storage.engine import Connection


def release(
    connection: Connection,
    *,
    location_id: str,
    actor_id: str,
    now: datetime,
    tablet_id: str | None = None,
    record_ids: Sequence[str],
    to: str,
    reason: str,
) -> list[dict[str, Any]]:
    """Write down that records are released, and return ``{record_id, version}`` of each.

    The papers are then fetched one by one, as they were stored. Raises ``NotFound`` for an unknown
    record, ``BadInput`` several_patients, ``Conflict`` not_signed, record_void, paper_erased; then
    nothing at all is released.
    """
    records = [service.known(connection, location_id, each) for each in dict.fromkeys(record_ids)]
    for record in records:
        if record["status"] == "void":
            raise Conflict("record_void", "A void record is not released.")
        service.must_have_paper(record)
    patients = {tuple(sorted((record["patient"] or {}).items())) for record in records}
    # Two of which nobody knows whose they are need not be of one patient.
    if len(patients) > 1 or (len(records) > 1 and () in patients):
        raise BadInput(
            "several_patients", "These records are not of one patient.", field="record_ids"
        )
    for record in records:
        service.note(
            connection,
            location_id,
            now,
            "release",
            actor_id,
            tablet_id,
            record["record_id"],
            {"to": to, "reason": reason, "version": record["version"]},
        )
    return [{name: record[name] for name in ("record_id", "version")} for record in records]
