"""A simulation's whole answer: units, sources, cautions, and what it refuses."""

from math import log, pi

import numpy as np
import pytest

from api.dose import heat as simulation
from api.dose.heat_model import Heat
from api.errors import BadInput
from tests.dose.heats import PULSED, STILL, WEAK, parsed


def test_tissue_is_taken_as_stated() -> None:
    medium = simulation.medium_of(parsed(**PULSED["emission"]))
    # 1060 kg/m3, 3600 J/(kg K), 63 K to boiling; 0.7 x 2.257 MJ/kg of it boils; 3740 J/g.
    assert medium.conductivity_w_m_k == 0.5
    assert medium.heat_capacity_j_m3_k == pytest.approx(3.816e6)
    assert medium.boiling_heat_j_m3 == pytest.approx(240.408e6)
    assert medium.dry_heat_j_m3 == pytest.approx(240.408e6 + 1060 * 0.7 * 2.257e6)
    assert medium.removal_heat_j_m3 == pytest.approx(3.9644e9)
    # 0.7 x 4 pi k / lambda, k = 0.0662 + 0.2 x 0.0306 (`hale1973`).
    assert medium.absorption_per_m == pytest.approx(0.7 * 4 * pi * 0.07232 / 10.6e-6)


def test_depths_are_in_micrometres() -> None:
    heat = Heat(STILL, [1.0, 1.0])
    heat.removed_m = 0.25
    heat.damage = np.array([9.0, 9.0])
    found = simulation._results(heat, simulation.Curve())
    assert found["removed_depth"]["value"] == pytest.approx(250_000, rel=1e-12)
    assert found["damage_depth"]["value"] == pytest.approx(1_500_000, rel=1e-12)


def test_an_answer_says_what_its_numbers_are() -> None:
    answer = simulation.respond(WEAK)
    assert answer["engine"] == "1.0.0"
    assert answer["basis"] == "set"
    assert answer["resolution"] == "fine"
    # 0.25 W over the disc of 0.4 mm.
    assert answer["irradiance"] == {"value": pytest.approx(0.25 / (pi * 0.02**2)), "unit": "W/cm2"}
    assert answer["valid_until"] == {
        "value": pytest.approx(2e-4**2 / (4 * 0.5 / 3.816e6)), "unit": "s",
    }  # fmt: skip
    assert answer["constants"]["damage_log_frequency"]["value"] == pytest.approx(log(3.1e98))
    assert answer["constants"]["damage_log_frequency"]["unit"] == "1"
    assert answer["constants"]["damage_activation"] == {"value": 75000, "unit": "K"}
    results = answer["results"]
    units = {name: result["unit"] for name, result in results.items()}
    assert units == {
        "time": "s", "surface_temperature": "Cel", "residual_time": "s",
        "residual_temperature": "Cel", "depth": "um", "temperature": "Cel", "damage": "1",
        "removed_depth": "um", "damage_depth": "um", "energy_balance_error": "1",
    }  # fmt: skip
    for name, source in (("removed_depth", "payne1997"), ("damage_depth", "henriques1947"),
                         ("energy_balance_error", "definition")):  # fmt: skip
        assert results[name]["sources"] == [source]
        module, _, function = results[name]["formula"].rpartition(".")
        assert (module, function) == ("api.dose.heat", "run")
    assert results["removed_depth"]["value"] == 0
    assert results["damage_depth"]["value"] == 0
    # The second pulse starts at 10 ms; before it the tissue has cooled, and the run ends at 20 ms.
    times, surface = results["time"]["values"], results["surface_temperature"]["values"]
    assert results["residual_time"]["values"] == pytest.approx([0.01])
    assert times[0] == 0 and surface[0] == 37
    assert times[-1] == pytest.approx(0.02)
    assert answer["steps"] == len(times) - 1
    place = int(np.argmin(np.abs(np.array(times) - 0.01)))
    assert results["residual_temperature"]["values"] == [surface[place]]
    assert 37 < surface[place] < max(surface)
    # The first cell is half a sixteenth of an absorption depth below the surface.
    absorption_per_m = 0.7 * 4 * pi * 0.07232 / 10.6e-6
    assert results["depth"]["values"][0] == pytest.approx(1e6 / 32 / absorption_per_m, rel=1e-9)
    assert results["temperature"]["values"][-1] == pytest.approx(37, abs=1e-6)


@pytest.mark.parametrize(("change", "codes"), [
    ({}, []),
    ({"duration": "77 ms"}, ["outside_validity"]),
    ({"emission": {**WEAK["emission"], "pulse_shape": "triangular"}}, ["rectangular"]),
    # A shape without pulses means nothing.
    ({"emission": {"mode": "continuous", "power": "1 mW"}}, []),
    ({"emission": {**WEAK["emission"], "repetition_rate": "2 kHz"}, "duration": "40 s",
      "spot": {"diameter": "30 mm", "diameter_definition": "1/e2"}}, ["coarser"]),
])  # fmt: skip
def test_cautions_stand_in_their_order(change: dict, codes: list[str]) -> None:
    warnings = simulation.respond({**WEAK, **change})["warnings"]
    usual = ["model", "beside_measured", "mean_irradiance", "extrapolated"]
    assert [one["code"] for one in warnings] == usual + codes
    sources = {
        "beside_measured": ["suter2017", "tongue2014", "damagerange"],
        "extrapolated": ["henriques1947"],
        "outside_validity": ["carslaw1959"],
    }
    for one in warnings:
        assert one["sources"] == sources.get(one["code"], [])
        assert one["text"]
    assert len({one["text"] for one in warnings}) == len(warnings)


@pytest.mark.parametrize(("change", "errors"), [
    ({"spot": ...}, {"spot": ["is required"]}),
    ({"tissue": ...}, {"tissue": ["is required"]}),
    ({"spot": ..., "tissue": ...}, {"spot": ["is required"], "tissue": ["is required"]}),
    ({"tissue": {"water_fraction": 0.7}}, {"tissue": ["the tissue's density is not stated"]}),
    ({"tissue": {"water_fraction": 0.7, "density": "1060 kg/m3", "specific_heat": "3600 J/kg/K",
                 "conductivity": "0.5 W/m/K"}},
     {"tissue": ["the tissue's ablation heat is not stated"]}),
    ({"wavelength": "5 um"}, {"wavelength": ["no absorption values are held for this wavelength"]}),
    ({"emission": {"mode": "pulsed", "power": "4 W"}}, {"emission": [simulation.NO_TRAIN]}),
])  # fmt: skip
def test_a_refusal_says_what_is_lacking(change: dict, errors: dict) -> None:
    request = {name: value for name, value in {**PULSED, **change}.items() if value is not ...}
    with pytest.raises(BadInput) as caught:
        simulation.respond(request)
    assert caught.value.code == "bad_request"
    assert caught.value.errors == errors
