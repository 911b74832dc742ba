"""On a group server: copies of practices' logs, each entry exactly as the practice stored it.

A history is one line of a location's log. The first one stands under the location's own id. Where
the practice went back and on from there, or where there are two of it, what came after they parted
is a further history, under an id of its own, with a copy of what they share: the log is only ever
added to, and nothing that was taken in is lost.
"""

from collections.abc import Mapping, Sequence
from datetime import datetime

from sqlalchemy import Connection, func, insert, literal, select, update

from api.storage.rows import every, first, insert_or_keep, insert_or_update, utc_text
from api.storage.tables import (
    event,
    followed,
    followed_head,
    followed_writer,
    location,
    payload,
    tablet,
)

CURRENT, SET_ASIDE, FORKED = "current", "set_aside", "forked"
# Writers of a followed log: known by their keys, and let in by nobody here.
WRITER = "followed"
_FIRST_FIRST = (followed.c.from_location.is_not(None), followed.c.location_id)


def histories(connection: Connection, practice_id: str, of_location: str) -> list[dict]:
    """Return the histories of a practice's location with {epoch, position, link}, oldest first."""
    return every(
        connection.execute(
            select(followed, location.c.epoch, location.c.position, location.c.link)
            .join(location, location.c.location_id == followed.c.location_id)
            .where(followed.c.practice_id == practice_id, followed.c.of_location == of_location)
            .order_by(followed.c.begun_at, *_FIRST_FIRST)
        )
    )


def of_practice(connection: Connection, practice_id: str) -> list[dict]:
    """Return every history of a practice, as :func:`histories` does."""
    return every(
        connection.execute(
            select(followed, location.c.epoch, location.c.position, location.c.link)
            .join(location, location.c.location_id == followed.c.location_id)
            .where(followed.c.practice_id == practice_id)
            .order_by(followed.c.of_location, followed.c.begun_at, *_FIRST_FIRST)
        )
    )


def get(connection: Connection, location_id: str) -> dict | None:
    """Return what is known of a history by its id here, or None where it is a log of our own."""
    return first(connection.execute(select(followed).where(followed.c.location_id == location_id)))


def counts(connection: Connection, location_id: str) -> bool:
    """Say whether a log is read: one of our own, or the history of a followed one in force."""
    row = get(connection, location_id)
    return row is None or row["state"] == CURRENT


def known_as(connection: Connection, location_id: str) -> str:
    """Return under which id the practice itself knows a log that is kept here under another."""
    row = get(connection, location_id)
    return location_id if row is None else row["of_location"]


def beside(connection: Connection, location_id: str, *, if_current: bool = True) -> dict[str, str]:
    """Return the other histories of a log that is kept here: their ids, and the state of each.

    With ``if_current`` only where this one is in force: none of what another says counts for them.
    """
    mine = get(connection, location_id)
    if mine is None or (if_current and mine["state"] != CURRENT):
        return {}
    rows = connection.execute(
        select(followed.c.location_id, followed.c.state)
        .where(
            followed.c.practice_id == mine["practice_id"],
            followed.c.of_location == mine["of_location"],
            followed.c.location_id != location_id,
        )
        .order_by(followed.c.begun_at, followed.c.location_id)
    )
    return {row[0]: row[1] for row in rows}


def whose(connection: Connection, of_location: str) -> str | None:
    """Return which practice a location belongs to, or None where none of those followed."""
    return connection.execute(
        select(followed.c.practice_id).where(followed.c.of_location == of_location).limit(1)
    ).scalar()


def begin(
    connection: Connection,
    location_id: str,
    *,
    practice_id: str,
    of_location: str,
    state: str,
    epoch: str,
    shared: Mapping | None,
    link: bytes,
    now: datetime,
) -> dict:
    """Begin a history; ``shared`` is {location_id, position} of the one it has its start from."""
    position = 0 if shared is None else shared["position"]
    connection.execute(
        insert(location).values(
            location_id=location_id,
            epoch=epoch,
            position=position,
            link=link,
            opened_at=utc_text(now),
        )
    )
    connection.execute(
        insert(followed).values(
            location_id=location_id,
            practice_id=practice_id,
            of_location=of_location,
            state=state,
            from_location=None if shared is None else shared["location_id"],
            from_position=position,
            begun_at=utc_text(now),
            unprojected=0,
        )
    )
    if shared is not None:
        for table, upto in ((event, event.c.position <= position), (payload, None)):
            _copy_shared(connection, table, shared["location_id"], location_id, upto, position)
    found = histories(connection, practice_id, of_location)
    return next(one for one in found if one["location_id"] == location_id)


def _copy_shared(connection: Connection, table, source: str, target: str, upto, position: int):
    rest = [column for column in table.columns if column.name != "location_id"]
    where = [table.c.location_id == source]
    if upto is not None:
        where.append(upto)
    else:
        inside = select(event.c.event_id).where(
            event.c.location_id == source, event.c.position <= position
        )
        where.append(table.c.event_id.in_(inside))
    chosen = select(literal(target), *rest).where(*where)
    names = ["location_id", *(column.name for column in rest)]
    connection.execute(insert(table).from_select(names, chosen))


def append(connection: Connection, location_id: str, rows: Sequence[Mapping], *, now: datetime):
    """Add entries as they stood in the practice's log, checked, in order; ``link`` among them."""
    columns = [column.name for column in event.columns if column.name != "location_id"]
    connection.execute(
        insert(event),
        [{"location_id": location_id, **{name: row[name] for name in columns}} for row in rows],
    )
    kept = [row for row in rows if row["payload"] is not None]
    if kept:
        names = ("event_id", "salt", "payload")
        connection.execute(
            insert(payload),
            [{"location_id": location_id, **{name: row[name] for name in names}} for row in kept],
        )
    last = rows[-1]
    connection.execute(
        update(location)
        .where(location.c.location_id == location_id)
        .values(epoch=last["epoch"], position=last["position"], link=last["link"])
    )
    note(connection, location_id, received_at=utc_text(now))


def note(connection: Connection, location_id: str, **values: object) -> None:
    """Change what is known of a history: its state, when something came, what is unprojected."""
    connection.execute(
        update(followed).where(followed.c.location_id == location_id).values(**values)
    )


def next_numbers(connection: Connection, location_id: str) -> dict[str, int]:
    """Return of each writer of a log the number that its next entry has."""
    rows = connection.execute(
        select(event.c.tablet_id, func.max(event.c.tablet_seq))
        .where(event.c.location_id == location_id)
        .group_by(event.c.tablet_id)
    )
    return {row[0]: row[1] + 1 for row in rows}


def writer(connection: Connection, tablet_id: str) -> dict | None:
    """Return {kind, public_key, location_id} of whoever has this id here, or None."""
    return first(
        connection.execute(
            select(tablet.c.kind, tablet.c.public_key, tablet.c.location_id).where(
                tablet.c.tablet_id == tablet_id
            )
        )
    )


def put_writer(connection: Connection, location_id: str, facts: Mapping, text: str, at: str):
    """Keep what the practice says of one who writes in its log; the key stays the first one."""
    row = {
        "tablet_id": facts["tablet_id"],
        "location_id": location_id,
        "kind": WRITER,
        "label": facts["label"],
        "public_key": facts["public_key"],
        "certificate": facts["certificate"],
        "next_seq": facts["first_seq"],
        "enrolled_at": at,
        "pushed_after_revoked": 0,
        "replaces": facts["replaces"],
        "first_seq": facts["first_seq"],
        "unconfirmed": 0,
    }
    insert_or_keep(connection, tablet, row)
    insert_or_update(
        connection,
        followed_writer,
        {"location_id": location_id, "tablet_id": facts["tablet_id"], "facts": text},
    )


def writers(connection: Connection, location_id: str) -> list[str]:
    """Return what the practice said of the writers of a log, each as the text that it sent."""
    rows = connection.execute(
        select(followed_writer.c.facts)
        .where(followed_writer.c.location_id == location_id)
        .order_by(followed_writer.c.tablet_id)
    )
    return list(rows.scalars())


def put_head(connection: Connection, location_id: str, said: Mapping, head: Mapping, now: datetime):
    """Keep where the practice said that its log ends; what was said before stays."""
    insert_or_keep(
        connection,
        followed_head,
        {
            "location_id": location_id,
            "position": said["position"],
            "epoch": said["epoch"],
            "text": head["text"],
            "signature": head["signature"],
            "received_at": utc_text(now),
        },
    )
