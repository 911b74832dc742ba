"""Servers that are measured: started on a port of loopback, gone at the end, their CPU time read.

Wall time says what one would wait for, and other work on the machine is in it. CPU time, of the
process and all of its children, is hardly moved by that.
"""

import os
import socket
import subprocess
import time
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

START_S = 60
_TICKS_A_SECOND = os.sysconf("SC_CLK_TCK")


@dataclass(frozen=True)
class Running:
    """A server's process and the port on which it listens."""

    process_id: int
    port: int


@contextmanager
def running(
    command: Callable[[int], Sequence[str]],
    *,
    environment: Mapping[str, str] = {},
    folder: Path | None = None,
) -> Iterator[Running]:
    """Run what ``command`` gives for a free port, in a folder, until the block ends.

    Raises ``OSError`` where nothing listens there in time.
    """
    port = free_port()
    process = subprocess.Popen(
        command(port),
        env={**os.environ, "PORT": str(port), **environment},
        cwd=folder,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        _wait_until_open(process, port)
        yield Running(process.pid, port)
    finally:
        process.terminate()
        process.wait(timeout=30)


def free_port() -> int:
    """Return a port of loopback on which nothing listens."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def _wait_until_open(process: subprocess.Popen, port: int) -> None:
    until = time.monotonic() + START_S
    while True:
        try:
            socket.create_connection(("127.0.0.1", port), timeout=2).close()
            return
        except OSError:
            if process.poll() is not None or time.monotonic() > until:
                raise
            time.sleep(0.05)


def cpu_s(process_ids: Iterable[int]) -> float:
    """Return the CPU time of processes and of all that they started, ended ones among them."""
    ticks = 0
    for process_id in _with_children(process_ids):
        try:
            stat = Path(f"/proc/{process_id}/stat").read_text()
        except FileNotFoundError:
            continue
        # After the name in brackets: utime, stime, cutime and cstime are the 14th to 17th field.
        ticks += sum(int(each) for each in stat.rpartition(")")[2].split()[11:15])
    return ticks / _TICKS_A_SECOND


def _with_children(process_ids: Iterable[int]) -> Iterator[int]:
    for process_id in process_ids:
        yield process_id
        for tasks in Path(f"/proc/{process_id}/task").glob("*/children"):
            try:
                yield from _with_children(int(each) for each in tasks.read_text().split())
            except FileNotFoundError:
                continue
