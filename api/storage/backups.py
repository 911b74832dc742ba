"""Which backups were made, how far the logs are inside verified ones, and what is to come back."""

from collections.abc import Sequence
from datetime import datetime, timedelta

from sqlalchemy import Connection, and_, bindparam, delete, func, select

from api.storage.rows import every, insert_or_keep, insert_or_update, utc_text
from api.storage.tables import backup, event, tablet, to_come_back

_DURABLE = select(func.max(backup.c.position)).where(
    backup.c.location_id == bindparam("location_id"), backup.c.verified_at.is_not(None)
)
# By so much a clock that is kept right may be put back.
CLOCK_STEP = timedelta(hours=1)


def note_verified(
    connection: Connection,
    location_id: str,
    *,
    backup_id: str,
    place: str,
    made_at: str,
    verified_at: datetime,
    epoch: str,
    position: int,
) -> None:
    """Note that a location's log, up to ``position``, is inside a backup found to hold."""
    _note(
        connection,
        location_id,
        backup_id,
        made_at=made_at,
        place=place,
        verified_at=utc_text(verified_at),
        epoch=epoch,
        position=position,
        problem=None,
    )


def note_failed(
    connection: Connection,
    location_id: str,
    *,
    backup_id: str,
    place: str,
    made_at: str,
    problem: str,
) -> None:
    """Note that a backup could not be made, or does not hold, with the code that says why."""
    _note(connection, location_id, backup_id, made_at=made_at, place=place, problem=problem)


def _note(connection: Connection, location_id: str, backup_id: str, **values) -> None:
    row = {"location_id": location_id, "backup_id": backup_id, **values}
    insert_or_update(connection, backup, row)


def durable_position(connection: Connection, location_id: str) -> int | None:
    """Return the highest position that is inside a verified backup, or None without one."""
    return connection.execute(_DURABLE, {"location_id": location_id}).scalar_one()


def last_verified(connection: Connection, location_id: str, *, now: datetime) -> str | None:
    """Return when the newest verified backup was begun [UTC], or None without one.

    Begun, and not verified: what came in while it was written is not inside. One that says that it
    was made later than ``now`` was made by a clock that was ahead: how old it is nobody knows, and
    it must not pass for new until that moment comes.
    """
    return connection.execute(
        select(func.max(backup.c.made_at)).where(
            backup.c.location_id == location_id,
            backup.c.verified_at.is_not(None),
            backup.c.made_at <= utc_text(now + CLOCK_STEP),
        )
    ).scalar_one()


def places(connection: Connection, location_id: str) -> list[str]:
    """Return where verified backups of a location were put, ordered."""
    rows = connection.execute(
        select(backup.c.place)
        .where(backup.c.location_id == location_id, backup.c.verified_at.is_not(None))
        .distinct()
        .order_by(backup.c.place)
    )
    return list(rows.scalars())


def latest(connection: Connection, location_id: str, *, limit: int) -> list[dict]:
    """Return the last tries to make a backup, the newest first."""
    statement = (
        select(backup)
        .where(backup.c.location_id == location_id)
        .order_by(backup.c.made_at.desc(), backup.c.backup_id.desc())
        .limit(limit)
    )
    return every(connection.execute(statement))


def verified(connection: Connection) -> list[dict]:
    """Return {backup_id, place, made_at, location_id, epoch, position} of all found to hold."""
    names = ("backup_id", "place", "made_at", "epoch", "position")
    wanted = (getattr(backup.c, name) for name in names)
    return every(
        connection.execute(
            select(backup.c.location_id, *wanted).where(backup.c.verified_at.is_not(None))
        )
    )


def forget(connection: Connection, backup_id: str) -> None:
    """Take a backup that was removed from the list of those there are."""
    connection.execute(delete(backup).where(backup.c.backup_id == backup_id))


def forget_failures(connection: Connection, *, before: datetime) -> None:
    """Take tries that came to nothing, and are older than ``before``, from the list."""
    connection.execute(
        delete(backup).where(backup.c.verified_at.is_(None), backup.c.made_at < utc_text(before))
    )


def name_returning(
    connection: Connection,
    location_id: str,
    *,
    tablet_id: str,
    event_ids: Sequence[str],
    epoch: str,
    now: datetime,
) -> None:
    """Note which entries a tablet will hand in again; naming one twice changes nothing."""
    for event_id in event_ids:
        row = {
            "location_id": location_id,
            "event_id": event_id,
            "tablet_id": tablet_id,
            "epoch": epoch,
            "named_at": utc_text(now),
        }
        insert_or_keep(connection, to_come_back, row)


def count_named(connection: Connection, location_id: str, tablet_id: str) -> int:
    """Return how many entries a tablet has named, in all epochs."""
    named = select(func.count()).where(
        to_come_back.c.location_id == location_id, to_come_back.c.tablet_id == tablet_id
    )
    return connection.execute(named).scalar_one()


def returning(connection: Connection, location_id: str, *, epoch: str) -> list[dict]:
    """Return {tablet_id, label, named, came} of each tablet that named entries in this epoch."""
    statement = (
        select(
            to_come_back.c.tablet_id,
            func.max(tablet.c.label).label("label"),
            func.count().label("named"),
            func.count(event.c.event_id).label("came"),
        )
        .select_from(
            to_come_back.outerjoin(
                event,
                and_(
                    event.c.location_id == to_come_back.c.location_id,
                    event.c.event_id == to_come_back.c.event_id,
                ),
            ).outerjoin(tablet, tablet.c.tablet_id == to_come_back.c.tablet_id)
        )
        .where(to_come_back.c.location_id == location_id, to_come_back.c.epoch == epoch)
        .group_by(to_come_back.c.tablet_id)
        .order_by(to_come_back.c.tablet_id)
    )
    return every(connection.execute(statement))
