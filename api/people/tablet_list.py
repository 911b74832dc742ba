"""The tablets of a location as an administrator sees them."""

from typing import Any

from api.storage import accounts, documents, tablet_states
from api.storage.engine import Connection

_OF_ROW = (
    "tablet_id",
    "label",
    "enrolled_at",
    "last_seen_at",
    "revoked_at",
    "forked_at",
    "waiting",
    "replaces",
)


def listed(connection: Connection, *, location_id: str) -> list[dict[str, Any]]:
    """Return every tablet, those in use first, the latest enrolled first among equals.

    ``waiting`` is what the tablet itself said last, None where it never did; ``quarantined`` are
    its entries that were put aside and wait for somebody. ``enrolled_by`` and ``revoked_by`` are
    names, None for the command line.
    """
    aside = tablet_states.put_aside(connection, location_id)
    rows = [
        _one(connection, location_id, row, aside.get(row["tablet_id"], 0))
        for row in accounts.tablets(connection, location_id)
    ]
    rows.sort(key=lambda one: one["enrolled_at"], reverse=True)
    rows.sort(key=lambda one: one["revoked_at"] is not None)
    return rows


def _one(connection: Connection, location_id: str, row: dict, aside: int) -> dict[str, Any]:
    document = documents.get(connection, location_id, "tablet", row["tablet_id"]) or {}

    def name(field: str) -> str | None:
        person_id = document.get(field)
        found = person_id and documents.get(connection, location_id, "person", person_id)
        return found["display_name"] if found else None

    return {
        **{each: row[each] for each in _OF_ROW},
        "unconfirmed": bool(row["unconfirmed"]),
        "quarantined": aside,
        "enrolled_by": name("enrolled_by"),
        "revoked_by": name("revoked_by"),
        "revoked_because": document.get("revoked_because"),
    }
