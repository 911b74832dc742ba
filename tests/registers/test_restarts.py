"""After what a trend begins anew: the shared vectors."""

import json
from pathlib import Path

import pytest

from api.clock import parse_rfc3339
from api.devices import restarts, trend

VECTORS = Path(__file__).resolve().parents[1] / "vectors" / "restarts.json"
CASES = json.loads(VECTORS.read_text("utf-8"))["cases"]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
def test_restarts(case):
    found = restarts.restarts_of(
        "laser", **{name: case[name] for name in ("maintenance", "causes", "zone")}
    )
    expected = [(each, parse_rfc3339(at)) for each, at in case["expect"]]
    assert [(each, parse_rfc3339(at)) for each, at in found] == expected
    # A trend takes them as they are.
    assert trend.trend([], found).parts
