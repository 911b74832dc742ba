"""How far the logs of a practice are at the group server that follows it, by the group's word."""

from collections.abc import Mapping
from datetime import datetime

from sqlalchemy import Connection, func, select, update

from api.storage.rows import every, first, insert_or_keep, utc_text
from api.storage.tables import event, followed, location, replication


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


def get(connection: Connection, location_id: str) -> dict | None:
    """Return what is known of a location's log at the group, or None before the first try."""
    return first(
        connection.execute(select(replication).where(replication.c.location_id == location_id))
    )


def lags(connection: Connection) -> list[dict]:
    """Return of each location {location_id, log_position, position, waiting, waiting_since}.

    ``waiting`` entries are not yet acknowledged; ``waiting_since`` is when the first of them came.
    Copies of followed practices' logs are none of ours.
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
    return [{**row, "waiting": max(0, row["log_position"] - row["position"])} for row in rows]


def _change(connection: Connection, location_id: str, **values: object) -> None:
    insert_or_keep(connection, replication, {"location_id": location_id, "position": 0})
    connection.execute(
        update(replication).where(replication.c.location_id == location_id).values(**values)
    )
