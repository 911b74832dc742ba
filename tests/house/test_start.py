"""`bash deploy/start`, as a newcomer runs it: it serves, says where, and stops whole."""

import json
import os
import re
import signal
import socket
import subprocess
import time
import urllib.request
from pathlib import Path

import pytest

from tests.postgresql import SUPERUSER

ROOT = Path(__file__).resolve().parents[2]


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def start(tmp_path: Path, *arguments: str, **more: str) -> tuple[subprocess.Popen, int, str]:
    """Run deploy/start until it says where it is, and answer with all it printed until then."""
    port = free_port()
    environment = {**os.environ, "PORT": str(port), "DOSEBOOK_DATA": str(tmp_path / "data")}
    environment.pop("DATABASE_URL", None)
    environment |= more
    process = subprocess.Popen(
        ["bash", "deploy/start", *arguments],
        cwd=ROOT,
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        start_new_session=True,
    )
    printed = ""
    for line in process.stdout:
        printed += line
        if "Dosebook is at" in line:
            break
    return process, port, printed


def health(port: int, *, give_up_after_s: float = 180) -> dict:
    until = time.monotonic() + give_up_after_s
    while True:
        try:
            with urllib.request.urlopen(
                f"http://127.0.0.1:{port}/api/v1/health", timeout=5
            ) as answer:
                return json.load(answer)
        except OSError:
            if time.monotonic() > until:
                raise


def stop(process: subprocess.Popen, port: int) -> None:
    process.send_signal(signal.SIGTERM)
    process.wait(timeout=120)
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        probe.bind(("127.0.0.1", port))  # raises while something still listens


def test_start_serves_the_demo_and_one_stop_ends_it(tmp_path):
    process, port, printed = start(tmp_path)
    try:
        answer = health(port)
        assert answer["status"] == "ok"
        assert answer["log_position"] > 100
        assert f"http://127.0.0.1:{port}" in printed
        assert re.search(r"PIN", printed), printed
        # Without one nobody gets any further: for each of the demo's two locations.
        codes = re.findall(r"^  Quillfen, .+: \w{5}-\w{5}  \(once, until ", printed, re.M)
        assert len(codes) == 2, printed
        with urllib.request.urlopen(f"http://127.0.0.1:{port}/", timeout=5) as page:
            assert b"<script" in page.read()
    finally:
        stop(process, port)


def test_an_empty_practice_starts_without_demo_data(tmp_path):
    process, port, printed = start(tmp_path, "--no-demo")
    try:
        assert health(port)["log_position"] == 0
        assert "PIN" not in printed
    finally:
        stop(process, port)


@pytest.mark.long
def test_start_serves_the_demo_from_postgresql_by_one_url(tmp_path, postgresql_server):
    url = postgresql_server.url(postgresql_server.new_empty(), as_role=SUPERUSER)
    process, port, printed = start(tmp_path, DATABASE_URL=url, WEB_CONCURRENCY="2")
    try:
        answer = health(port)
        assert answer["database"] == "postgresql"
        assert answer["log_position"] > 100
        assert re.search(r"PIN", printed), printed
    finally:
        stop(process, port)


def test_a_taken_port_is_said_in_words(tmp_path):
    with socket.socket() as holder:
        holder.bind(("127.0.0.1", 0))
        holder.listen()
        port = holder.getsockname()[1]
        done = subprocess.run(
            ["bash", "deploy/start"],
            cwd=ROOT,
            env={**os.environ, "PORT": str(port), "DOSEBOOK_DATA": str(tmp_path / "data")},
            capture_output=True,
            text=True,
        )
    assert done.returncode == 1
    assert f"Port {port} is taken" in done.stderr
    assert not (tmp_path / "data").exists()
