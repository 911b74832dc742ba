"""Checks of a laser by its lists, each judged again from its answers and its list's version."""

from collections.abc import Mapping
from datetime import UTC
from typing import Any

from api.clock import parse_rfc3339, rfc3339
from api.safety import check_verdict
from api.safety.in_force import local_day
from api.storage import documents

EVENT_TYPES = ("device.checked",)


def project(connection: Any, entry: Mapping[str, Any]) -> None:
    """Put a check into its document: as it was said, with the verdict that the answers bear out."""
    body, said = entry["body"], entry["payload"] or {}
    location_id = entry["location_id"]
    asked = documents.get(connection, location_id, "list", said.get("list_id", ""))
    judged = check_verdict.judge(said, check_verdict.version_asked(asked, said))
    when = check_verdict.moments(said.get("done_at"), written_at=body["occurred_at"])
    place = documents.get(connection, location_id, "location", location_id) or {}
    done = parse_rfc3339(when.done_at)
    # Nothing takes a failed check back: said again under its id, it is another check.
    doc_id = documents.place_of(
        connection,
        location_id,
        "device_check",
        doc_id=body["entity_id"],
        event_id=body["event_id"],
    )
    documents.put(
        connection,
        location_id,
        "device_check",
        doc_id,
        {
            **said,
            "device_check_id": doc_id,
            "event_id": body["event_id"],
            "status": "current",
            "stated_verdict": said.get("verdict"),
            "verdict": judged.verdict,
            "failed": list(judged.failed),
            "flags": [*judged.flags, *when.flags],
            # What was claimed stays beside what counts: nothing is done after it was written down.
            "claimed_at": said.get("done_at"),
            "done_at": when.done_at,
            "done_utc": rfc3339(done.astimezone(UTC)),
            # Whose check it is: of the day by the calendar of the location.
            "day": local_day(done, place.get("zone", "UTC")),
            "written_at": body["occurred_at"],
            "received_at": entry["received_at"],
            # By which a laser's failures and tests are put in order: ``devices/service_proofs``.
            **{name: body[name] for name in ("tablet_id", "tablet_seq", "clock_offset_ms")},
            "late": when.late,
            "checked_by": body["actor_id"],
        },
        position=entry["position"],
    )
