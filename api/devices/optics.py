"""Cleanings of optics and test cuts as documents."""

from collections.abc import Mapping
from datetime import UTC
from typing import Any

from api.clock import parse_rfc3339, rfc3339
from api.storage import documents

# What an entry says becomes a document of this kind.
KINDS = {
    "optic.cleaned": "cleaning",
    "test_cut.referenced": "test_cut_reference",
    "test_cut.recorded": "test_cut",
}
EVENT_TYPES = tuple(KINDS)


def project(connection: Any, entry: Mapping[str, Any]) -> None:
    """Put what an entry says about an optic or a test cut into its document, with when and by whom.

    None of them feeds a dose or passes a verification.
    """
    body = entry["body"]
    kind = KINDS[body["type"]]
    document = {
        **(entry["payload"] or {}),
        f"{kind}_id": body["entity_id"],
        "status": "current",
        "event_id": body["event_id"],
        "done_at": body["occurred_at"],
        "done_utc": rfc3339(parse_rfc3339(body["occurred_at"]).astimezone(UTC)),
        "done_by": body["actor_id"],
    }
    documents.put(
        connection,
        entry["location_id"],
        kind,
        body["entity_id"],
        document,
        position=entry["position"],
    )
