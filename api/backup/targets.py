"""Where a backup is restored to: a file, or a database of a PostgreSQL server."""

import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Mapping
from contextlib import closing
from datetime import datetime
from functools import partial
from itertools import chain, count
from pathlib import Path

from api.backup import manifest
from api.errors import BadInput, Conflict
from api.migrations import run
from api.settings import Settings
from api.storage import copies, schemas
from api.storage.engine import Engine, is_postgresql, open_engine
from api.sync import judge
from api.sync.rebuild import rebuild

_SIDES = ("-wal", "-shm", "-journal")
# SQLite's own lock of whoever has a file open in WAL mode (os.h: PENDING_BYTE + 2, 510 bytes).
# Asked in a process of its own: closing a file lets go of all locks a process has on it.
_IS_FREE = """
import fcntl, sys
with open(sys.argv[1], "r+b") as file:
    fcntl.lockf(file, fcntl.LOCK_EX | fcntl.LOCK_NB, 510, 0x40000002)
"""


def of(settings: Settings, said: Mapping, *, now: datetime) -> "FileTarget | ServerTarget":
    """Return the target that the settings name.

    Raises ``BadInput`` "database_other_kind" where the backup is of the other kind of database.
    """
    engine = open_engine(settings.database_url)
    kind = engine.dialect.name
    engine.dispose()
    if kind != said["database"]:
        raise BadInput(
            "database_other_kind",
            f"This backup is of {said['database']}, and DATABASE_URL names {kind}.",
            field="DATABASE_URL",
        )
    return (ServerTarget if is_postgresql(engine) else FileTarget)(settings, engine, now)


def aside_name(path: Path, now: datetime) -> Path:
    """Return under which name a file is kept that something else takes the place of.

    One that is free: what was set aside in the same second before stays.
    """
    named = path.with_name(f"{path.name}.before-{now:%Y%m%dT%H%M%SZ}")
    more = (named.with_name(f"{named.name}-{number}") for number in count(2))
    return next(each for each in chain([named], more) if not each.exists())


class FileTarget:
    """An SQLite file. All is done to a draft beside it, which takes its name at the end."""

    def __init__(self, settings: Settings, engine: Engine, now: datetime) -> None:
        self.path = Path(engine.url.database).resolve()
        self.draft = self.path.with_name(f"{self.path.name}.restoring")
        self.now = now

    def refuse_what_is_there(self, *, replace: bool) -> None:
        """Raise ``Conflict`` where a database is there that may not be set aside, or is in use."""
        if not self.path.exists():
            return
        if not replace:
            raise Conflict(
                "database_exists",
                f"There is a database already: {self.path}. --replace sets it aside, under "
                "another name, and puts the backup in its place.",
            )
        asked = [sys.executable, "-c", _IS_FREE, str(self.path)]
        if subprocess.run(asked, capture_output=True, check=False).returncode != 0:
            raise Conflict(
                "database_in_use", f"{self.path} is in use. Stop the server and the worker first."
            )

    def load(self, copy: Path, projectors: judge.Projectors) -> str:
        """Put the copy beside, lift it to this version, and return the address of that."""
        self.path.parent.mkdir(parents=True, exist_ok=True)
        self.undo()
        shutil.copyfile(copy, self.draft)
        self.draft.chmod(0o600)
        url = f"sqlite:///{self.draft}"
        run.upgrade(url, lifted=partial(rebuild, projectors=projectors))
        return url

    def load_empty(self) -> str:
        """Make empty tables of this version beside what is there, and return their address."""
        self.path.parent.mkdir(parents=True, exist_ok=True)
        self.undo()
        url = f"sqlite:///{self.draft}"
        run.upgrade(url)
        self.draft.chmod(0o600)
        return url

    def put_in_place(self) -> list[str]:
        """Let the draft take the name; return where what was there before is kept."""
        with closing(sqlite3.connect(self.draft)) as connection:
            # Into the one file whose name is changed.
            connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        aside = []
        if self.path.exists():
            moved = aside_name(self.path, self.now)
            self.path.rename(moved)
            aside.append(str(moved))
            for side in _SIDES:
                # What was not yet written back belongs to the file that it was written for.
                beside = Path(f"{self.path}{side}")
                if beside.exists():
                    beside.rename(f"{moved}{side}")
        manifest.flush(self.draft)
        self.draft.rename(self.path)
        manifest.flush(self.path.parent)
        return aside

    def undo(self) -> None:
        """Take the draft away."""
        for side in ("", *_SIDES):
            Path(f"{self.draft}{side}").unlink(missing_ok=True)


class ServerTarget:
    """A database of a PostgreSQL server, empty or with its tables set aside in another schema."""

    def __init__(self, settings: Settings, engine: Engine, now: datetime) -> None:
        self.url = settings.database_url
        self.owner_url = settings.database_owner_url
        self.aside = f"before_{now:%Y%m%dT%H%M%SZ}".lower()
        self.moved = False

    def refuse_what_is_there(self, *, replace: bool) -> None:
        """Raise ``Conflict`` where tables are there that may not be set aside, or are in use."""
        with self._owner() as engine:
            if schemas.in_use(engine):
                raise Conflict(
                    "database_in_use",
                    "The database is in use. Stop the server and the worker first.",
                )
            if schemas.is_empty(engine):
                return
            if not replace:
                raise Conflict(
                    "database_exists",
                    "The database has tables already. --replace sets them aside in another schema "
                    "and puts the backup in their place.",
                )
        self.moved = True

    def load(self, copy: Path, projectors: judge.Projectors) -> str:
        """Set aside what is there, read the dump, lift it to this version; return its address."""
        with self._owner() as engine:
            if self.moved:
                self.aside = schemas.set_aside(engine, self.aside)
            try:
                copies.run_tool(
                    engine.url,
                    "pg_restore",
                    "--no-owner",
                    "--no-privileges",
                    "--exit-on-error",
                    "--single-transaction",
                    str(copy),
                )
                run.upgrade(
                    self.url,
                    owner_url=self.owner_url,
                    lifted=partial(rebuild, projectors=projectors),
                )
            except BaseException:
                self.undo()
                raise
        return self.url

    def load_empty(self) -> str:
        """Set aside what is there, make empty tables of this version; return their address."""
        with self._owner() as engine:
            if self.moved:
                self.aside = schemas.set_aside(engine, self.aside)
            try:
                run.upgrade(self.url, owner_url=self.owner_url)
            except BaseException:
                self.undo()
                raise
        return self.url

    def put_in_place(self) -> list[str]:
        """Return where what was there before is kept; the backup is in place already."""
        return [f"schema {self.aside}"] if self.moved else []

    def undo(self) -> None:
        """Put back what was set aside."""
        with self._owner() as engine:
            schemas.put_back(engine, self.aside if self.moved else None)

    def _owner(self):
        return schemas.as_owner(self.owner_url or self.url)
