"""The demo's script: the fixtures, read and put in the order in which things happen. Pure.

Everything in the fixtures is invented, and none of it is a recommendation.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

FIXTURES = Path(__file__).resolve().parents[2] / "demo_fixtures"
FILES = ("house", "presets", "verifications", "procedures", "lists", "upkeep")
# A second location of the same practice: one laser, whose power fades until a check fails.
SECOND = FIXTURES / "second_location"
OF_SECOND = ("house", "presets", "verifications", "procedures", "checks")
# What is asked there too, in the same words.
_LISTS_OF_SECOND = ("before_patient", "time_out", "pause", "after_use", "start_of_day")

# When in the day the things happen that carry only a day.
SET_UP_AT = time(7, 15)
PRESET_AT = time(7, 30)
LASER_LIST_AT = time(7, 35)
CHECK_AT = time(7, 45)
LIST_AT = time(8, 10)
DESK_AT = time(17, 30)
SET_UP_DAYS_AGO = 30


@dataclass(frozen=True, kw_only=True)
class Step:
    """One thing that happens: when, of which kind, and the fixture that says what."""

    at: datetime
    kind: str
    what: Mapping[str, Any]


@dataclass(frozen=True)
class Scenario:
    """The fixtures by file name."""

    house: Mapping[str, Any]
    presets: Mapping[str, Any]
    verifications: Mapping[str, Any]
    procedures: Mapping[str, Any]
    lists: Mapping[str, Any]
    # What was noted of eyewear, keys, the inventory and maintenance, and the lists about a laser
    # that are not answered each day.
    upkeep: Mapping[str, Any] | None = None
    # The list about a laser that was answered each day, and on which days.
    checks: Mapping[str, Any] | None = None


def read(folder: Path = FIXTURES) -> Scenario:
    """Read the fixtures."""
    return Scenario(
        *(json.loads((folder / f"{name}.json").read_text(encoding="utf-8")) for name in FILES)
    )


def read_second(first: Scenario, folder: Path = SECOND) -> Scenario:
    """Read the fixtures of the second location, which asks lists of the first one."""
    parts = {
        name: json.loads((folder / f"{name}.json").read_text(encoding="utf-8"))
        for name in OF_SECOND
    }
    asked = [
        {name: value for name, value in one.items() if name != "next"}
        for one in first.lists["lists"]
        if one["kind"] in _LISTS_OF_SECOND
    ]
    return Scenario(**parts, lists={**first.lists, "lists": asked})


def steps(scenario: Scenario, *, now: datetime) -> list[Step]:
    """Return everything that happens after set-up, in order, all of it before ``now``."""
    zone = ZoneInfo(scenario.house["location"]["zone"])
    today = now.astimezone(zone).date()

    def at(day: date, when: time) -> datetime:
        return datetime.combine(day, when, zone)

    found = [
        Step(
            at=at(working_day(today, version["working_days_ago"]), PRESET_AT),
            kind="preset",
            what={**preset, **version, "number": number},
        )
        for preset in scenario.presets["presets"]
        for number, version in enumerate(preset["versions"], start=1)
    ]
    upkeep = scenario.upkeep or {}
    for asked in [*upkeep.get("lists", ()), *([scenario.checks] if scenario.checks else ())]:
        for days in asked["working_days"]:
            begins = at(working_day(today, days), LASER_LIST_AT)
            found.append(Step(at=begins, kind="laser_list", what=asked))
    for noted in upkeep.get("times", ()):
        day = working_day(today, noted["working_days_ago"])
        begins = at(day, time.fromisoformat(noted["time"]))
        found.append(Step(at=begins, kind="upkeep", what={**noted, "day": day}))
    # Each check takes its time: the next one begins ten minutes later.
    checks: dict[int, int] = {}
    for check in scenario.verifications["verifications"]:
        days = check["working_days_ago"]
        place = checks[days] = checks.get(days, -1) + 1
        begins = at(working_day(today, days), CHECK_AT) + timedelta(minutes=10 * place)
        found.append(Step(at=begins, kind="verification", what=check))
    for questions in scenario.lists["lists"]:
        following = questions.get("next")
        if following:
            day = today + timedelta(days=following["in_force_in_days"])
            begins = at(working_day(today, following["working_days_ago"]), LIST_AT)
            what = {**questions, "effective_from": day.isoformat()}
            found.append(Step(at=begins, kind="list", what=what))
    for procedure in scenario.procedures["procedures"]:
        day = working_day(today, procedure["working_days_ago"])
        found.append(
            Step(
                at=at(day, time.fromisoformat(procedure["time"])),
                kind="procedure",
                what=procedure,
            )
        )
        if procedure["placed"]:
            found.append(Step(at=at(day, DESK_AT), kind="placing", what=procedure))
        if procedure["addendum"]:
            later = day + timedelta(days=procedure["addendum"]["days_later"])
            found.append(Step(at=at(later, DESK_AT), kind="addendum", what=procedure))
    return sorted(found, key=lambda step: step.at)


def set_up_at(scenario: Scenario, *, now: datetime) -> datetime:
    """Return the moment at which the practice is opened."""
    zone = ZoneInfo(scenario.house["location"]["zone"])
    days_ago = scenario.house.get("set_up_days_ago", SET_UP_DAYS_AGO)
    day = working_day(now.astimezone(zone).date(), days_ago)
    return datetime.combine(day, SET_UP_AT, zone)


def working_day(today: date, days_ago: int) -> date:
    """Return the day that lies so many working days before ``today``, weekends left out."""
    day = today
    while days_ago > 0:
        day -= timedelta(days=1)
        if day.weekday() < 5:
            days_ago -= 1
    return day
