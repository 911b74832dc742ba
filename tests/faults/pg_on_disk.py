"""A PostgreSQL server whose data lie in a folder of ours, started, frozen and ended as we like."""

import os
import signal
import subprocess
import time
from collections.abc import Sequence
from pathlib import Path

import psutil
import psycopg

from tests import postgresql

# Small enough for a disk in memory. The program asks for more than such a server would give:
# what it acknowledges is on the disk, whatever the server's own default is.
SETTINGS = """
shared_buffers = 16MB
min_wal_size = 2MB
max_wal_size = 16MB
synchronous_commit = off
restart_after_crash = on
autovacuum = off
"""
READY_S = 120


class OnDisk:
    """The programs are those of ``beside``, a running server, and so is the user they run as."""

    def __init__(self, folder: Path, beside: postgresql.Server) -> None:
        self.folder, self.programs = folder, beside.programs
        [[elsewhere]] = beside.run("SHOW data_directory")
        owner = Path(elsewhere).stat()
        self._who = {"user": owner.st_uid, "group": owner.st_gid, "extra_groups": []}
        self._process: subprocess.Popen | None = None

    @property
    def data(self) -> Path:
        return self.folder / "data"

    def make(self) -> None:
        """Make an empty database cluster."""
        os.chown(self.folder, self._who["user"], self._who["group"])
        subprocess.run(
            [
                *(self.programs / "initdb", "-D", self.data, "-U", postgresql.SUPERUSER),
                *("--auth=trust", "--encoding=utf8", "--wal-segsize=1", "--no-sync"),
            ],
            **self._who,
            cwd="/",
            check=True,
            capture_output=True,
        )
        with (self.data / "postgresql.auto.conf").open("a") as settings:
            settings.write(SETTINGS)

    def start(self, *, under: Sequence[str] = (), wait: bool = True) -> None:
        """Start it, below another program where one is named, and return once it is ready."""
        (self.data / "postmaster.pid").unlink(missing_ok=True)
        self._process = subprocess.Popen(
            [*under, self.programs / "postgres", "-D", self.data, "-h", "", "-k", self.data],
            **self._who,
            cwd="/",
            stdout=subprocess.DEVNULL,
            stderr=(self.folder / "said").open("ab"),
            start_new_session=True,
        )
        if wait:
            self.wait_until_ready()

    def wait_until_ready(self) -> None:
        until = time.monotonic() + READY_S
        while True:
            try:
                psycopg.connect(f"host={self.data} user={postgresql.SUPERUSER}").close()
                return
            except psycopg.OperationalError:
                assert time.monotonic() < until, (self.folder / "said").read_text()[-2000:]
                time.sleep(0.05)

    def server(self) -> postgresql.Server:
        """Give it the roles of DEVELOPERS.md and a migrated database."""
        return postgresql.Server(str(self.data), self.programs, self._process.pid)

    def url(self, name: str = "dosebook") -> str:
        return f"postgresql+psycopg://{postgresql.LOGIN}@/{name}?host={self.data}"

    def is_running(self) -> bool:
        return self._process is not None and self._process.poll() is None

    def family(self) -> list[psutil.Process]:
        """All its processes, the parent first."""
        try:
            parent = psutil.Process(self._process.pid)
            return [parent, *parent.children(recursive=True)]
        except psutil.NoSuchProcess:
            return []

    def freeze(self) -> None:
        """Let none of its processes go on."""
        for process in self.family():
            process.suspend()

    def kill(self) -> None:
        """End all of its processes without a word."""
        family = self.family()
        for process in family:
            try:
                process.kill()
            except psutil.NoSuchProcess:
                continue
        self._process.wait(timeout=60)
        psutil.wait_procs(family, timeout=60)

    def stop(self) -> None:
        """End it as whoever looks after it does."""
        if self.is_running():
            self._process.send_signal(signal.SIGINT)
            self._process.wait(timeout=120)
