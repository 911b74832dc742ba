"""Lists in force and lists answered late, against the vectors that the tablet reads too."""

import json
from pathlib import Path

import pytest

from api.clock import parse_rfc3339
from api.safety.in_force import in_force, upcoming
from api.safety.lateness import AFTER_USE_WITHIN_S, lateness

VECTORS = Path(__file__).resolve().parents[1] / "vectors"


def cases(name: str) -> list:
    found = json.loads((VECTORS / f"{name}.json").read_text())["cases"]
    return [pytest.param(one, id=one["name"]) for one in found]


@pytest.mark.parametrize("case", cases("lists_in_force"))
def test_the_version_in_force(case):
    document = {
        "versions": [{"version": number, "effective_from": day} for number, day in case["versions"]]
    }
    when = {"at": parse_rfc3339(case["at"]), "zone": case["zone"]}
    found = in_force(document, **when)
    assert (found and found["version"]) == case["in_force"], case["why"]
    assert [one["version"] for one in upcoming(document, **when)] == case["upcoming"], case["why"]


@pytest.mark.parametrize("case", cases("lateness"))
def test_lists_in_time_late_and_not_answered(case):
    within = case.get("after_use_within_s", AFTER_USE_WITHIN_S)
    names = ("kind", "state", "late_by_s", "completed_at", "pause_from_at")
    assert lateness(case["record"], after_use_within_s=within) == [
        dict(zip(names, row, strict=True)) for row in case["rows"]
    ], case["why"]


def test_the_limit_after_use_is_the_one_the_vectors_were_made_for():
    assert AFTER_USE_WITHIN_S == 1800


def test_a_list_that_allows_for_ever_is_in_time():
    """The largest whole number that the log takes."""
    answered = {"kind": "after_use", "completed_at": "2999-12-31T23:59:00Z", "within_s": 2**53 - 1}
    record = {"passes": [], "ended_at": "2999-12-31T23:30:00Z", "lists": [answered]}
    assert lateness(record)[-1]["state"] == "in time"
    answered["within_s"] = 60
    assert (lateness(record)[-1]["state"], lateness(record)[-1]["late_by_s"]) == ("late", 1680)
