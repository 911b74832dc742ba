"""Plays the demo's script through the real interface, on a clock that is moved by hand.

Opening the practice and setting secrets has no request of its own; these few go to the services
that the command line uses too. Everything else is what a tablet or a desk would send.
"""

import os
from collections.abc import Callable, Mapping
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any

from api.clock import Clock, SteppedClock
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
) -> dict:
    """Load the demo into an empty, upgraded database; return what to print.

    ``open_app(clock)`` gives the application on that clock, ``projectors`` are the application's,
    ``work`` does the jobs (renderings) before a desk needs them. Everything happens before
    ``now``. Returns {"loaded", "location_id", "location_name", "sign_ins": [{name, roles,
    sign_in, password, pin}], "enrolment_code": {code, expires_at} or None}; ``loaded`` is False,
    and nothing was done, where the demo is there already. Raises ``Conflict`` where other data,
    or half a demo, is in the database.
    """
    script = scenario.read()
    there = _already_there(engine, script)
    if there is not None:
        return _answer(script, there, loaded=False, code=None)
    clock = SteppedClock(scenario.set_up_at(script, now=now))
    practice = Practice(
        settings,
        engine=engine,
        app=open_app(clock),
        projectors=projectors,
        clock=clock,
        script=script,
        random=random,
    )
    practice.set_up()
    player = _Player(practice)
    steps = scenario.steps(script, now=now)
    for number, step in enumerate(steps, start=1):
        clock.set(max(step.at, clock.now()))
        if work is not None and step.kind in ("placing", "addendum"):
            work(engine, clock)
        player.play(step)
        if progress is not None:
            progress(number, len(steps))
    if work is not None:
        work(engine, clock)
    clock.set(max(now.astimezone(UTC), clock.now()))
    code = practice.code(life=CODE_LIFE)
    return _answer(script, practice.location_id, loaded=True, code=code)


def _already_there(engine: Engine, script: scenario.Scenario) -> str | None:
    with read(engine) as connection:
        locations = readers.locations(connection)
        if not locations:
            return None
        location_id = locations[0]["location_id"]
        found = documents.get(connection, location_id, "location", location_id) or {}
        records = documents.list(connection, location_id, "record")
    if found.get("practice_name") != script.house["location"]["practice_name"]:
        raise Conflict("database_in_use", "The database holds another practice; no demo into it.")
    if len(records) < len(script.procedures["procedures"]):
        raise Conflict(
            "demo_incomplete",
            "Loading the demo was interrupted before. Empty the data folder and load it again.",
        )
    return location_id


def _answer(
    script: scenario.Scenario, location_id: str, *, loaded: bool, code: dict | None
) -> dict:
    return {
        "loaded": loaded,
        "location_id": location_id,
        "location_name": script.house["location"]["name"],
        "sign_ins": [
            {
                "name": person["display_name"],
                **{name: person[name] for name in ("roles", "sign_in", "password", "pin")},
            }
            for person in script.house["people"]
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
        with self._practice.desk("alder") as officer:
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
