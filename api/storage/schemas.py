"""A PostgreSQL database as a place for tables: whether it is empty, in use, or to be set aside."""

from collections.abc import Iterator
from contextlib import contextmanager
from itertools import chain, count

from sqlalchemy import Engine, text

from api.storage import reach
from api.storage.engine import open_engine, read, write

_TABLES = "SELECT count(*) FROM pg_tables WHERE schemaname = 'public'"
_SCHEMAS = "SELECT nspname FROM pg_namespace"
_OTHERS = """
SELECT count(*) FROM pg_stat_activity
WHERE datname = current_database() AND pid <> pg_backend_pid() AND application_name = 'dosebook'
"""


@contextmanager
def as_owner(url: str) -> Iterator[Engine]:
    """Yield an engine with the rights of the URL's own role, closed afterwards."""
    engine = open_engine(url, reach=reach.EVERYWHERE, as_owner=True)
    try:
        yield engine
    finally:
        engine.dispose()


def is_empty(engine: Engine) -> bool:
    """Say whether the database has no tables yet."""
    with read(engine) as connection:
        return connection.execute(text(_TABLES)).scalar_one() == 0


def in_use(engine: Engine) -> bool:
    """Say whether another process of ours is connected to the database."""
    with read(engine) as connection:
        return connection.execute(text(_OTHERS)).scalar_one() > 0


def set_aside(engine: Engine, name: str) -> str:
    """Keep all there is under another schema, which nobody but its owner may use; return its name.

    That is ``name``, with a number where there is one of that name already.
    """
    with write(engine) as connection:
        there = set(connection.execute(text(_SCHEMAS)).scalars())
        more = (f"{name}_{number}" for number in count(2))
        name = next(each for each in chain([name], more) if each not in there)
        connection.exec_driver_sql(f"ALTER SCHEMA public RENAME TO {name}")
        connection.exec_driver_sql(f"REVOKE ALL ON SCHEMA {name} FROM PUBLIC")
        connection.exec_driver_sql("CREATE SCHEMA public")
        connection.exec_driver_sql("GRANT USAGE ON SCHEMA public TO PUBLIC")
    return name


def put_back(engine: Engine, name: str | None) -> None:
    """Take away what was put into the database, and give back what was set aside before."""
    with write(engine) as connection:
        connection.exec_driver_sql("DROP SCHEMA IF EXISTS public CASCADE")
        if name is None:
            connection.exec_driver_sql("CREATE SCHEMA public")
            connection.exec_driver_sql("GRANT USAGE ON SCHEMA public TO PUBLIC")
        else:
            connection.exec_driver_sql(f"ALTER SCHEMA {name} RENAME TO public")
            connection.exec_driver_sql("GRANT USAGE ON SCHEMA public TO PUBLIC")
