"""Bring a database up to date: Alembic, driven from code, without a file of settings."""

from collections.abc import Callable
from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory

from api.errors import BadInput
from api.migrations import wall
from api.storage.engine import EVERYWHERE, Connection, is_postgresql, open_engine, read, write

FOLDER = Path(__file__).resolve().parent


def upgrade(
    database_url: str,
    *,
    owner_url: str | None = None,
    lifted: Callable[[Connection], object] | None = None,
) -> str:
    """Make or lift the database at ``database_url``; return the revision it is at then.

    On PostgreSQL this is done as the role of ``owner_url``, by default that of ``database_url``;
    the tables are then its own. ``lifted`` is called after the steps where an older database was
    there before them. All runs in one transaction: a failed upgrade leaves the database as it was.

    Raises ``BadInput`` "database_wall" where PostgreSQL cannot be set up to keep locations apart.
    """
    engine = open_engine(owner_url or database_url, reach=EVERYWHERE, as_owner=True)
    try:
        if not is_postgresql(engine):
            Path(engine.url.database).parent.mkdir(parents=True, exist_ok=True)
        with write(engine) as connection:
            config = _config()
            config.attributes["connection"] = connection
            before = _revision(connection)
            command.upgrade(config, "head")
            after = _revision(connection)
            if is_postgresql(engine) and (before != after or wall.lacking(connection)):
                wall.build(connection, login=_login(database_url) if owner_url else None)
                _must_be_whole(wall.lacking(connection))
            if lifted is not None and before not in (None, after):
                lifted(connection)
        return after or ""
    finally:
        engine.dispose()


def _config() -> Config:
    config = Config()
    config.set_main_option("script_location", str(FOLDER).replace("%", "%%"))
    return config


def newest_revision() -> str:
    """Return the revision that this version of the program works with."""
    return ScriptDirectory.from_config(_config()).get_current_head() or ""


def _login(database_url: str) -> str:
    engine = open_engine(database_url, as_owner=True)
    try:
        with read(engine) as connection:
            return connection.exec_driver_sql("SELECT session_user").scalar_one()
    finally:
        engine.dispose()


def _must_be_whole(missing: list[str]) -> None:
    if missing:
        raise BadInput("database_wall", "; ".join(missing), field="DATABASE_URL")


def current_revision(engine) -> str | None:
    """Return the revision the database is at, or None when it has none."""
    with read(engine) as connection:
        return _revision(connection)


def _revision(connection: Connection) -> str | None:
    return MigrationContext.configure(connection).get_current_revision()
