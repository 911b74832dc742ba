"""Random cuts, repeats, old requests and restarts: acknowledged is never lost and never doubled."""

import os
import random
from collections import Counter

import pytest

from api.app import create_app
from api.errors import DomainError
from api.group import entries
from api.storage import followed, replication
from api.storage.engine import read

FAULTS = ("cut there", "cut back", "short back", "spoilt", "twice", "old first", "none", "none")


class Storm:
    """Does to each request what chance says, and keeps what was sent to send it once more later."""

    def __init__(self, chance: random.Random) -> None:
        self.chance, self.kept, self.seen = chance, [], Counter()

    def __call__(self, wire, path, body, headers):
        fault = self.chance.choice(FAULTS)
        self.seen[fault] += 1
        if fault == "cut there":
            raise OSError("cut")
        if fault == "spoilt":
            at = self.chance.randrange(len(body))
            return wire.carry(path, body[:at] + b"#" + body[at + 1 :], headers)
        if fault == "old first" and self.kept:
            wire.carry(*self.chance.choice(self.kept))
        self.kept.append((path, body, headers))
        answer = wire.carry(path, body, headers)
        if fault == "twice":
            answer = wire.carry(path, body, headers)
        if fault == "cut back":
            raise OSError("cut")
        if fault == "short back":
            return answer[0], answer[1][: self.chance.randrange(len(answer[1]) - 1)]
        return answer


def storm(two, chair, *, steps, seed):
    print(f"seed {seed}")
    chance = random.Random(seed)
    weather = Storm(chance)
    two.wire.spoil = weather
    _, note = chair
    acknowledged = 0
    for step in range(steps):
        for number in range(chance.randrange(4)):
            note(f"{step}.{number}")
        if chance.random() < 0.1:
            # The group's server is started anew, on the same database.
            settings = two.group.settings
            two.group.engine.dispose()
            two.group_app = two.wire.app = create_app(settings, clock=two.clock)
        two.clock.advance(1)
        try:
            two.once()
        except DomainError as problem:
            assert problem.code not in ("group_forked", "group_ahead", "entry_collides"), problem
        with read(two.house.engine) as connection:
            row = replication.get(connection, two.practice.location_id) or {"position": 0}
        # What was acknowledged is there, with the very link, and is never taken back.
        assert row["position"] >= acknowledged
        acknowledged = row["position"]
        if acknowledged:
            held = two.rows(two.group.engine, two.practice.location_id)
            assert held[acknowledged - 1]["link"] == row["link"]
    two.wire.spoil = None
    two.once()
    assert two.same()
    assert [one["state"] for one in two.histories()] == [followed.CURRENT]
    # There has to have been bad weather, or it shows nothing.
    assert len(weather.seen) >= len(set(FAULTS)) - 1


def test_a_short_storm(two, chair, monkeypatch):
    monkeypatch.setattr(entries, "MOST_ENTRIES", 3)
    storm(two, chair, steps=14, seed=20261128)


@pytest.mark.long
@pytest.mark.both_databases
def test_a_long_storm(two, chair, monkeypatch):
    monkeypatch.setattr(entries, "MOST_ENTRIES", 5)
    seed = int(os.environ.get("DOSEBOOK_SEED", "0")) or random.randrange(2**32)
    storm(two, chair, steps=300, seed=seed)
