"""A tablet that was away for thirty days sends 3,000 entries: each once, in a minute, evenly.

The sixty seconds are the design's. On a machine that has no time for anything else they would say
nothing, so that there it counts that the second half takes no longer than the first, and that no
more requests are made than 3,000 entries in batches of fifty need.
"""

import json
from pathlib import Path

import pytest

from api.audit.verify import verify_log
from api.storage import reach
from tests.faults.served import BATCH_EVENTS, Served, served
from tests.faults.test_in_the_way import lost_and_doubled, run

EVENTS, DRAINED_S = 3_000, 60


@pytest.fixture(params=["sqlite", "postgresql"], scope="module")
def house(request, tmp_path_factory):
    database = None if request.param == "sqlite" else request.getfixturevalue("postgresql_server")
    with served(request.param, tmp_path_factory.mktemp("away"), database) as made:
        yield made


def drained(house: Served, folder: Path, **more: str) -> dict:
    """Let the tablet come back; return {requests, took_s, halves}: second half / first half."""
    shown, told = folder / "shown", folder / "told"
    done = run(house, "drain.live.ts", shown, TOLD=str(told), **more)
    assert done.returncode == 0, done.stdout + done.stderr
    assert lost_and_doubled(house, shown) == ([], [])
    return json.loads(told.read_text())


def is_in_time(found: dict, events: int) -> bool:
    even = found["halves"] < 2
    return found["requests"] <= events / BATCH_EVENTS + 1 and (found["took_s"] < DRAINED_S or even)


@pytest.mark.long
def test_three_thousand_entries_are_drained_in_a_minute(house, tmp_path):
    found = drained(house, tmp_path, EVENTS=str(EVENTS))
    print(json.dumps(found))
    assert is_in_time(found, EVENTS)
    with reach.within(*reach.EVERYWHERE):
        assert verify_log(house.engine)["ok"]


@pytest.mark.long
def test_the_same_look_catches_one_entry_a_request(house, tmp_path):
    assert not is_in_time(drained(house, tmp_path, EVENTS="100", STUB="one"), 100)
