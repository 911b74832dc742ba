"""Plays the demo's script through the real interface, on a clock that is moved by hand.

Opening the practice and setting secrets has no request of its own; these few go to the services
that the command line uses too. Everything else is what a tablet or a desk would send.
"""

import os
from collections.abc import Callable, Mapping, Sequence
from datetime import UTC, datetime, timedelta
from types import MappingProxyType
from typing import Any

from api.clock import Clock, SteppedClock
from api.demo import scenario
from api.demo.player import Player
from api.demo.practice import Practice
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
        player = Player(here)
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
