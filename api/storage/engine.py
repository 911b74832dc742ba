"""The database connection, and the two ways to use it: read and write."""

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, nullcontext
from typing import TypeVar

from sqlalchemy import Connection, Engine
from sqlalchemy.engine import make_url
from sqlalchemy.exc import ArgumentError, DataError, DBAPIError, IntegrityError

from api.errors import BadInput
from api.storage import postgresql, sqlite
from api.storage.reach import EVERYWHERE, NOWHERE, Reach, now

__all__ = [
    "EVERYWHERE",
    "Connection",
    "DBAPIError",
    "DataError",
    "Engine",
    "IntegrityError",
    "again",
    "narrow",
    "open_engine",
    "read",
    "savepoint",
    "turn_of",
    "write",
]

POSTGRESQL = "postgresql"
MOST_TRIES = 5
Answer = TypeVar("Answer")

# SQLite lets one writer in at a time and makes the others poll. Waiting here instead, in turn,
# keeps eight threads of one process from running into the busy time-out.
_locks: dict[str, threading.RLock] = {}
_locks_guard = threading.Lock()


def open_engine(database_url: str, *, reach: Reach = NOWHERE, as_owner: bool = False) -> Engine:
    """Open a database that ``migrations.run.upgrade`` has brought up to date.

    ``reach`` is what transactions may reach where nothing else is said for them. ``as_owner`` is
    for migrations: it keeps the rights of the URL's own role. Raises ``BadInput`` for a database
    other than an SQLite file or a PostgreSQL server.
    """
    try:
        url = make_url(database_url)
    except ArgumentError:
        # Without the text itself, which may hold a password.
        raise _unsupported() from None
    # An error must not carry the row it was about into a log file.
    options = {"hide_parameters": True, "execution_options": {"dosebook_reach": tuple(reach)}}
    if url.drivername in (POSTGRESQL, "postgresql+psycopg"):
        return postgresql.make_engine(url, as_owner=as_owner, **options)
    if url.get_backend_name() == "sqlite" and url.database not in (None, "", ":memory:"):
        return sqlite.make_engine(url, **options)
    raise _unsupported()


@contextmanager
def read(engine: Engine, *, locations: Reach | None = None) -> Iterator[Connection]:
    """Give a connection that sees one moment of the database until the block ends.

    ``locations`` overrules what was said for the thread; see :mod:`api.storage.reach`.
    """
    with engine.connect() as connection:
        options: dict = {"dosebook_reach": _reach_of(engine, locations)}
        if is_postgresql(engine):
            options |= {"isolation_level": "REPEATABLE READ", "postgresql_readonly": True}
        with connection.execution_options(**options).begin():
            yield connection


@contextmanager
def write(
    engine: Engine, *, locations: Reach | None = None, unwaited: bool = False
) -> Iterator[Connection]:
    """Give a connection in a write transaction: committed at the block's end, else undone.

    On SQLite writers take turns. On PostgreSQL they run side by side, each statement seeing what
    was committed before it; where two would collide, the code locks a row before it looks: the
    tablet's first, the location's counter row after it.

    ``unwaited``: what writes many rows and answers nothing is not waited for. Where one of these
    fails, that is raised by whatever is waited for next, as late as at the end of the block.
    """
    with turn_of(engine), engine.connect() as opened:
        connection = opened.execution_options(
            dosebook_write=True, dosebook_reach=_reach_of(engine, locations)
        )
        several = unwaited and is_postgresql(engine)
        with postgresql.pipeline(connection) if several else nullcontext(), connection.begin():
            yield connection


def again(
    engine: Engine,
    work: Callable[[Connection], Answer],
    *,
    locations: Reach | None = None,
    unwaited: bool = False,
) -> Answer:
    """Return what ``work`` does in a write transaction, done anew where it had to give way.

    PostgreSQL ends one of several transactions that wait on each other. Nothing of it has
    happened then, so the same work is done once more; it must not leave a trace outside the
    database.
    """
    for left in range(MOST_TRIES - 1, -1, -1):
        try:
            with write(engine, locations=locations, unwaited=unwaited) as connection:
                return work(connection)
        except DBAPIError as problem:
            gave_way = getattr(problem.orig, "sqlstate", None) in postgresql.GAVE_WAY
            if not gave_way or not left:
                raise
    raise AssertionError("unreachable")


@contextmanager
def savepoint(connection: Connection) -> Iterator[None]:
    """Undo only what happened inside the block when it raises."""
    with connection.begin_nested():
        yield
        # While there is a savepoint to go back to.
        postgresql.hear(connection)


def narrow(connection: Connection, *locations: str) -> None:
    """Let the rest of the transaction reach these locations and no others."""
    if is_postgresql(connection):
        postgresql.set_reach(connection, locations)


def is_postgresql(at: Engine | Connection) -> bool:
    """Say which of the two databases this is."""
    return at.dialect.name == POSTGRESQL


def _unsupported() -> BadInput:
    return BadInput(
        "database_unsupported",
        "DATABASE_URL must name an SQLite file or a PostgreSQL server (postgresql+psycopg://...)",
        field="DATABASE_URL",
    )


def _reach_of(engine: Engine, locations: Reach | None) -> Reach:
    if locations is not None:
        return locations
    return now(otherwise=engine.get_execution_options()["dosebook_reach"])


def turn_of(engine: Engine):
    """Return what lets writers of this process in one after the other, where they must."""
    return nullcontext() if is_postgresql(engine) else _lock_of(engine)


def _lock_of(engine: Engine) -> threading.RLock:
    with _locks_guard:
        return _locks.setdefault(str(engine.url), threading.RLock())
