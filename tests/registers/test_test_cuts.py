"""Test cuts by hand, what cannot be read, and the documents that events make."""

import json
from pathlib import Path

import pytest

from api.app import PROJECTORS
from api.devices import optics, test_cut
from api.errors import BadInput
from tests.registers.test_documents import Log, log

__all__ = ["Log", "log"]

VECTORS = json.loads(
    (Path(__file__).resolve().parents[1] / "vectors" / "test_cuts.json").read_text("utf-8")
)


def documents(said):
    reference = {
        "test_cut_reference_id": "r",
        "expected_average_power": said["power"],
        "spot_diameter": said["spot"],
    }
    cut = {
        "test_cut_id": "c",
        "reference_id": "r",
        "done_at": "2026-03-02T09:30:00.000+01:00",
        "cut_length": said["length"],
        "cut_time": said["time"],
        "depths": said["depths"],
    }
    return reference, cut


@pytest.mark.parametrize("said", VECTORS["cuts"], ids=lambda said: said["how"][:20])
def test_a_cut_by_hand(said):
    reference, cut = documents(said)
    [check] = test_cut.checks_of(reference, [cut, {**cut, "reference_id": "another"}])
    assert check.value == pytest.approx(said["ratio"], abs=1e-12)
    assert (check.check_id, check.at, check.failed) == ("c", cut["done_at"], False)


def test_the_depth_by_hand():
    depth = test_cut.expected_depth_m(power_w=4, spot_diameter_m=0.25e-3, length_m=40e-3, time_s=20)
    assert depth == pytest.approx(3.2e-3)
    with pytest.raises(BadInput):
        test_cut.expected_depth_m(power_w=4, spot_diameter_m=0.25e-3, length_m=40e-3, time_s=0)


def test_the_heat_is_that_of_water():
    """Heat capacity 4.19 J/(g K) and heat of vaporisation 2256 J/g, both printed in tables.

    From 20 to 100 C: 335 + 2256 = 2591 J for a cubic centimetre; the design's 2.5 kJ is within 5 %.
    """
    assert pytest.approx((4.19 * 80 + 2256) * 1e6, rel=0.05) == test_cut.WATER_HEAT_J_M3


@pytest.mark.parametrize("said", VECTORS["unreadable"])
def test_what_cannot_be_read_says_nothing(said):
    reference, cut = documents(said)
    assert test_cut.checks_of(reference, [cut]) == []


@pytest.mark.parametrize(("type", "kind"), optics.KINDS.items())
def test_each_becomes_a_document_with_when_and_by_whom(log, type, kind):
    log.enter(optics, type, "x1", {"device_id": "d"})
    found = log.get(kind, "x1")
    assert found == {
        "device_id": "d",
        f"{kind}_id": "x1",
        "status": "current",
        "event_id": "e1",
        "done_at": "2026-03-02T09:30:00.000+01:00",
        "done_utc": "2026-03-02T08:30:00.000+00:00",
        "done_by": "person-1",
    }
    assert PROJECTORS[type] is optics.project


def test_a_test_cut_is_no_verification(log):
    """Whatever a cut says, no verification comes of it, which alone feeds a dose."""
    log.enter(optics, "test_cut.recorded", "x1", {"device_id": "d", "depths": ["9 mm"]})
    assert log.get("verification", "x1") is None
