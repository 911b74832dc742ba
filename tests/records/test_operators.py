"""What stood against an operator, by the shared vectors (their rule is said there)."""

import json
from datetime import date
from pathlib import Path

import pytest

from api.clock import parse_rfc3339
from api.records.operators import findings

VECTORS = json.loads(
    (Path(__file__).resolve().parent.parent / "vectors" / "operators.json").read_text("utf-8")
)


def short(found):
    return [[one["code"], one["kind"], one["expires_on"]] for one in found]


@pytest.mark.parametrize("case", VECTORS["cases"], ids=lambda case: case["name"])
def test_what_stood_in_the_register(case):
    found = findings(
        VECTORS["person"],
        at=parse_rfc3339(case["at"]),
        day=date.fromisoformat(case["day"]),
        device_id=case["device_id"],
        procedure_kind_id=case["procedure_kind_id"],
    )
    assert short(found) == case["expect"]


@pytest.mark.parametrize("case", VECTORS["as_before"], ids=lambda case: case["name"])
def test_a_person_as_an_older_version_registered_them(case):
    found = findings(
        {"licence_expires": case["licence_expires"]},
        at=parse_rfc3339(f"{case['day']}T12:00:00Z"),
        day=date.fromisoformat(case["day"]),
        device_id="laser-a",
        procedure_kind_id=None,
    )
    assert short(found) == case["expect"]
