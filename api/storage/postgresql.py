"""PostgreSQL as we use it: several processes, rows locked where two would collide, a second wall.

Several statements of a block may be on their way at once (:func:`pipeline`): those of which nobody
reads what comes of them, which say so by the option ``UNREAD``.

A pooler may give each transaction another connection of the server, so nothing that counts is kept
in a session: whatever is set is set for one transaction (``set_config(..., true)`` is SET LOCAL).
Statements are prepared only where the server itself answers. Each transaction begins with what it
may do: it runs as the role ``APP_ROLE``, which owns nothing, and names the locations that it may
reach.
"""

import select
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from typing import Any

import psycopg
from psycopg.types.array import ListBinaryDumper
from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.engine import URL
from sqlalchemy.exc import DisconnectionError

from api.storage import reach

APP_ROLE = "dosebook_app"
REACH_SETTING = "dosebook.locations"
# As long as a request may reasonably wait for another one; then it is told to come again.
LOCK_TIMEOUT = "20s"
# Two transactions that wait on each other, or that cannot both have happened.
GAVE_WAY = ("40P01", "40001")

# To parse and plan the same statements anew took a fifth of the time of a push.
PREPARED_AFTER = 2

# An option of a statement whose answer nobody looks at.
UNREAD = "dosebook_unread"
_PIPELINE = "dosebook_pipeline"

_REACH = f"SELECT set_config('{REACH_SETTING}', %s, true)"
_BEGIN = f"""
SELECT set_config('role', %s, true), set_config('{REACH_SETTING}', %s, true),
       set_config('lock_timeout', '{LOCK_TIMEOUT}', true),
       CASE current_setting('synchronous_commit') WHEN 'off'
           THEN set_config('synchronous_commit', 'on', true) END
"""


def make_engine(url: URL, *, as_owner: bool, **options: Any) -> Engine:
    """Return an engine for a server; ``as_owner`` leaves the role as the URL has it."""
    engine = create_engine(
        url.set(drivername="postgresql+psycopg"),
        # For each process: eight threads with a transaction each, and some to spare.
        pool_size=8,
        max_overflow=8,
        pool_timeout=30,
        # The one that was used last has the statements prepared that are asked next.
        pool_use_lifo=True,
        use_native_hstore=False,
        connect_args={"prepare_threshold": None, "application_name": "dosebook"},
        **options,
    )
    role = "none" if as_owner else APP_ROLE

    def on_connect(connection: Any, _record: Any) -> None:
        # Written as text, a long array takes ten times as long.
        connection.adapters.register_dumper(list, ListBinaryDumper)
        if _is_answered_by_server(connection):
            connection.prepare_threshold = PREPARED_AFTER

    def on_checkout(connection: Any, _record: Any, _proxy: Any) -> None:
        # A server that was started anew leaves dead connections behind, and has said so to each of
        # them; nothing else is ever said to one that waits. To ask it would take a round trip.
        heard = select.poll()
        if not connection.closed:
            heard.register(connection.fileno(), select.POLLIN)
        if connection.closed or heard.poll(0):
            raise DisconnectionError

    def on_begin(connection: Connection) -> None:
        # synchronous_commit is only ever made stricter: what was acknowledged is on the disk.
        options = connection.get_execution_options()
        said = (role, reach.as_text(options["dosebook_reach"]))
        connection.exec_driver_sql(_BEGIN, said, execution_options={UNREAD: True})

    event.listen(engine, "connect", on_connect)
    event.listen(engine, "checkout", on_checkout)

    def on_executed(connection, _cursor, _statement, _parameters, context, _many) -> None:
        line = connection.info.get(_PIPELINE)
        if line is not None and not context.execution_options.get(UNREAD):
            line.sync()

    def on_error(context) -> None:
        line = context.connection and context.connection.info.get(_PIPELINE)
        if line:
            # What was sent behind it is let go of, or nothing that comes now would be carried out.
            with suppress(psycopg.Error):
                line.sync()

    event.listen(engine, "begin", on_begin)
    event.listen(engine, "handle_error", on_error)
    event.listen(engine, "after_cursor_execute", on_executed)
    return engine


def _is_answered_by_server(connection: Any) -> bool:
    """Say whether the process that answers is the one that was named when we connected.

    A pooler names one that it makes up, since several serve each of its clients by turns: what one
    of them has prepared, the next does not know.
    """
    connection.autocommit = True
    try:
        (answering,) = connection.execute("SELECT pg_backend_pid()").fetchone()
    finally:
        connection.autocommit = False
    return answering == connection.info.backend_pid


@contextmanager
def pipeline(connection: Connection) -> Iterator[None]:
    """Send the block's ``UNREAD`` statements without waiting for each.

    What goes wrong with one is raised by the next statement that is waited for, or by the end of
    the transaction, as any other problem is.
    """
    raw = connection.connection.dbapi_connection
    with raw.pipeline() as connection.info[_PIPELINE]:
        try:
            yield
        finally:
            del connection.info[_PIPELINE]


def hear(connection: Connection) -> None:
    """Wait for what was not waited for, and raise what went wrong with it."""
    if _PIPELINE in connection.info:
        connection.exec_driver_sql("SELECT 1")


def set_reach(connection: Connection, locations: reach.Reach) -> None:
    """Let the rest of the transaction reach ``locations``."""
    connection.exec_driver_sql(_REACH, (reach.as_text(locations),))
