"""A proxy between the tablet's own program and gunicorn that cuts, repeats, delays and lies.

The program runs in Node with an IndexedDB in memory (``pwa/tests/live/faults.live.ts``); requests
and answers are real bytes on sockets. What the tablet showed as saved is on the server once.
"""

import os
import subprocess
from pathlib import Path

import pytest

from api.audit.verify import verify_log
from api.storage import reach
from tests.faults.served import Served, served

PWA = Path(__file__).resolve().parents[2] / "pwa"
# Rounds of some four faults each, and after how many bytes each answer is cut.
SHORT, LONG = {"ROUNDS": "12", "CUT_EVERY": "151"}, {"ROUNDS": "400", "CUT_EVERY": "1"}
# In some of so many rounds a push is answered 200 by something else than the server.
FALSELY_ANSWERED = {"ROUNDS": "100", "CUT_EVERY": "151"}


@pytest.fixture(
    params=["sqlite", pytest.param("postgresql", marks=pytest.mark.long)],
    scope="module",
)
def house(request, tmp_path_factory):
    database = None if request.param == "sqlite" else request.getfixturevalue("postgresql_server")
    with served(request.param, tmp_path_factory.mktemp("way"), database) as made:
        yield made


def run(house: Served, program: str, shown: Path, **more: str) -> subprocess.CompletedProcess:
    """Run the tablet's program; it appends to ``shown`` each event that it showed as saved."""
    facts = {
        "DOSEBOOK_URL": house.address,
        "DOSEBOOK_CODE": house.code(),
        "DOSEBOOK_PERSON": house.practice.people["clinician"],
        "DOSEBOOK_SHOWN": str(shown),
        "NO_COLOR": "1",
        **{f"DOSEBOOK_{name}": value for name, value in more.items()},
    }
    shown.touch()
    vitest = PWA / "node_modules" / ".bin" / "vitest"
    return subprocess.run(
        [vitest, "run", "--config", "tests/live/vitest.config.ts", f"tests/live/{program}"],
        cwd=PWA,
        env={**os.environ, **facts},
        capture_output=True,
        text=True,
        timeout=3600,
    )


def lost_and_doubled(house: Served, shown: Path) -> tuple[list[str], list[str]]:
    """Return what was shown as saved and is not there byte for byte, and what is there twice."""
    saved = dict(line.split() for line in shown.read_text().splitlines())
    assert saved
    there: dict[str, list[str]] = {}
    for entry in house.log():
        there.setdefault(entry["event_id"], []).append(entry["body_hash"])
    lost = [each for each, body_hash in saved.items() if body_hash not in there.get(each, [])]
    doubled = [each for each, found in there.items() if len(found) > 1]
    return lost, doubled


@pytest.mark.parametrize("much", [SHORT, pytest.param(LONG, marks=pytest.mark.long)])
def test_nothing_is_lost_or_doubled(house, tmp_path, much):
    shown = tmp_path / "shown"
    done = run(house, "faults.live.ts", shown, **much)
    print(done.stdout)
    assert done.returncode == 0, done.stdout + done.stderr
    assert lost_and_doubled(house, shown) == ([], [])
    with reach.within(*reach.EVERYWHERE):
        assert verify_log(house.engine)["ok"]


@pytest.mark.long
def test_the_same_proxy_catches_a_tablet_that_believes_a_status(house, tmp_path):
    shown = tmp_path / "shown"
    run(house, "faults.live.ts", shown, **FALSELY_ANSWERED, STUB="status")
    lost, _ = lost_and_doubled(house, shown)
    assert lost
