"""What was put aside, and what was decided about it later."""

import re
from typing import Any

from sqlalchemy import Connection, func, select

from api.storage import documents
from api.storage.readers import APPLIED, QUARANTINED, RELEASED, as_entry, stored_at
from api.storage.tables import document, event

KIND = "aside"
REJECTED = "aside.rejected"
_BY_PLACE = "position:"
_IDENT = re.compile(r"[A-Za-z0-9._:-]{1,64}")


def key_of(row: dict) -> str:
    """Return under which name the log speaks of an entry that was put aside.

    Its own id; where that is no identifier, since nothing that came is refused, its place.
    """
    event_id = row["event_id"]
    own = _IDENT.fullmatch(event_id) and not event_id.startswith(_BY_PLACE)
    return event_id if own else f"{_BY_PLACE}{row['position']}"


def page(connection: Connection, location_id: str, *, before: int | None, limit: int) -> list[dict]:
    """Return rows that were put aside, exactly as they are stored, the latest first."""
    where = [event.c.verdict == QUARANTINED]
    if before is not None:
        where.append(event.c.position < before)
    return stored_at(connection, location_id, *where, latest_first=True, limit=limit)


def at(connection: Connection, location_id: str, position: int) -> dict | None:
    """Return the row at a position as it is stored, or None where nothing was put aside there."""
    where = (event.c.position == position, event.c.verdict == QUARANTINED)
    found = stored_at(connection, location_id, *where, limit=1)
    return found[0] if found else None


def decided(connection: Connection, location_id: str, key: str) -> dict | None:
    """Return what was decided last: {status, at, by, reason, event_id, position}; None: nothing.

    The reason stands in the log only: what tablets pull lies on them in the clear.
    """
    found = stored_at(
        connection,
        location_id,
        event.c.entity_id == key,
        event.c.type.in_((RELEASED, REJECTED)),
        event.c.verdict == APPLIED,
        latest_first=True,
        limit=1,
    )
    if not found:
        return None
    entry = as_entry(found[0])
    body = entry["body"]
    return {
        "status": "released" if body["type"] == RELEASED else "rejected",
        "at": body["occurred_at"],
        "by": body["actor_id"],
        "reason": (entry["payload"] or {}).get("reason"),
        "event_id": entry["event_id"],
        "position": entry["position"],
    }


def count_waiting(connection: Connection, location_id: str) -> int:
    """Return how many entries were put aside and nobody has decided about yet."""

    def counted(table: Any, *where: Any) -> int:
        statement = select(func.count()).select_from(table)
        return connection.execute(statement.where(*where)).scalar_one()

    put_aside = counted(event, event.c.location_id == location_id, event.c.verdict == QUARANTINED)
    settled = counted(document, document.c.location_id == location_id, document.c.kind == KIND)
    return put_aside - settled


def settled_keys(connection: Connection, location_id: str) -> set[str]:
    """Return the keys of everything that was decided about."""
    return {one["aside_id"] for one in documents.list(connection, location_id, KIND)}
