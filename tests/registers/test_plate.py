"""One laser under several ids, by its plate: the shared vectors."""

import json
from pathlib import Path

import pytest

from api.devices import plate

VECTORS = Path(__file__).resolve().parents[1] / "vectors" / "plates.json"
CASES = json.loads(VECTORS.read_text("utf-8"))["cases"]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
def test_which_ids_are_of_one_laser(case):
    names = ("device_id", "maker", "model", "serial")
    lasers = [dict(zip(names, one, strict=True)) for one in case["lasers"]]
    assert plate.under_all_ids(lasers, case["of"]) == case["ids"]
