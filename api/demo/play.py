"""Plays the demo's script through the real interface, on a clock that is moved by hand.

Opening the practice and setting secrets has no request of its own; these few go to the services
that the command line uses too. Everything else is what a tablet or a desk would send.
"""

import os
from collections.abc import Callable, Mapping, Sequence
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from types import MappingProxyType
from typing import Any

from api.clock import Clock, SteppedClock, rfc3339
from api.demo import scenario
from api.demo.case import WAVELENGTH, Case
from api.demo.practice import Practice
from api.demo.tablet_client import TabletClient
from api.devices import verification
from api.errors import Conflict
from api.settings import Settings
from api.storage import documents, readers
from api.storage.engine import Engine, read

# Longer than an ordinary code: it is printed at set-up, and the reader may first want to read.
CODE_LIFE = timedelta(hours=24)
# To look at a point of a list about a laser.
SECONDS_A_POINT = 8

Progress = Callable[[int, int], None]
Random = Callable[[int], bytes]


def load(
    settings: Settings,
    *,
    engine: Engine,
    open_app: Callable[[Clock], Any],
    projectors: Mapping[str, Callable],
    now: datetime,
    work: Callable[[Engine, Clock], int] | None = None,
    progress: Progress | None = None,
    random: Random = os.urandom,
    one_location: bool = False,
) -> dict:
    """Load the demo into an empty, upgraded database; return what to print.

    With ``one_location`` the second location is left out.

    ``open_app(clock)`` gives the application on that clock, ``projectors`` are the application's,
    ``work`` does the jobs (renderings) before a desk needs them. Everything happens before
    ``now``. Returns {"loaded", "location_id", "location_name", "sign_ins": [{name, location, roles,
    sign_in, password, pin}], "enrolment_code": {code, expires_at} or None}; ``loaded`` is False,
    and nothing was done, where the demo is there already. Raises ``Conflict`` where other data,
    or half a demo, is in the database.
    """
    script = scenario.read()
    second = scenario.read_second(script)
    there = _already_there(engine, script)
    if there is not None:
        location_id, names = there
        scripts = [one for one in (script, second) if one.house["location"]["name"] in names]
        return _answer(scripts, location_id, loaded=False, code=None)
    scripts = [script] if one_location else [script, second]
    means = {"engine": engine, "open_app": open_app, "projectors": projectors, "random": random}
    plays = [(one, scenario.steps(one, now=now)) for one in scripts]
    count, number = sum(len(steps) for _, steps in plays), 0
    practice = _open(settings, script, now=now, **means)
    for one, steps in plays:
        here = practice
        if one is not script:
            shared = {
                person["key"]: practice.ids[person["key"]]
                for person in one.house["people"]
                if person.get("works_elsewhere")
            }
            here = _open(settings, one, now=now, known=shared, **means)
        player = _Player(here)
        for step in steps:
            here.clock.set(max(step.at, here.clock.now()))
            if work is not None and step.kind in ("placing", "addendum"):
                work(engine, here.clock)
            player.play(step)
            number += 1
            if progress is not None:
                progress(number, count)
        if work is not None:
            work(engine, here.clock)
    clock = practice.clock
    clock.set(max(now.astimezone(UTC), clock.now()))
    code = practice.code(life=CODE_LIFE)
    return _answer(scripts, practice.location_id, loaded=True, code=code)


def _open(
    settings: Settings,
    script: scenario.Scenario,
    *,
    engine: Engine,
    open_app: Callable[[Clock], Any],
    projectors: Mapping[str, Callable],
    now: datetime,
    random: Random,
    known: Mapping[str, str] = MappingProxyType({}),
) -> Practice:
    """Open a location of the script on a clock of its own, and set it up."""
    clock = SteppedClock(scenario.set_up_at(script, now=now))
    practice = Practice(
        settings,
        engine=engine,
        app=open_app(clock),
        projectors=projectors,
        clock=clock,
        script=script,
        random=random,
        known=known,
    )
    practice.set_up()
    return practice


def _already_there(engine: Engine, script: scenario.Scenario) -> tuple[str, set[str]] | None:
    """Return the id of the location that was opened first, and the names of all."""
    with read(engine) as connection:
        locations = readers.locations(connection)
        if not locations:
            return None
        # The one that was opened first.
        location_id = min(locations, key=lambda one: one["opened_at"])["location_id"]
        places = {
            each: documents.get(connection, each, "location", each) or {}
            for each in (one["location_id"] for one in locations)
        }
        records = documents.list(connection, location_id, "record")
    if places[location_id].get("practice_name") != script.house["location"]["practice_name"]:
        raise Conflict("database_in_use", "The database holds another practice; no demo into it.")
    if len(records) < len(script.procedures["procedures"]):
        raise Conflict(
            "demo_incomplete",
            "Loading the demo was interrupted before. Empty the data folder and load it again.",
        )
    return location_id, {one["name"] for one in places.values()}


def _answer(
    scripts: Sequence[scenario.Scenario], location_id: str, *, loaded: bool, code: dict | None
) -> dict:
    return {
        "loaded": loaded,
        "location_id": location_id,
        "location_name": scripts[0].house["location"]["name"],
        "sign_ins": [
            {
                "name": person["display_name"],
                "location": one.house["location"]["name"],
                **{name: person[name] for name in ("roles", "sign_in", "password", "pin")},
            }
            for one in scripts
            for person in one.house["people"]
            if not person.get("works_elsewhere")
        ],
        "enrolment_code": code,
    }


class _Player:
    """Does the steps of the script, one after another."""

    def __init__(self, practice: Practice) -> None:
        self._practice = practice
        self._records: dict[tuple, str] = {}

    def play(self, step: scenario.Step) -> None:
        """Do one step."""
        getattr(self, f"_{step.kind}")(step.what)

    def _tablet_of(self, what: Mapping, person: str) -> TabletClient:
        tablet = self._practice.tablets[what.get("tablet", "tablet-1")]
        tablet.sign_in(self._practice.ids[person], self._practice.people[person]["pin"])
        return tablet

    def _preset(self, what: Mapping) -> None:
        handpiece = next(
            one
            for one in self._practice.script.house["handpieces"]
            if one["key"] == what["handpiece"]
        )
        spot = what.get("spot") or {
            "diameter": handpiece["spot_diameter"],
            "diameter_definition": handpiece["diameter_definition"],
        }
        payload = {
            "version": what["number"],
            "name": what["name"],
            "procedure_kind_id": self._practice.ids[what["kind"]],
            "device_id": self._practice.ids[what["device"]],
            "handpiece_id": self._practice.ids[what["handpiece"]],
            "settings": {"wavelength": WAVELENGTH, "emission": what["emission"], "spot": spot},
            "spot_known": what.get("spot_known") or handpiece["spot_known"],
            "focus": what["focus"],
            "coolant": what["coolant"],
            "note": what["note"],
            "reviewed_by": self._practice.ids[what["reviewed_by"]],
        }
        tablet = self._tablet_of(what, what["reviewed_by"])
        before = what["number"] - 1
        tablet.record(
            "preset.published", self._practice.id_of(what), payload, base_version=before or None
        )
        tablet.push()
        tablet.lock()

    def _verification(self, what: Mapping) -> None:
        checks = self._practice.script.verifications
        worked_out = verification.work_out(
            readings_w=[
                (_watts(one["expected_average_power"]), [_watts(text) for text in one["measured"]])
                for one in what["readings"]
            ],
            meter_uncertainty=checks["meter_uncertainty"],
        )
        meter = dict(checks["meter"])
        calibrated = self._practice.clock.now() - timedelta(days=meter.pop("calibrated_days_ago"))
        payload = {
            "device_id": self._practice.ids[what["device"]],
            "handpiece_id": self._practice.ids[what["handpiece"]],
            "mode": what["mode"],
            "meter": {**meter, "calibrated_on": calibrated.date().isoformat()},
            "readings": [
                {
                    "settings": {"emission": one["emission"]},
                    "expected_average_power": one["expected_average_power"],
                    "measured": one["measured"],
                }
                for one in what["readings"]
            ],
            "ratio": str(worked_out.ratio),
            "ratio_uncertainty": str(worked_out.ratio_uncertainty),
            "meter_uncertainty": checks["meter_uncertainty"],
            "verdict": worked_out.verdict,
            "rule": verification.RULE,
            "note": what["note"],
        }
        tablet = self._tablet_of(what, checks["by"])
        tablet.record("verification.recorded", tablet.new_id(), payload)
        tablet.push()
        tablet.lock()

    def _laser_list(self, what: Mapping) -> None:
        """Answer a list about a laser, every point of it with yes."""
        tablet, clock = self._tablet_of(what, what["by"]), self._practice.clock
        tablet.pull("house")
        ids = self._practice.ids
        asked = tablet.documents["list", ids[what["list"]]]
        answers = []
        for item in asked["items"]:
            clock.advance(SECONDS_A_POINT)
            answers.append(
                {
                    **{name: item[name] for name in ("item_id", "text")},
                    "answer": "yes",
                    "note": None,
                    "answered_at": rfc3339(tablet.now()),
                    "by": ids[what["by"]],
                }
            )
        payload = {
            "device_id": ids[what["device"]],
            "kind": asked["kind"],
            "list_id": asked["list_id"],
            "list_version": asked["version"],
            "list_event_id": asked["event_id"],
            "title": asked["title"],
            "answers": answers,
            "verdict": "passed",
            "done_at": rfc3339(tablet.now()),
            "note": None,
        }
        tablet.record("device.checked", tablet.new_id(), payload)
        tablet.push()
        tablet.lock()

    def _list(self, what: Mapping) -> None:
        """Publish the next version of a list for a later day, and have it read by some."""
        following, list_id = what["next"], self._practice.ids[what["key"]]
        payload = {
            **self._practice.asked(what),
            "items": [*what["items"], *following["added"]],
            "version": 2,
            "effective_from": what["effective_from"],
            "needs_acknowledgement": True,
        }
        with self._practice.desk(self._practice.script.house["officer"]) as officer:
            officer.command("list.published", list_id, payload, base_version=1)
        for person in following["read_by"]:
            tablet = self._tablet_of(what, person)
            tablet.record("list.acknowledged", list_id, {"version": 2})
            tablet.push()
            tablet.lock()

    def _procedure(self, what: Mapping) -> None:
        tablet = self._practice.tablets[what["tablet"]]
        case = Case(
            tablet=tablet, clock=self._practice.clock, house=self._practice.case_house, what=what
        )
        self._records[_case_key(what)] = case.play()

    def _placing(self, what: Mapping) -> None:
        payload = {"how": what["placed"], "note": None}
        with self._practice.desk("poppy") as front_desk:
            front_desk.command("record.placed_in_chart", self._records[_case_key(what)], payload)

    def _addendum(self, what: Mapping) -> None:
        payload = {name: what["addendum"][name] for name in ("text", "reason")}
        tablet = self._tablet_of(what, what["operator"])
        tablet.record("record.addended", self._records[_case_key(what)], payload)
        tablet.push()
        tablet.lock()


def _case_key(what: Mapping) -> tuple:
    return (what["chart_number"], what["working_days_ago"])


def _watts(text: str) -> Decimal:
    return Decimal(text.removesuffix(" W"))
