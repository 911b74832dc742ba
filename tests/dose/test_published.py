"""What papers print, read back: the figures that their own texts or a hand calculation give."""

import json
import subprocess
from pathlib import Path

import pytest

from api.dose.evaluate import respond
from api.dose.published import cases, readings
from tests.dose.bundles import bundle

CASES = {case["id"]: case for case in cases()}
# By case, and power as read: what follows from the print. C01 prints 159.2 W/cm2 itself (Monteiro
# 2012); the others are worked out by hand from the printed numbers: 4 P / (pi d^2), P t, f t.
EXPECTED = {
    ("C01", 5, "average"): {"irradiance_mean": 159.2},
    ("C04", 10, "peak"): {"pulse_energy": 0.1, "average_power": 2, "fluence_mean": 19.89,
                          "duty_cycle": 0.2},
    ("C04", 10, "average"): {"pulse_energy": 0.5, "peak_power": 50, "fluence_mean": 99.47},
    ("C05", 6, "peak"): {"pulse_energy": 1.2},
    ("C05", 8, "peak"): {"pulse_energy": 1.6},
    # The registry entry prints 33 mJ beside 140 Hz and 4.62 W.
    ("C07", 4.62, "average"): {"pulse_energy": 0.033, "peak_power": 82.5, "duty_cycle": 0.056,
                               "fluence_mean": 105.0, "pulse_irradiance_mean": 262_600},
    ("C20", 3, "average"): {"total_energy": 540},
    ("C38", 1, "average"): {"total_energy": 5},
    ("C38", 2, "average"): {"total_energy": 10},
    ("C38", 3, "average"): {"total_energy": 15},
    ("C39", 2, "peak"): {"pulse_irradiance_mean": 397.9, "fluence_mean": 198.9},
    ("C39", 7, "peak"): {"pulse_irradiance_mean": 1392.6, "fluence_mean": 696.3},
    ("C39", 10, "peak"): {"pulse_irradiance_mean": 1989.4, "fluence_mean": 994.7},
}  # fmt: skip


@pytest.mark.parametrize("key", EXPECTED, ids=lambda key: f"{key[0]} {key[1]} W {key[2]}")
def test_what_follows_from_a_print(key) -> None:
    name, watts, kind = key
    request = next(
        one["request"]
        for one in readings(CASES[name])
        if (one["power_w"], one["power_kind"]) == (watts, kind)
    )
    found = respond(request)["dose"]["set"]
    for result, value in EXPECTED[key].items():
        # 5 in the fourth place: the figures are printed with four.
        assert found[result]["value"] == pytest.approx(value, rel=5e-4), result


def test_an_unstated_kind_of_power_is_read_both_ways_and_differs_five_times() -> None:
    by_kind = {
        one["power_kind"]: respond(one["request"])["dose"]["set"]["fluence_mean"]["value"]
        for one in readings(CASES["C04"])
    }
    assert by_kind["average"] / by_kind["peak"] == pytest.approx(5)


@pytest.mark.parametrize("name", ["C03", "C18", "C33", "C35", "C36", "C40", "C41"])
def test_too_little_is_never_filled_in(name: str) -> None:
    assert readings(CASES[name]) == []


def test_every_case_says_who_reported_it_and_what_was_read() -> None:
    assert len(CASES) == len(cases()) == 20
    for case in cases():
        assert case["citation"], case["id"]
        assert case["read"], case["id"]


def test_the_tablet_reads_them_alike(tmp_path: Path) -> None:
    entry = 'export { cases, readings } from "./src/dose/published";'
    module = bundle(entry, tmp_path / "published.mjs")
    program = f"""
        import {{ cases, readings }} from "{module.as_uri()}";
        process.stdout.write(JSON.stringify(cases().map((one) => [one, readings(one)])));
    """
    run = subprocess.run(
        ["node", "--input-type=module", "-e", program], capture_output=True, text=True, check=True
    )
    assert json.loads(run.stdout) == [[case, readings(case)] for case in cases()]


def test_a_continuous_print_is_read_as_a_continuous_beam() -> None:
    found = [one["request"]["emission"] for one in readings(CASES["C38"])]
    assert found == [{"mode": "continuous", "power": f"{watts} W"} for watts in (1, 2, 3)]
