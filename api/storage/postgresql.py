"""PostgreSQL as we use it: several processes, rows locked where two would collide, a second wall.

Several statements of a block may be on their way at once (:func:`pipeline`): those of which nobody
reads what comes of them, which say so by the option ``UNREAD``.

Nothing is kept in a session, so that a pooler may give each transaction another connection: no
prepared statements, and whatever is set is set for one transaction (``set_config(..., true)`` is
SET LOCAL). Each transaction begins with what it may do: it runs as the role ``APP_ROLE``, which
owns nothing, and names the locations that it may reach.
"""

import select
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

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
        use_native_hstore=False,
        connect_args={"prepare_threshold": None, "application_name": "dosebook"},
        **options,
    )
    role = "none" if as_owner else APP_ROLE

    def on_connect(connection: Any, _record: Any) -> None:
        # Written as text, a long array takes ten times as long.
        connection.adapters.register_dumper(list, ListBinaryDumper)

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
        connection.exec_driver_sql(_BEGIN, (role, reach.as_text(options["dosebook_reach"])))

    event.listen(engine, "connect", on_connect)
    event.listen(engine, "checkout", on_checkout)

    def on_executed(connection, _cursor, _statement, _parameters, context, _many) -> None:
        line = connection.info.get(_PIPELINE)
        if line is not None and not context.execution_options.get(UNREAD):
            line.sync()

    event.listen(engine, "begin", on_begin)
    event.listen(engine, "after_cursor_execute", on_executed)
    return engine


@contextmanager
def pipeline(connection: Connection) -> Iterator[None]:
    """Send the block's ``UNREAD`` statements without waiting for each.

    What goes wrong with one is raised by the next statement that is waited for, as any other
    problem is, or by the end of the block: there as the driver says it.
    """
    raw = connection.connection.dbapi_connection
    with raw.pipeline() as connection.info[_PIPELINE]:
        try:
            yield
        finally:
            del connection.info[_PIPELINE]


def set_reach(connection: Connection, locations: reach.Reach) -> None:
    """Let the rest of the transaction reach ``locations``."""
    connection.exec_driver_sql(_REACH, (reach.as_text(locations),))
