"""The verdict about a measured power, at its limits and around them."""

import json
import math
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pytest

from api.devices import verification
from api.errors import BadInput

# For both languages; e = |ratio - 1| + u: ok up to 0.10, warn up to 0.20, fail above; by hand.
VECTORS = json.loads(
    (Path(__file__).resolve().parents[1] / "vectors" / "verification.json").read_text("utf-8")
)
VERDICTS = VECTORS["verdicts"]


@pytest.mark.parametrize(("ratio", "uncertainty", "verdict"), VERDICTS)
def test_verdict(ratio, uncertainty, verdict):
    assert verification.judge(ratio=ratio, meter_uncertainty=uncertainty) == verdict


def test_binary_fractions_would_be_caught():
    """The known-bad stub: with floats, 0.15 + 0.05 lies above 0.20, and 0.85 would fail."""

    def judge(*, ratio, meter_uncertainty):
        error = abs(float(ratio) - 1) + float(meter_uncertainty)
        return "fail" if error > 0.20 else "warn" if error > 0.10 else "ok"

    wrong = [one for one in VERDICTS if judge(ratio=one[0], meter_uncertainty=one[1]) != one[2]]
    assert wrong


@pytest.mark.parametrize(
    ("ratio", "uncertainty"),
    [("NaN", "0.05"), ("Infinity", "0"), ("-0.1", "0"), ("1", "-0.01"), ("0,93", "0"), ("", "0")],
)
def test_what_is_no_ratio_is_refused(ratio, uncertainty):
    with pytest.raises(BadInput):
        verification.judge(ratio=ratio, meter_uncertainty=uncertainty)


def readings(*settings):
    return [
        (Decimal(expected), [Decimal(one) for one in measured]) for expected, measured in settings
    ]


def test_a_check_worked_out_by_hand():
    """4 W: mean of 3.7, 3.8, 3.7 is 11.2 / 3 = 3.7333, ratio 0.93333; 8 W: mean 7.4, ratio 0.925.

    Mean ratio (0.93333 + 0.925) / 2 = 0.92917. Meter 0.05 at k = 2 is 0.025. Spread: at 4 W the
    deviations are -1/30, 2/30, -1/30, squares sum to 6/900, variance 1/300, of the mean 1/900,
    relative 1/900 / 13.9378 = 7.9719e-5; at 8 W: deviations 0.1, 0, -0.1, variance 0.01, of the
    mean 0.0033333, relative / 54.76 = 6.0872e-5; sum 1.40591e-4, / 4 = 3.5148e-5. Together
    sqrt(6.25e-4 + 3.5148e-5) = sqrt(6.60148e-4) = 0.025693.
    """
    found = verification.work_out(
        readings_w=readings(("4", ["3.7", "3.8", "3.7"]), ("8", ["7.5", "7.4", "7.3"])),
        meter_uncertainty="0.05",
    )
    assert found.ratio == Decimal("0.9292")
    assert found.ratio_uncertainty == Decimal("0.0257")
    assert found.setting_ratios == (Decimal("0.9333"), Decimal("0.9250"))
    assert (found.verdict, found.remarks) == ("warn", ())


def test_each_setting_is_judged():
    """0.78 and 1.2 average 0.99, which alone would be fine."""
    found = verification.work_out(
        readings_w=readings(("10", ["7.8"] * 3), ("10", ["12"] * 3)), meter_uncertainty="0"
    )
    assert (found.ratio, found.verdict) == (Decimal("0.9900"), "fail")


def test_too_few_settings_and_readings_are_said():
    found = verification.work_out(readings_w=readings(("4", ["4", "4"])), meter_uncertainty="0")
    assert found.remarks == ("too_few_settings", "too_few_readings")


@pytest.mark.parametrize("bad", [[], [("4", [])], [("0", ["1"])], [("-1", ["1"])]])
def test_without_readings_there_is_no_check(bad):
    with pytest.raises(BadInput):
        verification.work_out(readings_w=readings(*bad), meter_uncertainty="0.05")


def _verdict(error):
    return "fail" if error > Fraction(1, 5) else "warn" if error > Fraction(1, 10) else "ok"


def by_fractions(one):
    """Work a check out with exact fractions, apart from both programs."""
    meter, ratios, spread = Fraction(one["meter_uncertainty"]), [], Fraction(0)
    for expected, texts in one["readings"]:
        measured = [Fraction(text) for text in texts]
        mean = sum(measured) / len(measured)
        ratios.append(mean / Fraction(expected))
        if len(measured) > 1 and mean:
            variance = sum((x - mean) ** 2 for x in measured) / (len(measured) - 1)
            spread += variance / len(measured) / mean**2
    mean_ratio = sum(ratios) / len(ratios)
    worst = max(abs(ratio - 1) + meter for ratio in (*ratios, mean_ratio))
    counts = [len(texts) for _, texts in one["readings"]]
    return {
        "ratio": float(mean_ratio),
        "ratio_uncertainty": math.sqrt((meter / 2) ** 2 + spread / len(ratios) ** 2),
        "setting_ratios": [float(ratio) for ratio in ratios],
        "verdict": "fail"
        if worst > Fraction(1, 5)
        else "warn"
        if worst > Fraction(1, 10)
        else "ok",
        "remarks": ["too_few_settings"] * (len(counts) < 2)
        + ["too_few_readings"] * (min(counts) < 3),
    }


@pytest.mark.parametrize("one", VECTORS["worked_out"])
def test_checks_that_both_languages_work_out(one):
    expected = by_fractions(one)
    found = verification.work_out(
        readings_w=readings(*one["readings"]), meter_uncertainty=one["meter_uncertainty"]
    )
    assert [str(ratio) for ratio in found.setting_ratios] == one["setting_ratios"]
    assert (str(found.ratio), str(found.ratio_uncertainty)) == (
        one["ratio"],
        one["ratio_uncertainty"],
    )
    assert (found.verdict, list(found.remarks)) == (one["verdict"], one["remarks"])
    # Four places: half of the last one, and what a float itself loses.
    for name in ("ratio", "ratio_uncertainty"):
        assert float(one[name]) == pytest.approx(expected[name], abs=0.500001e-4)
    assert [float(text) for text in one["setting_ratios"]] == pytest.approx(
        expected["setting_ratios"], abs=0.500001e-4
    )
    assert (one["verdict"], one["remarks"]) == (expected["verdict"], expected["remarks"])


def test_the_rule_is_written_alike_in_both_languages():
    assert VECTORS["rule"] == verification.RULE


def check(event_id, at, verdict="ok", *, device="d1", handpiece="h1", mode="continuous"):
    return {
        "event_id": event_id,
        "device_id": device,
        "handpiece_id": handpiece,
        "mode": mode,
        "verified_utc": at,
        "verdict": verdict,
    }


def test_the_latest_check_is_for_this_laser_tip_and_mode_only():
    checks = [
        check("e1", "2026-03-01T08:00:00.000+00:00"),
        check("e2", "2026-03-02T08:00:00.000+00:00", "fail"),
        check("e3", "2026-03-03T08:00:00.000+00:00", handpiece="h2"),
        check("e4", "2026-03-03T08:00:00.000+00:00", mode="pulsed"),
        check("e5", "2026-03-03T08:00:00.000+00:00", device="d2"),
    ]
    wanted = {"device_id": "d1", "handpiece_id": "h1", "mode": "continuous"}
    found = verification.latest_verification(reversed(checks), **wanted)
    # The failed one: no earlier success counts after it, and it feeds no dose.
    assert found["event_id"] == "e2"
    assert not verification.feeds_dose(found)
    assert verification.feeds_dose(verification.latest_verification(checks[:1], **wanted))
    none = verification.latest_verification(checks, **{**wanted, "mode": "gated"})
    assert none is None
    assert not verification.feeds_dose(none)
