"""The access log: who read, changed, printed or was refused what, and when. Append-only."""

import json
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, Select, Table, and_, insert, or_, select

from api.storage.rows import every, insert_all, utc_text
from api.storage.tables import access_log, access_subject

_log = access_log.c


@dataclass(frozen=True, kw_only=True)
class Wanted:
    """Which accesses: by a person, about any of some subjects, of some kinds, in a time."""

    actor_id: str | None = None
    subject_ids: Collection[str] | None = None
    actions: Collection[str] | None = None
    from_at: datetime | None = None
    before_at: datetime | None = None


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
    subjects: Collection[str] = (),
    detail: Mapping | None = None,
) -> None:
    """Write one access down: ``action`` such as "read", "change", "export", "sign_in", "refused".

    ``subjects`` are the ids of all that one access reached, where there were several. ``detail`` is
    kept as JSON and must not carry anything about a patient.
    """
    moment = utc_text(at)
    access_id = connection.execute(
        insert(access_log)
        .values(
            location_id=location_id,
            at=moment,
            action=action,
            actor_id=actor_id,
            tablet_id=tablet_id,
            subject_kind=subject_kind,
            subject_id=subject_id,
            detail=None if detail is None else json.dumps(dict(detail), ensure_ascii=False),
        )
        .returning(_log.access_id)
    ).scalar_one()
    reached = sorted(set(subjects) - {subject_id})
    if reached:
        connection.execute(
            insert(access_subject),
            [
                {
                    "location_id": location_id,
                    "subject_id": each,
                    "at": moment,
                    "access_id": access_id,
                }
                for each in reached
            ],
        )


def note_changes(
    connection: Connection,
    *,
    location_id: str,
    at: datetime,
    tablet_id: str,
    changes: Iterable[tuple[str | None, str, str, Mapping]],
) -> None:
    """Write down what a tablet changed: of each (actor_id, subject_kind, subject_id, detail)."""
    rows = [
        {
            "location_id": location_id,
            "at": utc_text(at),
            "action": "change",
            "actor_id": actor_id,
            "tablet_id": tablet_id,
            "subject_kind": kind,
            "subject_id": subject_id,
            "detail": json.dumps(dict(detail), ensure_ascii=False),
        }
        for actor_id, kind, subject_id, detail in changes
    ]
    if rows:
        insert_all(connection, access_log, rows)


def entries(
    connection: Connection,
    location_id: str,
    *,
    subject_id: str | None = None,
    limit: int = 1000,
) -> list[dict]:
    """Return the latest accesses of a location, newest first."""
    wanted = Wanted(subject_ids=None if subject_id is None else [subject_id])
    return search(connection, location_id, wanted, limit=limit)


def search(
    connection: Connection,
    location_id: str,
    wanted: Wanted,
    *,
    after: tuple[str, int] | None = None,
    limit: int,
) -> list[dict]:
    """Return at most ``limit`` accesses, newest first; ``after`` is (at, access_id) of one."""
    whose = select(access_log).where(_log.location_id == location_id)
    if wanted.actor_id is not None:
        whose = whose.where(_log.actor_id == wanted.actor_id)
    found: dict[int, dict] = {}
    for statement, ordered in _walks(whose, location_id, wanted):
        asked = _newest(statement, ordered, wanted, after, limit)
        for row in every(connection.execute(asked)):
            found[row["access_id"]] = row
    rows = sorted(found.values(), key=lambda row: (row["at"], row["access_id"]), reverse=True)
    for row in rows[:limit]:
        row["detail"] = None if row["detail"] is None else json.loads(row["detail"])
    return rows[:limit]


def _walks(whose: Select, location_id: str, wanted: Wanted) -> Iterator[tuple[Select, Table]]:
    """Yield what has to be asked, each walked along one index from the newest back, and merged.

    One statement for all would sort whatever it finds in years before it gives the first page.
    """
    actions = wanted.actions
    if wanted.subject_ids is None and wanted.actor_id is None and actions is not None:
        for action in actions:
            yield whose.where(_log.action == action), access_log
        return
    if actions is not None:
        whose = whose.where(_log.action.in_(actions))
    if wanted.subject_ids is None:
        yield whose, access_log
        return
    for subject_id in wanted.subject_ids:
        yield whose.where(_log.subject_id == subject_id), access_log
        # What reached several is found among the subjects of each.
        yield (
            whose.join_from(
                access_log, access_subject, access_subject.c.access_id == _log.access_id
            ).where(
                access_subject.c.location_id == location_id,
                access_subject.c.subject_id == subject_id,
            ),
            access_subject,
        )


def _newest(
    statement: Select, ordered: Table, wanted: Wanted, after: tuple[str, int] | None, limit: int
) -> Select:
    """Order by the time in one of the tables, which both have: the one whose index is walked."""
    at, access_id = ordered.c.at, ordered.c.access_id
    if wanted.from_at is not None:
        statement = statement.where(at >= utc_text(wanted.from_at))
    if wanted.before_at is not None:
        statement = statement.where(at < utc_text(wanted.before_at))
    if after is not None:
        # The first of them is what an index can begin at.
        statement = statement.where(
            at <= after[0], or_(at < after[0], and_(at == after[0], access_id < after[1]))
        )
    return statement.order_by(at.desc(), access_id.desc()).limit(limit)


def reached(connection: Connection, access_ids: Collection[int]) -> dict[int, list[str]]:
    """Return by access the ids of all that it reached, where those were several."""
    found: dict[int, list[str]] = {}
    rows = connection.execute(
        select(access_subject.c.access_id, access_subject.c.subject_id)
        .where(access_subject.c.access_id.in_(access_ids))
        .order_by(access_subject.c.access_id, access_subject.c.subject_id)
    )
    for row in rows:
        found.setdefault(row.access_id, []).append(row.subject_id)
    return found
