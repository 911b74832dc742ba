"""What is known of tablets beyond their enrolment: seen, waiting, two of one, in whose place."""

from datetime import datetime

from sqlalchemy import Connection, Text, bindparam, cast, exists, func, literal, or_, select, update

from api.storage.accounts import TABLET
from api.storage.readers import QUARANTINED
from api.storage.rows import utc_text
from api.storage.tables import document, event, tablet

_LONGEST_CHAIN = 100
_SEEN = update(tablet).where(tablet.c.tablet_id == bindparam("which"))


def see(connection: Connection, tablet_id: str, *, now: datetime, waiting: int | None) -> None:
    """Note that a tablet was heard of, and how many entries it says it still has to send."""
    said = {} if waiting is None else {"waiting": waiting}
    connection.execute(_SEEN, {"which": tablet_id, "last_seen_at": utc_text(now), **said})


def rename(connection: Connection, location_id: str, tablet_id: str, label: str) -> bool:
    """Give a tablet another name; return whether it is one of this location."""
    return _change(connection, location_id, tablet_id, label=label)


def confirm(connection: Connection, location_id: str, tablet_id: str) -> bool:
    """Take in a tablet that was known by its certificate only; return whether there was one."""
    return _change(
        connection,
        location_id,
        tablet_id,
        tablet.c.unconfirmed == 1,
        tablet.c.revoked_at.is_(None),
        unconfirmed=0,
        pushed_after_revoked=0,
    )


def note_fork(connection: Connection, tablet_id: str, *, now: datetime) -> bool:
    """Note that there are two of a tablet; return whether that was not known yet."""
    result = connection.execute(
        update(tablet)
        .where(tablet.c.tablet_id == tablet_id, tablet.c.forked_at.is_(None))
        .values(forked_at=utc_text(now))
    )
    return result.rowcount == 1


def earlier(connection: Connection, replaces: str | None) -> list[str]:
    """Return the ids of the enrolments that one goes on from, the latest first."""
    found: list[str] = []
    while replaces is not None and replaces not in found and len(found) < _LONGEST_CHAIN:
        found.append(replaces)
        replaces = connection.execute(
            select(tablet.c.replaces).where(tablet.c.tablet_id == replaces)
        ).scalar()
    return found


def put_aside(connection: Connection, location_id: str) -> dict[str, int]:
    """Return by tablet how many of its entries were put aside and nobody has decided about yet."""
    settled = document.alias("settled")
    decided = exists().where(
        settled.c.location_id == event.c.location_id,
        settled.c.kind == "aside",
        or_(
            settled.c.doc_id == event.c.event_id,
            settled.c.doc_id == literal("position:") + cast(event.c.position, Text),
        ),
    )
    rows = connection.execute(
        select(event.c.tablet_id, func.count())
        .where(event.c.location_id == location_id, event.c.verdict == QUARANTINED, ~decided)
        .group_by(event.c.tablet_id)
    )
    return {row[0]: row[1] for row in rows}


def _change(connection: Connection, location_id: str, tablet_id: str, *where, **values) -> bool:
    result = connection.execute(
        update(tablet)
        .where(
            tablet.c.location_id == location_id,
            tablet.c.tablet_id == tablet_id,
            tablet.c.kind == TABLET,
            *where,
        )
        .values(**values)
    )
    return result.rowcount == 1
