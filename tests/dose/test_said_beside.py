"""What stands beside a dose: why a result is absent, notes, contradictions.

Expected values are worked out beside each check from the words of the docstrings and the contract;
the limits themselves are those of `constants.json` with their sources.
"""

import pytest

from api.dose.evaluate import respond
from tests.dose.settings import CONTINUOUS, GATED, NO_PULSES, PULSED, PULSES, SPOT, TISSUE


@pytest.mark.parametrize(("request_", "reasons"), [
    (CONTINUOUS, {
        "spot_diameter": "no spot diameter is stated", "waist_diameter":
        "no lens, waist or waveguide tip is stated",
        "irradiance_mean": "no spot diameter is stated",
        "pulse_energy": NO_PULSES, "gate_energy": "the emission is not gated",
        "line_energy": "no speed is stated", "total_energy": "no emission time is stated",
        "dwell_time": "no spot diameter is stated"}),
    ({**CONTINUOUS, "spot": SPOT}, {
        "waist_diameter": "the spot is stated by its diameter, which says nothing about the waist "
        "of the beam", "dwell_time": "no speed is stated", "pulse_irradiance_mean": NO_PULSES}),
    ({**CONTINUOUS, "spot": {"waist_diameter": "1 mm", "beam_quality_m2": 1, "defocus": "0 mm"}}, {
        "waist_position": "no lens is stated from which the distance to the waist would count"}),
    ({"wavelength": "10.6 um", "emission": {**PULSES, "average_power": "9 W"}, "spot": SPOT}, {
        "fluence_mean": "depends on values that contradict each other"}),
    ({"wavelength": "10.6 um", "emission": {"mode": "pulsed", "power": "4 W",
                                            "repetition_rate": "100 Hz"}}, {
        "average_power": "it is not stated whether the power is average or peak",
        "pulse_duration": "not enough is given to work it out"}),
    ({"wavelength": "10.6 um", "emission": {
        **PULSES, "mode": "gated", "gate_on": "50.2 ms", "gate_off": "50 ms",
        "pulse_shape": "gaussian"}}, {
        "gate_energy": "the gate cuts the last pulse, and how a pulse of this shape is cut is not "
        "known"}),
    ({"wavelength": "10.6 um", "emission": GATED, "spot": SPOT, "motion": {"speed": "5 mm/s"}}, {
        "pulses_per_spot": NO_PULSES, "average_power": "not enough is given to work it out"}),
    ({"wavelength": "10.6 um", "emission": {**PULSES, "mode": "gated", "gate_on": "50 ms"},
      "spot": SPOT, "motion": {"speed": "5 mm/s"}}, {
        "overlap": "the emission is gated: it depends on where the gates fall along the track"}),
    ({"wavelength": "10.6 um", "emission": PULSES}, {
        "pulses_started_per_gate": "the emission is not gated",
        "gate_energy": "the emission is not gated"}),
    # Of what contradicts each other only the period; the power is known, its kind as well.
    ({"wavelength": "10.6 um", "emission": {
        "mode": "pulsed", "power": "4 W", "power_kind": "average", "repetition_rate": "100 Hz",
        "pulse_period": "11 ms"}}, {
        "pulse_energy": "depends on values that contradict each other"}),
    # A shape whose pulses nothing cuts: whole ones fill the gate, or there is no gate.
    ({"wavelength": "10.6 um", "emission": {
        **PULSES, "mode": "gated", "gate_on": "50 ms", "pulse_shape": "gaussian"}}, {
        "average_power": "not enough is given to work it out"}),
    ({"wavelength": "10.6 um", "emission": {
        "mode": "pulsed", "pulse_energy": "50 mJ", "pulse_shape": "gaussian"}}, {
        "pulse_duration": "not enough is given to work it out"}),
])  # fmt: skip
def test_what_is_absent_has_the_reason_a_person_can_act_on(request_: dict, reasons: dict) -> None:
    absent = respond(request_)["absent"]
    assert {name: absent[name] for name in reasons} == reasons
    assert "delivered_fraction" not in absent


def _notes(**change: object) -> dict[str, dict]:
    request = {**CONTINUOUS, **change}
    return {note["code"]: note for note in respond(request)["warnings"]}


def test_lines_of_the_literature_stand_beside_what_they_are_compared_with() -> None:
    """4 W over 0.4 mm: 3183 W/cm2. Char only below 6, zone 100 um above 13 kW/cm2 (`walsh1989`)."""
    notes = _notes(spot=SPOT, tissue=TISSUE)
    assert list(notes) == ["not_verified", "damage_literature", "line_char", "line_zone",
                           "measured_trend"]  # fmt: skip
    for code, text in (
        ("line_char", "below 6000 W/cm²; "),
        ("line_zone", "above 13 kW/cm² the zone"),
    ):
        assert notes[code]["sources"] == ["walsh1989"]
        assert notes[code]["text"].startswith(
            "literature line, not a target: with a continuous beam"
        )
        assert text in notes[code]["text"]
        assert notes[code]["text"].endswith("these settings give 3180 W/cm²")
    # 0.491 x 4 - 0.731 = 1.233 mm (`mungmee2023`).
    assert "about 1.23 mm deep" in notes["measured_trend"]["text"]
    assert notes["measured_trend"]["sources"] == ["mungmee2023"]
    assert notes["damage_literature"]["sources"] == ["suter2017", "tongue2014", "damagerange"]
    assert notes["not_verified"]["sources"] == []

    def has_trend(power: str) -> bool:
        return "measured_trend" in _notes(
            spot=SPOT, tissue=TISSUE, emission={"mode": "continuous", "power": power}
        )

    assert [has_trend(p) for p in ("2.999 W", "3 W", "10 W", "10.001 W")] == [
        False, True, True, False]  # fmt: skip
    gate = {**GATED, "gate_off": "30 ms"}
    gated = _notes(spot=SPOT, tissue=TISSUE, emission=gate)
    # In the gate 4 W, on average 1.6 W; a trend was measured without gates.
    assert gated["line_char"]["text"].endswith("these settings give 3180 W/cm²")
    assert "measured_trend" not in _notes(
        spot=SPOT, tissue=TISSUE, emission={**gate, "power": "8 W"}
    )
    assert "line_char" not in _notes(spot=SPOT)
    assert "line_char" not in _notes(spot=SPOT, tissue=TISSUE, wavelength="9.3 um")
    assert "line_char" not in _notes(spot=SPOT, tissue=TISSUE, emission=PULSES)
    assert "line_char" not in _notes(tissue=TISSUE)
    assert "measured_trend" in _notes(tissue=TISSUE)


def test_cautions_stand_where_they_belong() -> None:
    verified = _notes(delivery={"verified_ratio": 0.9})
    assert list(verified) == ["keep_panel"]
    assert verified["keep_panel"]["sources"] == []
    assert list(_notes(delivery={"loss": "1 dB"})) == ["by_design", "keep_panel"]
    unknown = {"mode": "pulsed", "power": "4 W", "repetition_rate": "100 Hz"}
    assert "power_kind_not_stated" in _notes(emission=unknown)
    assert "power_kind_not_stated" not in _notes(emission={**unknown, "power_kind": "peak"})
    assert "power_kind_not_stated" not in _notes(emission=PULSES)
    assert "power_kind_not_stated" not in _notes()
    # 0.4 mm spots at 100 Hz touch up to 40 mm/s.
    for speed, gaps in (("40 mm/s", False), ("40.1 mm/s", True)):
        assert ("gaps" in _notes(emission=PULSES, spot=SPOT, motion={"speed": speed})) is gaps
    # 30 ms at 13.3 mm/s is one spot.
    gate = {**GATED, "gate_off": "30 ms"}
    for speed, gaps in (("13 mm/s", False), ("14 mm/s", True)):
        assert ("gate_gaps" in _notes(emission=gate, spot=SPOT, motion={"speed": speed})) is gaps
    for wavelength, more in (("9.2 um", True), ("9.7 um", True), ("9.701 um", False)):
        notes = _notes(tissue=TISSUE, wavelength=wavelength)
        assert ("matrix_absorbs" in notes) is more
        assert not more or notes["matrix_absorbs"]["sources"] == ["practice"]
    cut = _notes(tissue=TISSUE, spot=SPOT, motion={"speed": "5 mm/s"}, emission=PULSES)
    assert cut["cut_depth_ideal"]["sources"] == ["walsh1989", "payne1997"]
    assert cut["pulse_depth_band"]["sources"] == ["payne1997"]
    assert len({note["text"] for note in cut.values()}) == len(cut)


def test_a_contradiction_is_told_with_both_values() -> None:
    # 50 mJ x 100 Hz = 5 W; 9 W is 80 % more, 4 W 20 % less.
    for stated, by, words in (("9 W", 0.8, "80 % more"), ("4 W", -0.2, "20 % less")):
        answer = respond({**PULSED, "emission": {**PULSES, "average_power": stated}})
        (one,) = answer["contradictions"]
        assert sorted(one["fields"]) == [
            "emission.average_power", "emission.pulse_energy", "emission.repetition_rate",
        ]  # fmt: skip
        assert one["fields"][-1] == "emission.average_power"
        assert one["given"] == {"value": float(stated[0]), "unit": "W"}
        assert one["expected"] == {"value": pytest.approx(5), "unit": "W"}
        assert one["by"] == pytest.approx(by)
        assert one["text"] == (
            f"average power is given as {stated}, but pulse energy and repetition rate give 5 W: "
            f"{words}"
        )
    period = {**PULSES, "pulse_period": "11 ms"}
    (one,) = respond({**PULSED, "emission": period})["contradictions"]
    assert one["text"] == (
        "pulse period is given as 11 ms, but repetition rate gives 10 ms: 10 % more"
    )


@pytest.mark.parametrize(("second", "clashes"), [("5.05 W", 0), ("5.051 W", 1), ("4.95 W", 0)])
def test_panels_round_by_one_percent(second: str, clashes: int) -> None:
    answer = respond({**PULSED, "emission": {**PULSES, "average_power": second}})
    assert len(answer["contradictions"]) == clashes


def test_what_does_not_rest_on_a_contradiction_stays() -> None:
    # The rate and the period contradict each other; the power is shown by the panel all the same.
    emission = {"mode": "pulsed", "power": "4 W", "power_kind": "average",
                "repetition_rate": "100 Hz", "pulse_period": "11 ms"}  # fmt: skip
    found = respond({"wavelength": "10.6 um", "emission": emission})["dose"]["set"]
    assert found["average_power"]["value"] == 4
    assert "pulse_period" not in found


def test_the_measured_trend_says_what_it_is() -> None:
    # 0.491 x 5 - 0.731 = 1.724 mm (`mungmee2023`).
    emission = {"mode": "continuous", "power": "5 W"}
    (trend,) = [note["text"] for note in _notes(tissue=TISSUE, emission=emission).values()
                if note["sources"] == ["mungmee2023"]]  # fmt: skip
    assert "about 1.72 mm deep" in trend
    assert "at this power; a trend only, as spot and speed are not stated there" in trend


def test_without_a_pause_nothing_is_said_of_gaps() -> None:
    gate = {"mode": "gated", "gate_on": "20 ms", "average_power": "2 W"}
    notes = _notes(emission=gate, spot=SPOT, motion={"speed": "50 mm/s"})
    assert "gate_gaps" not in notes


def test_a_value_says_whether_it_was_given_or_follows() -> None:
    dose = respond({**PULSED, "delivery": {"verified_ratio": 0.9}})["dose"]
    arriving = {
        "pulse_energy": "api.dose.delivery.delivered_energy_j",
        "average_power": "api.dose.delivery.delivered_power_w",
    }
    both = {
        "pulse_period": "api.dose.emission.pulse_period_s", "pulse_duration": "given",
        "irradiance_mean": "api.dose.exposure.irradiance_mean_w_m2",
        "pulse_irradiance_peak": "api.dose.exposure.irradiance_peak_w_m2",
        "fluence_mean": "api.dose.exposure.fluence_mean_j_m2",
    }  # fmt: skip
    at_panel = {"pulse_energy": "given", "average_power": "api.dose.emission.average_power_w"}
    for side, expected in (("set", at_panel | both), ("delivered", arriving | both)):
        assert {name: dose[side][name]["formula"] for name in expected} == expected
