"""Bring a database up to date: Alembic, driven from code, without a file of settings."""

from collections.abc import Callable
from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from sqlalchemy.engine import make_url

from api.storage.engine import Connection, open_engine, read, write

FOLDER = Path(__file__).resolve().parent


def upgrade(database_url: str, *, lifted: Callable[[Connection], object] | None = None) -> str:
    """Make or lift the database at ``database_url``; return the revision it is at then.

    ``lifted`` is called after the steps where an older database was there before them. All runs in
    one transaction: a failed upgrade leaves the database as it was.
    """
    path = make_url(database_url).database
    if path:
        Path(path).parent.mkdir(parents=True, exist_ok=True)
    engine = open_engine(database_url)
    try:
        with write(engine) as connection:
            config = Config()
            config.set_main_option("script_location", str(FOLDER).replace("%", "%%"))
            config.attributes["connection"] = connection
            before = _revision(connection)
            command.upgrade(config, "head")
            if lifted is not None and before not in (None, _revision(connection)):
                lifted(connection)
        return current_revision(engine) or ""
    finally:
        engine.dispose()


def current_revision(engine) -> str | None:
    """Return the revision the database is at, or None when it has none."""
    with read(engine) as connection:
        return _revision(connection)


def _revision(connection: Connection) -> str | None:
    return MigrationContext.configure(connection).get_current_revision()
