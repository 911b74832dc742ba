"""A real server with the demo practice on loopback."""

import fcntl
import json
import os
import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from api.events import signing
from api.sync import server_key

DOSEBOOK = Path(sys.executable).with_name("dosebook")


@dataclass(frozen=True)
class Server:
    """A served demo practice: where it is and how to give it a command."""

    port: int
    environment: dict[str, str]

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def dosebook(self, *arguments: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [DOSEBOOK, *arguments], env=self.environment, capture_output=True, text=True
        )

    def key(self) -> signing.PrivateKey:
        """The server's own key, from which the keys of its tablets are worked out."""
        return server_key.load(Path(self.environment["DOSEBOOK_DATA"]) / "server_key.pem")

    def new_code(self) -> str:
        return json.loads(self.dosebook("tablet", "code", "--json").stdout)["code"]


def demo_data(run: Path) -> Path:
    """Load the demo practice once for all tests of a run, whose folder is ``run``; where it is."""
    data = run / "demo"
    with (run / "demo.lock").open("w") as lock:
        # Several processes run tests of one run; the first of them loads it.
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not data.exists():
            made = run / "demo-in-the-making"
            environment = {**os.environ, "DOSEBOOK_DATA": str(made)}
            environment.pop("DATABASE_URL", None)
            for command in (("db", "upgrade"), ("demo", "load")):
                done = subprocess.run(
                    [DOSEBOOK, *command], env=environment, capture_output=True, text=True
                )
                assert done.returncode == 0, done.stderr
            made.rename(data)
    return data


@contextmanager
def demo_practice(
    data: Path, *, loaded: Path | None = None, logs: Path | None = None
) -> Iterator[Server]:
    """Serve a demo practice of one's own with its data in ``data`` until the block is left.

    It is a copy of ``loaded``, else loaded anew. All that the server says about its work is
    written into files in ``logs``, where asked for.
    """
    port = free_port()
    served = Server(port, {**os.environ, "DOSEBOOK_DATA": str(data), "PORT": str(port)})
    served.environment.pop("DATABASE_URL", None)
    if logs is not None:
        served.environment["DOSEBOOK_ACCESS_LOG"] = str(logs / "access.log")
    shutil.copytree(loaded or demo_data(data), data, dirs_exist_ok=True)
    running = [
        subprocess.Popen(
            [DOSEBOOK, name],
            env=served.environment,
            stderr=subprocess.DEVNULL if logs is None else (logs / f"{name}.err").open("wb"),
        )
        for name in ("serve", "work")
    ]
    try:
        wait_until_healthy(served.address)
        yield served
    finally:
        for process in running:
            process.terminate()
        for process in running:
            process.wait(timeout=30)


def free_port() -> int:
    """Return a port that nobody listens at just now."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def wait_until_healthy(address: str) -> None:
    """Return once the server at ``address`` says that it is ready."""
    until = time.monotonic() + 30
    while True:
        try:
            urllib.request.urlopen(f"{address}/api/v1/health", timeout=2).close()
            return
        except OSError:
            if time.monotonic() > until:
                raise
