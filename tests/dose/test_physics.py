"""Laws the formulas must keep whatever the numbers: inverses, counting, scaling, integrals."""

import math
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from api.dose import emission, gates, tissue
from api.dose.evaluate import respond
from api.errors import BadInput


def _ask(emission_part: dict, **rest: object) -> dict[str, float]:
    response = respond({"wavelength": "10.6 um", "emission": emission_part, **rest})
    return {name: result["value"] for name, result in response["dose"]["set"].items()}


FIELDS = ("average_power", "peak_power", "pulse_energy", "pulse_duration", "repetition_rate",
          "duty_cycle")  # fmt: skip
UNIT = {"average_power": "W", "peak_power": "W", "pulse_energy": "J", "pulse_duration": "s",
        "repetition_rate": "Hz", "duty_cycle": "1"}  # fmt: skip


@settings(max_examples=150, deadline=None, derandomize=True)
@given(
    energy_mj=st.integers(1, 500),
    rate=st.integers(1, 500),
    duty_percent=st.integers(1, 100),
    shape=st.sampled_from(emission.PULSE_SHAPES),
    chosen=st.sets(st.sampled_from(FIELDS), min_size=3, max_size=6),
)
def test_any_sufficient_subset_gives_the_same_train(
    energy_mj: int, rate: int, duty_percent: int, shape: str, chosen: set[str]
) -> None:
    energy, duty = energy_mj / 1000, duty_percent / 100
    factor = math.sqrt(math.pi / (4 * math.log(2))) if shape == "gaussian" else 1
    whole = {
        "average_power": energy * rate,
        "peak_power": energy * rate / duty / factor,
        "pulse_energy": energy,
        "pulse_duration": duty / rate,
        "repetition_rate": rate,
        "duty_cycle": duty,
    }
    given_part = {n: {"value": whole[n], "unit": UNIT[n]} for n in chosen}
    found = _ask({"mode": "pulsed", "pulse_shape": shape, **given_part})
    # Three values suffice unless they are the three of one relation, of which two give the third.
    relations = (
        {"duty_cycle", "pulse_duration", "repetition_rate"},
        {"average_power", "pulse_energy", "repetition_rate"},
        {"pulse_energy", "peak_power", "pulse_duration"},
        {"average_power", "peak_power", "duty_cycle"},
    )
    if chosen not in relations:
        assert found.keys() >= whole.keys()
    for name, value in whole.items():
        if name in found:
            assert found[name] == pytest.approx(value, rel=1e-9), name


@settings(max_examples=150, deadline=None, derandomize=True)
@given(
    started=st.integers(1, 400),
    rate=st.integers(1, 1000),
    part=st.sampled_from((0, 1, 10, 50, 99)),
    duty_percent=st.integers(1, 100),
)
def test_a_gate_holds_what_counting_pulse_by_pulse_gives(
    started: int, rate: int, part: int, duty_percent: int
) -> None:
    """Exact fractions, one pulse after the other, against the closed form in floats."""
    period = Fraction(1, rate)
    gate = (started - 1) * period + period * (part or 100) / 100
    duration = period * duty_percent / 100
    emitting = Fraction(0)
    complete = count = 0
    while count * period < gate:
        room = gate - count * period
        emitting += min(duration, room)
        complete += room >= duration
        count += 1
    found = _ask(
        {
            "mode": "gated",
            "peak_power": "10 W",
            "repetition_rate": f"{rate} Hz",
            "pulse_duration": {"value": float(duration), "unit": "s"},
            "gate_on": {"value": float(gate), "unit": "s"},
            "gate_off": "10 ms",
        }
    )
    assert found["pulses_started_per_gate"] == count
    assert found["pulses_complete_per_gate"] == complete
    assert found["gate_energy"] == pytest.approx(float(10 * emitting), rel=1e-9)
    overall = 10 * emitting / (gate + Fraction(1, 100))
    assert found["average_power"] == pytest.approx(float(overall), rel=1e-9)


@pytest.mark.parametrize("shape", ["triangular", "gaussian", "exponential"])
def test_a_cut_pulse_that_is_not_rectangular_is_not_guessed(shape: str) -> None:
    part = {"mode": "gated", "peak_power": "10 W", "repetition_rate": "10 Hz", "gate_off": "1 s",
            "pulse_duration": "20 ms", "pulse_shape": shape}  # fmt: skip
    cut = respond({"wavelength": "10.6 um", "emission": {**part, "gate_on": "0.31 s"}})
    assert "gate_energy" not in cut["dose"]["set"]
    assert "cuts the last pulse" in cut["absent"]["gate_energy"]
    assert cut["dose"]["set"]["pulses_complete_per_gate"]["value"] == 3
    # With a whole period of room there is nothing to cut: 3 k x 0.2 J.
    whole = _ask({**part, "gate_on": "0.3 s"})
    assert whole["gate_energy"] == pytest.approx(3 * whole["pulse_energy"])


def test_a_long_pulse_needs_no_more_room_than_its_period() -> None:
    # A gaussian of half a period has an extent of 1.5 periods; a whole period is all it can have.
    train = {"gate_on_s": 0.3, "repetition_rate_hz": 10.0, "duty_cycle": 0.5}
    assert gates.pulses_complete_per_gate(**train, pulse_shape="gaussian") == 3
    shorter = {**train, "gate_on_s": 0.29}
    assert gates.pulses_complete_per_gate(**shorter, pulse_shape="gaussian") == 2
    assert gates.pulses_complete_per_gate(**shorter, pulse_shape="rectangular") == 3


def test_the_spot_integrals_return_the_power() -> None:
    """Integrate the Gaussian whose centre the engine gives: over the plane it holds the power."""
    found = _ask(
        {"mode": "continuous", "power": "5 W"},
        spot={"diameter": "2 mm", "diameter_definition": "1/e2"},
        motion={"speed": "10 mm/s"},
    )
    w_cm, step = 0.1, 1e-5
    ring = sum(
        found["irradiance_peak"] * math.exp(-2 * (r / w_cm) ** 2) * 2 * math.pi * r * step
        for r in (step * (k + 0.5) for k in range(60_000))
    )
    assert ring == pytest.approx(5, rel=1e-6)
    line = sum(
        found["irradiance_peak"] * math.exp(-2 * (x / w_cm) ** 2) * step
        for x in (step * (k + 0.5) for k in range(-60_000, 60_000))
    )
    assert line / 1 == pytest.approx(found["track_fluence_peak"], rel=1e-6)


def test_scaling_of_the_whole_answer() -> None:
    def ask(power: str, diameter: str, speed: str) -> dict[str, float]:
        return _ask(
            {"mode": "continuous", "power": power},
            spot={"diameter": diameter, "diameter_definition": "1/e2"},
            motion={"speed": speed},
            emission_time="10 s",
        )

    base = ask("4 W", "0.25 mm", "5 mm/s")
    double = ask("8 W", "0.25 mm", "5 mm/s")
    wide = ask("4 W", "0.5 mm", "5 mm/s")
    fast = ask("4 W", "0.25 mm", "10 mm/s")
    for name in ("irradiance_mean", "irradiance_peak", "track_fluence_mean", "line_energy",
                 "total_energy"):  # fmt: skip
        assert double[name] == pytest.approx(2 * base[name])
    assert wide["irradiance_mean"] == pytest.approx(base["irradiance_mean"] / 4)
    assert wide["track_fluence_peak"] == pytest.approx(base["track_fluence_peak"] / 2)
    assert fast["track_fluence_mean"] == pytest.approx(base["track_fluence_mean"] / 2)
    assert base["irradiance_peak"] == pytest.approx(2 * base["irradiance_mean"])


def test_what_cannot_be_known_is_said() -> None:
    emission_part = {"mode": "continuous", "power": "4 W"}
    response = respond({"wavelength": "10.6 um", "emission": emission_part})
    assert response["engine"] == "1.0.0"
    assert response["dose"]["delivered"] is None
    assert [w["code"] for w in response["warnings"]] == ["not_verified"]
    assert response["absent"]["irradiance_mean"] == "no spot diameter is stated"
    assert response["absent"]["pulse_energy"] == "the emission has no pulses"
    # Every result of the contract is either there or has its reason.
    both = {**response["absent"], **response["dose"]["set"]}
    assert len(both) == len(response["absent"]) + len(response["dose"]["set"])
    assert {"cut_depth", "waist_diameter", "overlap", "gate_energy", "average_power"} <= both.keys()


def test_a_power_of_unknown_kind_is_named_as_unused() -> None:
    part = {"mode": "pulsed", "power": "5 W", "pulse_energy": "33 mJ", "repetition_rate": "140 Hz"}
    response = respond({"wavelength": "10.6 um", "emission": part})
    # 33 mJ x 140 Hz, whatever the 5 W are.
    assert response["dose"]["set"]["average_power"]["value"] == pytest.approx(4.62)
    assert "power_kind_not_stated" in [w["code"] for w in response["warnings"]]
    assert response["contradictions"] == []


def test_one_power_under_two_names_may_not_differ() -> None:
    part = {"mode": "pulsed", "power": "5 W", "power_kind": "average", "average_power": "4 W"}
    response = respond({"wavelength": "10.6 um", "emission": part})
    assert response["contradictions"][0]["text"] == (
        "power is given as 5 W, but average power gives 4 W: 25 % more"
    )


def test_gaps_between_spots_are_said() -> None:
    response = respond(
        {
            "wavelength": "10.6 um",
            "emission": {"mode": "pulsed", "pulse_energy": "33 mJ", "repetition_rate": "10 Hz"},
            "spot": {"diameter": "0.25 mm", "diameter_definition": "1/e2"},
            "motion": {"speed": "5 mm/s"},
            "delivery": {"verified_ratio": 0.93},
        }
    )
    # 1 - 5 / (10 x 0.25) = -1.
    assert response["dose"]["set"]["overlap"]["value"] == pytest.approx(-1)
    assert [w["code"] for w in response["warnings"]] == ["keep_panel", "gaps"]


@pytest.mark.parametrize(("pause", "said"), [("60 ms", True), ("40 ms", False)])
def test_a_spot_that_moves_on_while_the_gate_is_shut_is_said(pause: str, said: bool) -> None:
    emitted = {"mode": "gated", "peak_power": "4 W", "gate_on": "20 ms", "gate_off": pause}
    response = respond(
        {
            "wavelength": "10.6 um",
            "emission": emitted,
            "spot": {"diameter": "0.25 mm", "diameter_definition": "1/e2"},
            "motion": {"speed": "5 mm/s"},
        }
    )
    # 5 mm/s x 60 ms = 0.3 mm, more than the spot; 5 mm/s x 40 ms = 0.2 mm, less.
    assert ("gate_gaps" in [w["code"] for w in response["warnings"]]) is said


def test_the_centre_of_a_gaussian_spot_has_twice_the_mean() -> None:
    """On the 1/e2 diameter, by hand: 33 mJ and 4.62 W over 0.25 mm, an area of 4.90874e-4 cm2."""
    found = respond({
        "wavelength": "10.6 um",
        "emission": {"mode": "pulsed", "pulse_energy": "33 mJ", "repetition_rate": "140 Hz",
                     "pulse_duration": "400 us"},
        "spot": {"diameter": "0.25 mm", "diameter_definition": "1/e2"},
    })["dose"]["set"]  # fmt: skip
    for mean, peak, value in (
        ("fluence_mean", "fluence_peak", 67.2270), ("irradiance_mean", "irradiance_peak", 9411.78),
        ("pulse_irradiance_mean", "pulse_irradiance_peak", 168067.5),
    ):  # fmt: skip
        assert found[mean]["value"] == pytest.approx(value, rel=1e-5)
        assert found[peak]["value"] == pytest.approx(2 * value, rel=1e-5)


@pytest.mark.parametrize(("gate_on_s", "started"), [
    (10 + 0.5e-9, 10), (10 + 1.5e-9, 11),
    # In longer gates than a million pulses the tolerance grows with their number: 4e-9 here.
    (4e6 + 3e-9, 4_000_000), (4e6 + 6e-9, 4_000_001),
])  # fmt: skip
def test_a_pulse_due_at_the_gates_end_is_not_started(gate_on_s: float, started: int) -> None:
    """As the contract says: within 1e-9 of a period of the end counts as at the end."""
    found = gates.pulses_started_per_gate(gate_on_s=gate_on_s, repetition_rate_hz=1.0)
    assert found == started


@pytest.mark.parametrize(("pulse_shape", "fits", "is_cut"), [
    ("rectangular", 0.79, 0.81), ("triangular", 0.39, 0.41), ("gaussian", 0.26, 0.27),
    ("exponential", 0.114, 0.115),
])  # fmt: skip
def test_a_shape_needs_its_room(pulse_shape: str, fits: float, is_cut: float) -> None:
    """The last of ten pulses has 0.8 periods: for a base of 1, 2, 3 or 7 widths."""
    train = {"gate_on_s": 9.8, "repetition_rate_hz": 1.0, "pulse_shape": pulse_shape}
    assert gates.pulses_complete_per_gate(**train, duty_cycle=fits) == 10
    assert gates.pulses_complete_per_gate(**train, duty_cycle=is_cut) == 9
    # How much is left of it is known for a rectangular one: 0.8 of 0.81.
    left = gates.pulse_equivalents_per_gate(**train, duty_cycle=is_cut)
    known = pytest.approx(9 + 0.8 / 0.81) if pulse_shape == "rectangular" else None
    assert left == known


@pytest.mark.parametrize(("depth", "property_"), [
    (tissue.steady_depth_m, "ablation_heat_j_m3"), (tissue.blow_off_depth_m, "absorption_per_m"),
])  # fmt: skip
def test_below_its_threshold_a_pulse_has_no_depth(depth, property_: str) -> None:
    with pytest.raises(BadInput) as caught:
        depth(fluence_j_m2=1.0, threshold_j_m2=2.0, **{property_: 1.0})
    assert list(caught.value.errors) == ["fluence_j_m2"]
