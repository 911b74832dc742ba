"""A copy of the whole database while it is in use, and opening such a copy.

SQLite is copied by its backup interface into one file; PostgreSQL by ``pg_dump``, of a snapshot
that this connection holds. Either copy is of the one moment in which the rows were counted.
"""

import os
import shutil
import sqlite3
import subprocess
from collections.abc import Iterator, Mapping
from contextlib import closing, contextmanager
from pathlib import Path
from urllib.parse import quote

from sqlalchemy import Engine, func, select
from sqlalchemy.engine import URL

from api.errors import DomainError
from api.storage import dump_text, reach, readers, sqlite
from api.storage.engine import is_postgresql, open_engine, read
from api.storage.postgresql import REACH_SETTING
from api.storage.tables import metadata

SQLITE_FILE = "dosebook.sqlite3"
POSTGRESQL_FILE = "dosebook.pgdump"
PG_TOOLS = "DOSEBOOK_PG_BIN"


def write_copy(database_url: str, folder: Path) -> dict:
    """Copy the database into ``folder``.

    On PostgreSQL the URL is that of the tables' owner. Returns {database, file, counts,
    locations}: the rows of each table and where each location's log ends, as they were in the
    copied moment. Raises ``DomainError`` "backup_not_written" with what stood in the way.
    """
    engine = open_engine(database_url, reach=reach.EVERYWHERE, as_owner=True)
    try:
        if is_postgresql(engine):
            return _dump(engine, folder / POSTGRESQL_FILE)
        return _copy(engine, folder / SQLITE_FILE)
    except (OSError, sqlite3.Error) as problem:
        raise DomainError(
            "backup_not_written", f"The copy could not be written: {problem}"
        ) from problem
    finally:
        engine.dispose()


def _said(engine: Engine, connection, target: Path) -> dict:
    return {
        "database": engine.dialect.name,
        "file": target.name,
        "counts": row_counts(connection),
        "locations": readers.locations(connection),
    }


def row_counts(connection) -> dict[str, int]:
    """Return how many rows each table has."""
    return {
        name: connection.execute(select(func.count()).select_from(table)).scalar_one()
        for name, table in sorted(metadata.tables.items())
    }


def _copy(engine: Engine, target: Path) -> dict:
    with read(engine) as connection:
        said = _said(engine, connection, target)
        # The same connection, and so the same moment that was counted.
        with closing(sqlite3.connect(target, isolation_level=None)) as copy:
            connection.connection.driver_connection.backup(copy)
    with closing(sqlite3.connect(target, isolation_level=None)) as copy:
        copy.execute("PRAGMA journal_mode = DELETE")
        # What was erased lingers in free pages; a backup must not bring it back.
        copy.execute("VACUUM")
    return said


def _dump(engine: Engine, target: Path) -> dict:
    with read(engine) as connection:
        snapshot = connection.exec_driver_sql("SELECT pg_export_snapshot()").scalar_one()
        said = _said(engine, connection, target)
        run_tool(
            engine.url,
            "pg_dump",
            "--format=custom",
            # The policies hold for the tables' owner too; every location is named instead.
            "--enable-row-security",
            "--no-owner",
            "--no-privileges",
            f"--snapshot={snapshot}",
            # What an earlier restore has set aside.
            "--exclude-schema=before_*",
            f"--file={target}",
        )
    return said


def run_tool(url: URL, tool: str, *arguments: str) -> None:
    """Run one of PostgreSQL's own programs on a database.

    The password goes by the environment: arguments are for every user of the machine to read.
    Raises ``DomainError`` "backup_tool_missing" and "backup_tool_failed".
    """
    plain = url.set(drivername="postgresql", password=None)
    environment = {
        **os.environ,
        "PGOPTIONS": f"-c {REACH_SETTING}=*",
        **({"PGPASSWORD": str(url.password)} if url.password else {}),
    }
    target = f"--dbname={plain.render_as_string(hide_password=False)}"
    _run([_tool(tool), "--no-password", target, *arguments], environment)


def _tool(name: str) -> str:
    folder = os.environ.get(PG_TOOLS)
    found = shutil.which(name, path=folder) if folder else shutil.which(name)
    if found is None:
        raise DomainError(
            "backup_tool_missing",
            f"{name} is not here. Install PostgreSQL's client programs of the server's version, "
            f"or name their folder in {PG_TOOLS}.",
        )
    return found


def _run(command: list[str], environment: Mapping[str, str]) -> None:
    done = subprocess.run(
        command, env=dict(environment), capture_output=True, text=True, check=False
    )
    if done.returncode != 0:
        told = done.stderr.strip().splitlines()
        raise DomainError(
            "backup_tool_failed",
            f"{Path(command[0]).name} failed: {told[-1] if told else done.returncode}",
        )


@contextmanager
def opened(file: Path, scratch: Path) -> Iterator[Engine]:
    """Open a copy for reading; a dump is read into a database file in ``scratch`` first.

    A dump's data are read with ``pg_restore`` itself, so that opening it needs no server and no
    right to make databases. Raises ``DomainError`` "backup_unreadable".
    """
    path = file
    if file.name == POSTGRESQL_FILE:
        path = scratch / "opened.sqlite3"
        dump_text.load(file, path, _tool("pg_restore"))
    # Nothing is written beside it and nothing in it: its hash must stay what it is.
    url = URL.create(
        "sqlite",
        database=f"file:{quote(str(path))}",
        query={"mode": "ro", "immutable": "1", "uri": "true"},
    )
    engine = sqlite.make_engine(
        url, hide_parameters=True, execution_options={"dosebook_reach": reach.EVERYWHERE}
    )
    try:
        yield engine
    finally:
        engine.dispose()
        if path != file:
            path.unlink(missing_ok=True)


def is_whole(engine: Engine) -> str | None:
    """Return what SQLite itself finds wrong with an opened copy, or None."""
    with engine.connect() as connection:
        found = connection.exec_driver_sql("PRAGMA integrity_check(1)").scalar_one()
    return None if found == "ok" else str(found)
