"""What was used here before: by hand, against Python, and without what does not count."""

import json
import statistics
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.presets.usage import LEAST_RECORDS, median, usage

VECTORS = json.loads(
    (Path(__file__).resolve().parents[1] / "vectors" / "usage.json").read_text(encoding="utf-8")
)
AT = "2026-11-25T10:15:30+01:00"
NUMBERS = st.floats(min_value=1e-6, max_value=1e6, allow_nan=False)


def record(row):
    record_id, status, kind, device, tip, passes, at = row
    return {
        "record_id": record_id,
        "status": status,
        "procedure": {"procedure_kind_id": kind},
        "device": {"device_id": device, "label": f"Label of {device}"},
        "handpiece": {"handpiece_id": tip, "label": f"Label of {tip}"},
        "passes": [a_pass(one, at) for one in passes],
    }


def a_pass(row, at):
    seconds, power, irradiance, fluence, delivered, tip = row
    values = {"average_power": power, "irradiance_mean": irradiance, "fluence_mean": fluence}
    return {
        "laser_on_s": seconds,
        "started_at": at,
        "handpiece": tip and {"handpiece_id": tip, "label": f"Label of {tip}"},
        "dose": {
            "set": {name: value for name, value in values.items() if value is not None},
            "delivered": None if delivered is None else {"average_power": delivered},
        },
    }


def by_tip(found):
    return {group["handpiece_id"]: group for group in found["groups"]}


def test_the_hand_example():
    found = usage(map(record, VECTORS["records"]), procedure_kind_id=VECTORS["procedure_kind_id"])
    expected = VECTORS["expected"]
    assert by_tip(found) == by_tip(expected)
    assert (found["records"], found["groups"][0]) == (expected["records"], expected["groups"][0])


def test_nothing_used_is_nothing_shown():
    assert usage([], procedure_kind_id="frenum") == {
        "procedure_kind_id": "frenum",
        "records": 0,
        "groups": [],
    }


@given(st.lists(NUMBERS, min_size=1, max_size=30))
def test_the_median_is_that_of_pythons_statistics(values):
    assert median(values) == pytest.approx(statistics.median(values), rel=1e-15)


def test_no_median_without_a_value():
    with pytest.raises(ValueError, match="without a value"):
        median([])


@given(st.lists(NUMBERS, min_size=1, max_size=12))
def test_one_pass_a_record_comes_to_their_median_and_range(powers):
    rows = [
        [f"r{n}", "signed", "k", "d", "h", [[1.0, power, None, None, None, None]], AT]
        for n, power in enumerate(powers)
    ]
    [group] = usage(map(record, rows), procedure_kind_id="k")["groups"]
    shown = group["set"]["average_power"]
    assert (shown["low"], shown["high"], shown["records"]) == (
        min(powers),
        max(powers),
        len(powers),
    )
    if len(powers) < LEAST_RECORDS:
        assert (shown["values"], shown["median"]) == (sorted(powers), None)
    else:
        assert shown["values"] is None
        assert shown["median"] == pytest.approx(statistics.median(powers), rel=1e-15)


def test_many_passes_of_two_records_are_no_median():
    rows = [
        ["r1", "signed", "k", "d", "h", [[1.0, 2.0, None, None, None, None]] * 5, AT],
        ["r2", "signed", "k", "d", "h", [[1.0, 4.0, None, None, None, None]] * 5, AT],
    ]
    [group] = usage(map(record, rows), procedure_kind_id="k")["groups"]
    assert group["set"]["average_power"]["median"] is None
    assert len(group["set"]["average_power"]["values"]) == 10
