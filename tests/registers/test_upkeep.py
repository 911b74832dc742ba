"""Maintenance and incidents: what was said last counts, whenever it arrives."""

import copy
import itertools
import json
from pathlib import Path

import pytest

from api.registers import upkeep

# Written by hand from the design; the tablet's own fold reads the same file.
CASES = json.loads((Path(__file__).parents[1] / "vectors" / "upkeep.json").read_text())["cases"]
FOLDS = {"maintenance": upkeep.maintenance, "incident": upkeep.incident}


def folded(entries):
    document = None
    for entry in entries:
        fold = FOLDS[entry["body"]["type"].split(".")[0]]
        document = fold(document, entry["body"], entry["payload"])
    return document


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
def test_the_document_is_the_one_written_by_hand(case):
    before = copy.deepcopy(case["entries"])
    assert folded(case["entries"]) == case["document"]
    assert case["entries"] == before


@pytest.mark.parametrize(
    "case", [one for one in CASES if "incident_id" in one["document"]], ids=lambda one: one["name"]
)
def test_an_incident_comes_to_the_same_in_whatever_order_its_entries_come(case):
    for order in itertools.permutations(case["entries"]):
        assert folded(order) == case["document"]
