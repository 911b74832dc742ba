"""Work to be done after the fact, written down in the same transaction as its cause."""

from collections.abc import Iterable
from datetime import datetime, timedelta

from sqlalchemy import Connection, delete, func, or_, select, update

from api.storage.rows import every, first, insert_or_keep, insert_or_keep_all, utc_text
from api.storage.tables import job

WAITING = "waiting"
RUNNING = "running"
DONE = "done"

LEASE_S = 120
FIRST_RETRY_S = 2
LONGEST_RETRY_S = 300


def enqueue(
    connection: Connection,
    kind: str,
    record_id: str,
    version: int,
    *,
    location_id: str,
    due_at: str = "",
) -> bool:
    """Write a job down; return False if it was there already.

    ``due_at`` is a time in UTC before which it shall not start; by default it may at once.
    """
    return insert_or_keep(connection, job, _waiting(location_id, kind, record_id, version, due_at))


def enqueue_all(
    connection: Connection, location_id: str, wanted: Iterable[tuple[str, str, int]]
) -> None:
    """Write jobs down, each (kind, record_id, version), unless they were there already."""
    insert_or_keep_all(connection, job, [_waiting(location_id, *one, "") for one in wanted])


def _waiting(location_id: str, kind: str, record_id: str, version: int, due_at: str) -> dict:
    return {
        "location_id": location_id,
        "kind": kind,
        "record_id": record_id,
        "version": version,
        "state": WAITING,
        "tries": 0,
        "due_at": due_at,
    }


def claim(connection: Connection, *, now: datetime) -> dict | None:
    """Take the job that is due longest, or None; the claim runs out after two minutes.

    A worker that dies leaves its claim to run out, and another one takes the job; what jobs do
    is therefore written so that doing it twice does no harm.
    """
    now_text = utc_text(now)
    chosen = first(
        connection.execute(
            select(job)
            .where(job.c.state != DONE, or_(job.c.due_at <= now_text, job.c.due_at == ""))
            .order_by(job.c.due_at, job.c.job_id)
            .limit(1)
            .with_for_update(skip_locked=True)
        )
    )
    if chosen is None:
        return None
    changes = {
        "state": RUNNING,
        "tries": chosen["tries"] + 1,
        "due_at": utc_text(now + timedelta(seconds=LEASE_S)),
    }
    connection.execute(update(job).where(job.c.job_id == chosen["job_id"]).values(changes))
    return {**chosen, **changes}


def done(connection: Connection, job_id: int, *, now: datetime) -> None:
    """Note that a job is done."""
    connection.execute(
        update(job)
        .where(job.c.job_id == job_id)
        .values(state=DONE, done_at=utc_text(now), problem=None)
    )


def fail(connection: Connection, job_id: int, problem: str, *, now: datetime) -> None:
    """Note why a job failed; it comes up again later, each time after a longer pause."""
    tries = connection.execute(select(job.c.tries).where(job.c.job_id == job_id)).scalar_one()
    pause_s = min(FIRST_RETRY_S * 2 ** max(tries - 1, 0), LONGEST_RETRY_S)
    connection.execute(
        update(job)
        .where(job.c.job_id == job_id)
        .values(state=WAITING, problem=problem, due_at=utc_text(now + timedelta(seconds=pause_s)))
    )


def give_up(connection: Connection, location_id: str, *, but: str) -> None:
    """Drop the location's work still to be done, except of the kind ``but``."""
    connection.execute(
        delete(job).where(job.c.location_id == location_id, job.c.state != DONE, job.c.kind != but)
    )


def of_record(connection: Connection, location_id: str, record_id: str) -> list[dict]:
    """Return the jobs of a record."""
    return every(
        connection.execute(
            select(job)
            .where(job.c.location_id == location_id, job.c.record_id == record_id)
            .order_by(job.c.job_id)
        )
    )


def open_of_kind(connection: Connection, kind: str) -> list[int]:
    """Return the ids of the jobs of a kind that are not done."""
    found = connection.execute(select(job.c.job_id).where(job.c.kind == kind, job.c.state != DONE))
    return list(found.scalars())


def count_open(connection: Connection) -> int:
    """Return how many jobs are not done."""
    return connection.execute(
        select(func.count()).select_from(job).where(job.c.state != DONE)
    ).scalar_one()
