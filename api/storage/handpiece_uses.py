"""Which records used which handpiece or tip: kept for each record, and only ever counted.

A record that is projected again replaces its own rows, so nothing is counted twice.
"""

from collections.abc import Mapping

from sqlalchemy import Connection, delete, func, insert, select

from api.clock import parse_rfc3339
from api.storage.rows import utc_text
from api.storage.tables import handpiece_use

_column = handpiece_use.c


def put(
    connection: Connection, location_id: str, record_id: str, used: Mapping[str, str]
) -> list[str]:
    """Store when a record last used each handpiece, in place of what it said before.

    Returns the ids of the handpieces for which that changes anything.
    """
    mine = (_column.location_id == location_id) & (_column.record_id == record_id)
    rows = connection.execute(select(_column.handpiece_id, _column.used_at).where(mine))
    before = {row.handpiece_id: row.used_at for row in rows}
    now = {handpiece_id: utc_text(parse_rfc3339(at)) for handpiece_id, at in used.items()}
    changed = sorted(
        handpiece_id
        for handpiece_id in before.keys() | now.keys()
        if before.get(handpiece_id) != now.get(handpiece_id)
    )
    if changed:
        connection.execute(delete(handpiece_use).where(mine, _column.handpiece_id.in_(changed)))
    for handpiece_id in changed:
        if handpiece_id in now:
            connection.execute(
                insert(handpiece_use).values(
                    location_id=location_id,
                    record_id=record_id,
                    handpiece_id=handpiece_id,
                    used_at=now[handpiece_id],
                )
            )
    return changed


def count(connection: Connection, location_id: str, handpiece_id: str) -> dict:
    """Return {uses, last_used_at} of a handpiece: in how many records, and when last (UTC)."""
    row = connection.execute(
        select(func.count(), func.max(_column.used_at)).where(
            _column.location_id == location_id, _column.handpiece_id == handpiece_id
        )
    ).one()
    return {"uses": row[0], "last_used_at": row[1]}


def clear(connection: Connection, location_id: str) -> None:
    """Drop every row of a location, before they are all made anew from the log."""
    connection.execute(delete(handpiece_use).where(_column.location_id == location_id))
