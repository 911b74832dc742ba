"""Which records used which handpiece or tip: kept for each record.

A record that is projected again replaces its own rows, so nothing is counted twice.
"""

from collections.abc import Collection, Mapping

from sqlalchemy import Connection, bindparam, delete, func, select

from api.clock import parse_rfc3339
from api.storage.rows import insert_all, utc_text
from api.storage.tables import handpiece_use

_column = handpiece_use.c

# Made once: every push needs these.
_HERE = _column.location_id == bindparam("location_id")
_USED = select(_column.record_id, _column.handpiece_id, _column.used_at).where(
    _HERE, _column.record_id.in_(bindparam("record_ids", expanding=True))
)
_COUNTED = (
    select(_column.handpiece_id, func.count(), func.max(_column.used_at))
    .where(_HERE, _column.handpiece_id.in_(bindparam("handpiece_ids", expanding=True)))
    .group_by(_column.handpiece_id)
)


def put_all(
    connection: Connection,
    location_id: str,
    used: Mapping[str, Mapping[str, str]],
    begun: Collection[str] = (),
) -> dict[tuple[str, str], tuple[str | None, str | None]]:
    """Store when each record last used each handpiece, in place of what it said before.

    ``used`` is, by record id, the moment by handpiece id; of the records in ``begun`` nothing was
    stored before. Returns by (record_id, handpiece_id) of everything that this changes the moments
    (UTC) before and now, None for no use.
    """
    before = {}
    if older := [record_id for record_id in used if record_id not in begun]:
        rows = connection.execute(_USED, {"location_id": location_id, "record_ids": older})
        before = {(row.record_id, row.handpiece_id): row.used_at for row in rows}
    now = {
        (record_id, handpiece_id): utc_text(parse_rfc3339(at))
        for record_id, of_record in used.items()
        for handpiece_id, at in of_record.items()
    }
    changed = sorted(one for one in before.keys() | now if before.get(one) != now.get(one))
    for record_id, handpiece_id in before.keys() & changed:
        connection.execute(
            delete(handpiece_use).where(
                _column.location_id == location_id,
                _column.record_id == record_id,
                _column.handpiece_id == handpiece_id,
            )
        )
    new = [
        {
            "location_id": location_id,
            "record_id": record_id,
            "handpiece_id": handpiece_id,
            "used_at": now[record_id, handpiece_id],
        }
        for record_id, handpiece_id in changed
        if (record_id, handpiece_id) in now
    ]
    insert_all(connection, handpiece_use, new)
    return {one: (before.get(one), now.get(one)) for one in changed}


def later(known: Mapping | None, changes: Collection[tuple[str | None, str | None]]) -> dict | None:
    """Return {uses, last_used_at} of a handpiece after changes that add records or move uses on.

    A case does so with each of its passes, and years of uses need not be counted for that: the
    rows say of each record whether it was among them before. None where they have to be counted:
    a record fewer, or an earlier moment.
    """
    if known is None or known["last_used_at"] is None:
        return None
    if any(now is None or now < (before or now) for before, now in changes):
        return None
    latest = max(now for _, now in changes)
    return {
        "uses": known["uses"] + sum(before is None for before, _ in changes),
        "last_used_at": max(known["last_used_at"], latest),
    }


def count(
    connection: Connection, location_id: str, handpiece_ids: Collection[str]
) -> dict[str, dict]:
    """Return {uses, last_used_at} by handpiece: in how many records, and when last (UTC)."""
    named = {"location_id": location_id, "handpiece_ids": [*handpiece_ids]}
    rows = connection.execute(_COUNTED, named)
    found = {row[0]: {"uses": row[1], "last_used_at": row[2]} for row in rows}
    unused = {"uses": 0, "last_used_at": None}
    return {each: found.get(each, unused) for each in handpiece_ids}


def clear(connection: Connection, location_id: str) -> None:
    """Drop every row of a location, before they are all made anew from the log."""
    connection.execute(delete(handpiece_use).where(_column.location_id == location_id))
