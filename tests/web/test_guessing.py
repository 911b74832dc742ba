"""Ten thousand guesses at a PIN, from one tablet and from twenty: ten are looked at, none gets in.

The guesser is patient: whenever the server says until when to wait, the clock is put there. The
check does some hundred; ten thousand, as people.md asks, are in the long check.
"""

from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import pytest

from api.clock import parse_rfc3339
from api.people import attempts
from api.settings import API_PREFIX
from api.storage.engine import write
from tests.web.practice import PIN

FEW, ALL = 120, 10_000
many = [pytest.param(FEW), pytest.param(ALL, marks=pytest.mark.long)]


@pytest.fixture
def settings(settings):
    """With the limits that a practice has."""
    return replace(settings, limit_factor=1)


@pytest.fixture
def guesser(practice, clock):
    return Guesser(practice, clock)


class Guesser:
    """Guesses at the clinician's PIN, from as many tablets as it got hold of."""

    def __init__(self, practice, clock):
        self.practice, self.clock = practice, clock
        practice.give_secrets("clinician")
        self.person_id = practice.people["clinician"]
        self.guesses = (f"{number:06d}" for number in range(10**6) if f"{number:06d}" != PIN)

    def tablets(self, count):
        """Enrol tablets; not too many in a minute, or the server refuses that as well."""
        headers = []
        for number in range(count):
            if number % 5 == 4:
                self.clock.advance(60)
            tablet = self.practice.tablet()
            tablet.prove()
            headers.append(tablet._headers())
        return headers

    def ask(self, headers, pin):
        answer = self.practice.app.test_client().post(
            f"{API_PREFIX}/session/pin",
            json={"person_id": self.person_id, "pin": pin},
            headers=headers,
        )
        if answer.status_code == 429:
            assert int(answer.headers["Retry-After"]) >= 1
        return answer

    def guess(self, tablets, count):
        """Guess ``count`` times in turn; return how often the server answered what."""
        said = Counter()
        for number in range(count):
            answer = self.ask(tablets[number % len(tablets)], next(self.guesses))
            said[answer.json["code"]] += 1
            if "until" in answer.json:
                self.clock.set(max(self.clock.now(), parse_rfc3339(answer.json["until"])))
        return said


@pytest.mark.parametrize("count", many)
@pytest.mark.parametrize("tablets", [1, 20])
def test_ten_guesses_are_looked_at_however_many_come(guesser, count, tablets):
    elsewhere = guesser.practice.tablet("clinician")
    held = guesser.tablets(tablets)
    said = guesser.guess(held, count)
    assert said["pin_wrong"] == attempts.PIN_DISABLED_FROM
    assert set(said) <= {"pin_wrong", "pin_locked", "pin_disabled", "too_often"}
    assert sum(said.values()) == count
    # From then on the right one does not help either, and a session open elsewhere goes on.
    guesser.clock.advance(60)
    assert guesser.ask(held[0], PIN).json["code"] == "pin_disabled"
    assert elsewhere.ask("GET", "/records")["records"] == []


def test_twenty_tablets_at_once_gain_nothing(guesser):
    held = guesser.tablets(20)
    with ThreadPoolExecutor(20) as pool:
        said = Counter(pool.map(lambda one: guesser.ask(one, "000000").json["code"], held))
    assert said["pin_wrong"] == attempts.LOCK_FROM
    assert set(said) == {"pin_wrong", "pin_locked"}


def test_a_password_at_a_desk_opens_the_pin_again(guesser):
    [held] = guesser.tablets(1)
    guesser.guess([held], 40)
    guesser.clock.advance(60)
    assert guesser.ask(held, PIN).json["code"] == "pin_disabled"
    desk = guesser.practice.desk("clinician")
    assert guesser.ask(held, PIN).status_code == 200
    assert desk.ask("GET", "/session")["roles"] == ["clinician"]


def test_without_the_count_by_person_they_would_be_looked_at(guesser, monkeypatch):
    """The known-bad twin: a count that forgets lets all through that the tablet's limit lets."""

    def forgetful(engine, *, location_id, kind, subject, now):
        with write(engine) as connection:
            attempts.forgive(connection, location_id=location_id, kind=kind, subject=subject)
        return 1

    monkeypatch.setattr(attempts, "take", forgetful)
    said = guesser.guess(guesser.tablets(1), 25)
    assert said["pin_wrong"] == 25 > attempts.PIN_DISABLED_FROM
