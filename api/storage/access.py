"""The access log: who read, changed, printed or was refused what, and when. Append-only."""

import json
from collections.abc import Mapping
from datetime import datetime

from sqlalchemy import Connection, insert, select

from api.storage.rows import every, utc_text
from api.storage.tables import access_log


def note(
    connection: Connection,
    *,
    location_id: str | None,
    at: datetime,
    action: str,
    actor_id: str | None = None,
    tablet_id: str | None = None,
    subject_kind: str | None = None,
    subject_id: str | None = None,
    detail: Mapping | None = None,
) -> None:
    """Write one access down: ``action`` such as "read", "change", "export", "sign_in", "refused".

    ``detail`` is kept as JSON and must not carry anything about a patient.
    """
    connection.execute(
        insert(access_log).values(
            location_id=location_id,
            at=utc_text(at),
            action=action,
            actor_id=actor_id,
            tablet_id=tablet_id,
            subject_kind=subject_kind,
            subject_id=subject_id,
            detail=None if detail is None else json.dumps(dict(detail), ensure_ascii=False),
        )
    )


def entries(
    connection: Connection,
    location_id: str,
    *,
    subject_id: str | None = None,
    limit: int = 1000,
) -> list[dict]:
    """Return the latest accesses of a location, newest first."""
    statement = select(access_log).where(access_log.c.location_id == location_id)
    if subject_id is not None:
        statement = statement.where(access_log.c.subject_id == subject_id)
    rows = every(connection.execute(statement.order_by(access_log.c.access_id.desc()).limit(limit)))
    for row in rows:
        row["detail"] = None if row["detail"] is None else json.loads(row["detail"])
    return rows
