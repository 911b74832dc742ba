"""Both languages simulate alike: every number to 1e-6, every word, every refusal."""

import json
import subprocess
from pathlib import Path

import pytest

from api.dose.heat import respond
from api.errors import BadInput
from tests.dose.bundles import ROOT, bundle
from tests.dose.test_heat import CONTINUOUS, GATED, PULSED

ENTRY = """
export { respond } from "./src/dose/heat";
export { BadInput } from "./src/dose/errors";
"""
# One solves each step by elimination, the other by a matrix worked out before: rounding differs.
TOLERANCE = 1e-6


def _pulsed(**emission: str) -> dict:
    return {**PULSED, "emission": {**PULSED["emission"], **emission}}


REQUESTS = {
    "pulsed": PULSED,
    "weak": _pulsed(pulse_energy="0.2 mJ"),
    "gaussian": _pulsed(pulse_shape="gaussian"),
    "short": _pulsed(pulse_duration="2 us"),
    "violent": _pulsed(pulse_energy="100 J", pulse_duration="10 us"),
    "continuous": CONTINUOUS,
    "gated": GATED,
    "gated pulses": {
        **PULSED,
        "emission": {"mode": "gated", "peak_power": "60 W", "pulse_duration": "300 us",
                     "repetition_rate": "200 Hz", "gate_on": "50.1 ms", "gate_off": "20 ms"},
    },
    "erbium": {**PULSED, "wavelength": "2.94 um"},
    "own tissue": {**PULSED, "tissue": {"kind": "oral mucosa", "water_fraction": 0.8,
                                        "conductivity": "0.6 W/m/K", "ablation_heat": "500 J/g"}},
    "verified": {**PULSED, "delivery": {"verified_ratio": 0.8}},
    "design": {**PULSED, "delivery": {"mirror_count": 7, "mirror_reflectance": 0.99}},
    "waist": {**PULSED, "spot": {"waist_diameter": "0.2 mm", "beam_quality_m2": 1.2,
                                 "defocus": "3 mm"}},
    "long": {**PULSED, "duration": "12 s"},
    "too long": {**PULSED, "duration": "60 s"},
    "brief": {**PULSED, "duration": "1 us"},
    "no spot": {name: value for name, value in PULSED.items() if name != "spot"},
    "no tissue": {name: value for name, value in PULSED.items() if name != "tissue"},
    "weakly absorbed": {**PULSED, "wavelength": "810 nm"},
    "no train": {**PULSED, "emission": {"mode": "pulsed", "average_power": "4 W"}},
    "contradiction": _pulsed(average_power="5 W"),
    "bad duration": {**PULSED, "duration": "1 h"},
}  # fmt: skip


def _answer(request: dict) -> dict:
    try:
        return {"response": respond(request)}
    except BadInput as problem:
        return {"errors": problem.errors}


def _differences(ours, theirs, path: str = "") -> list[str]:
    if path.endswith("energy_balance_error.value"):
        return [] if max(abs(ours), abs(theirs)) < 1e-9 else [path]
    if isinstance(ours, dict) and isinstance(theirs, dict) and list(ours) == list(theirs):
        return [
            d for name in ours for d in _differences(ours[name], theirs[name], f"{path}.{name}")
        ]
    if isinstance(ours, list) and isinstance(theirs, list) and len(ours) == len(theirs):
        pairs = zip(ours, theirs, strict=True)
        return [d for a, b in pairs for d in _differences(a, b, path)]
    if isinstance(ours, int | float) and isinstance(theirs, int | float):
        near = abs(ours - theirs) <= TOLERANCE * max(abs(ours), abs(theirs))
        return [] if near else [f"{path}: {ours} {theirs}"]
    return [] if ours == theirs else [f"{path}: {ours} {theirs}"]


@pytest.fixture(scope="module")
def theirs(tmp_path_factory: pytest.TempPathFactory) -> dict:
    """The tablet's answers to all requests."""
    folder: Path = tmp_path_factory.mktemp("heat")
    module = bundle(ENTRY, folder / "heat.mjs")
    requests = folder / "requests.json"
    requests.write_text(json.dumps(REQUESTS), encoding="utf-8")
    run = subprocess.run(
        ["node", str(ROOT / "tests/dose/answer_heat.mjs"), str(module), str(requests)],
        capture_output=True, text=True, check=True, timeout=120,
    )  # fmt: skip
    return json.loads(run.stdout)


@pytest.mark.parametrize("name", REQUESTS)
def test_both_languages_simulate_alike(theirs: dict, name: str) -> None:
    ours = json.loads(json.dumps(_answer(REQUESTS[name])))
    assert _differences(ours, theirs[name]) == []


def test_the_comparison_sees_a_difference(theirs: dict) -> None:
    ours = json.loads(json.dumps(_answer(PULSED)))
    ours["response"]["results"]["temperature"]["values"][3] *= 1.00001
    ours["response"]["warnings"][0]["text"] += "!"
    assert len(_differences(ours, theirs["pulsed"])) == 2
