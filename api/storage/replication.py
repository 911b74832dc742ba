"""How far the logs of a practice are at the group server that follows it, by the group's word."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime

from sqlalchemy import Connection, delete, func, select, update

from api.storage.rows import every, first, insert_or_keep, utc_text
from api.storage.tables import (
    attachment,
    event,
    followed,
    group_photograph,
    location,
    replication,
)

_AT_ONCE = 500


def note_acknowledged(
    connection: Connection,
    location_id: str,
    *,
    epoch: str,
    position: int,
    link: bytes,
    receipt: Mapping[str, str],
    now: datetime,
) -> None:
    """Note that the group has a log up to ``position``; ``receipt`` is what it signed."""
    _change(
        connection,
        location_id,
        epoch=epoch,
        position=position,
        link=link,
        receipt=receipt["text"],
        receipt_signature=receipt["signature"],
        acknowledged_at=utc_text(now),
    )


def note_position(
    connection: Connection, location_id: str, *, epoch: str, position: int, link: bytes
) -> None:
    """Note up to where the group said, when it was met, that it has the log."""
    _change(connection, location_id, epoch=epoch, position=position, link=link)


def note_contact(connection: Connection, location_id: str, *, now: datetime) -> None:
    """Note that the group was reached, and that nothing stands in the way any more."""
    at = utc_text(now)
    _change(connection, location_id, contact_at=at, tried_at=at, problem=None, problem_since=None)


def note_problem(connection: Connection, location_id: str, problem: str, *, now: datetime) -> None:
    """Note why the last try failed, by its code, and since when it has been this one."""
    at = utc_text(now)
    before = get(connection, location_id) or {}
    same = before.get("problem") == problem
    since = before.get("problem_since") if same else at
    _change(connection, location_id, tried_at=at, problem=problem, problem_since=since)


def forget(connection: Connection, location_id: str) -> None:
    """Begin anew with another group: what was acknowledged was another one's word."""
    names = (column.name for column in replication.columns if column.nullable)
    _change(connection, location_id, **{**dict.fromkeys(names), "position": 0})
    connection.execute(
        delete(group_photograph).where(group_photograph.c.location_id == location_id)
    )


def photographs_waiting(connection: Connection, location_id: str) -> list[str]:
    """Return the hashes of the photographs that are here and not yet at the group, ordered."""
    there = select(group_photograph.c.sha256).where(group_photograph.c.location_id == location_id)
    rows = connection.execute(
        select(attachment.c.sha256)
        .where(attachment.c.location_id == location_id, attachment.c.sha256.not_in(there))
        .order_by(attachment.c.sha256)
    )
    return list(rows.scalars())


def photographs_behind(connection: Connection, location_id: str) -> tuple[int, str | None]:
    """Return how many photographs are here and not yet at the group, and when the first came."""
    there = select(group_photograph.c.sha256).where(group_photograph.c.location_id == location_id)
    count, since = connection.execute(
        select(func.count(), func.min(attachment.c.received_at)).where(
            attachment.c.location_id == location_id, attachment.c.sha256.not_in(there)
        )
    ).one()
    return count, since


def note_photographs(connection: Connection, location_id: str, there: Iterable[str]) -> None:
    """Note that the group has said of these photographs that it has them."""
    for sha256 in there:
        insert_or_keep(connection, group_photograph, {"location_id": location_id, "sha256": sha256})


def note_compared(
    connection: Connection, location_id: str, missing: Sequence[str], *, now: datetime
) -> None:
    """Note that the group was asked about every photograph, and which of them it has not."""
    column = group_photograph.c
    here = column.location_id == location_id
    for start in range(0, len(missing), _AT_ONCE):
        some = missing[start : start + _AT_ONCE]
        connection.execute(delete(group_photograph).where(here, column.sha256.in_(some)))
    # What was erased here is nothing to remember of the group.
    kept = select(attachment.c.sha256).where(attachment.c.location_id == location_id)
    connection.execute(delete(group_photograph).where(here, column.sha256.not_in(kept)))
    _change(connection, location_id, photographs_compared_at=utc_text(now))


def get(connection: Connection, location_id: str) -> dict | None:
    """Return what is known of a location's log at the group, or None before the first try."""
    return first(
        connection.execute(select(replication).where(replication.c.location_id == location_id))
    )


def lags(connection: Connection) -> list[dict]:
    """Return of each location {location_id, log_position, position, waiting, waiting_since,
    photographs_waiting, photographs_since}.

    ``waiting`` entries are not yet acknowledged; ``waiting_since`` is when the first of them came;
    the same of photographs. Copies of followed practices' logs are none of ours.
    """
    acknowledged = func.coalesce(replication.c.position, 0)
    rows = every(
        connection.execute(
            select(
                location.c.location_id,
                location.c.position.label("log_position"),
                acknowledged.label("position"),
                replication.c.contact_at,
                replication.c.tried_at,
                replication.c.problem,
                replication.c.problem_since,
                event.c.received_at.label("waiting_since"),
            )
            .select_from(
                location.outerjoin(
                    replication, replication.c.location_id == location.c.location_id
                ).outerjoin(
                    event,
                    (event.c.location_id == location.c.location_id)
                    & (event.c.position == acknowledged + 1),
                )
            )
            .where(location.c.location_id.not_in(select(followed.c.location_id)))
            .order_by(location.c.location_id)
        )
    )
    return [_lag(connection, row) for row in rows]


def _lag(connection: Connection, row: dict) -> dict:
    pictures, since = photographs_behind(connection, row["location_id"])
    return {
        **row,
        "waiting": max(0, row["log_position"] - row["position"]),
        "photographs_waiting": pictures,
        "photographs_since": since,
    }


def _change(connection: Connection, location_id: str, **values: object) -> None:
    insert_or_keep(connection, replication, {"location_id": location_id, "position": 0})
    connection.execute(
        update(replication).where(replication.c.location_id == location_id).values(**values)
    )
