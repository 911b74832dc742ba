"""Slow work after the fact, from the jobs table: papers of signed records, files written anew."""

import logging
import threading

from api.clock import Clock
from api.handover import source
from api.records.erasure import PURGE
from api.storage import event_store, jobs, purge, reach, renderings
from api.storage.engine import Engine, read, write
from api.work.tidying import Tidying

POLL_S = 1.0
JOB_KINDS = {"render_pdf": source.PDF, "render_text": source.TEXT}

_log = logging.getLogger(__name__)


def run_once(engine: Engine, clock: Clock, *, origin: str | None = None) -> int:
    """Do every job that is due; return how many were done.

    ``origin`` is the server's address as people type it, which papers lead to.

    Doing a job again does no harm: the rendering stored first stays. A job that fails keeps its
    reason and comes up again after a pause; the others go on.
    """
    finished = 0
    while True:
        with write(engine, locations=reach.EVERYWHERE) as connection:
            job = jobs.claim(connection, now=clock.now())
        if job is None:
            return finished
        with reach.within(job["location_id"]):
            finished += _attempt(engine, clock, job, origin)


def run_forever(
    engine: Engine, clock: Clock, stop: threading.Event, *, origin: str | None = None
) -> None:
    """Do jobs as they come, and tidy up between them, until ``stop`` is set."""
    tidying = Tidying()
    while not stop.is_set():
        try:
            tidying.run_if_due(engine, clock)
            busy = run_once(engine, clock, origin=origin) > 0
        except Exception:
            # A database that is away for a moment must not end the worker for good.
            _log.exception("the jobs could not be read")
            busy = False
        if not busy:
            stop.wait(POLL_S)


def _attempt(engine: Engine, clock: Clock, job: dict, origin: str | None) -> bool:
    try:
        if job["kind"] == PURGE:
            purge_all(engine, clock)
        else:
            _render(engine, clock, job, origin)
    except Exception as problem:
        # Only the kind of failure is kept: its words may quote the record, and so a patient.
        reason = getattr(problem, "code", type(problem).__name__)
        _log.warning("job %s (%s) failed: %s", job["job_id"], job["kind"], reason)
        with write(engine) as connection:
            jobs.fail(connection, job["job_id"], reason, now=clock.now())
        return False
    return True


def _render(engine: Engine, clock: Clock, job: dict, origin: str | None) -> None:
    kind = JOB_KINDS[job["kind"]]
    where = (job["location_id"], job["record_id"], job["version"])
    with read(engine) as connection:
        stored = renderings.get(connection, *where, kind)
        gathered = None if stored else source.gather(connection, *where, origin=origin)
    # Rendering takes a while; nobody else waits for the database meanwhile.
    content = None if gathered is None else source.RENDERERS[kind](*gathered)
    with write(engine) as connection:
        if content is not None:
            # Whoever erases the record waits, and finds its paper; whoever was faster keeps it out.
            event_store.lock_log(connection, job["location_id"])
            renderings.put(connection, *where, kind, content, made_at=clock.now())
        jobs.done(connection, job["job_id"], now=clock.now())


def purge_all(engine: Engine, clock: Clock, *, owner_url: str | None = None) -> None:
    """Write the files anew: once for every erasure that came before. Raises as ``purge.purge``."""
    with read(engine, locations=reach.EVERYWHERE) as connection:
        waiting = jobs.open_of_kind(connection, PURGE)
    purge.purge(engine, owner_url=owner_url)
    with write(engine, locations=reach.EVERYWHERE) as connection:
        for job_id in waiting:
            jobs.done(connection, job_id, now=clock.now())
