"""Whole answers of the hazard engine, by hand: results, reasons, cautions.

Limits and corrections are those of the tables named in `constants.json` (ICNIRP 2013; grades of
EN 207; classes of IEC 60825-1, from memory); distances are worked out by hand from the geometry in
each docstring. Which side a boundary itself belongs to is what the docstrings say.
"""

import math

import pytest

from api.dose.hazard.evaluate import respond
from api.dose.hazard.table import as_lines
from tests.dose.hazards import BEAM, CO2, EVERYTHING, LENS, ONE, TIP, TRAIN


def test_results_by_hand_say_where_they_are_from() -> None:
    """10 W, 1000 W/m2: an area of 0.01 m2."""
    answer = respond(EVERYTHING)
    assert answer["engine"] == "1.0.0"
    assert answer["edition"] == "ICNIRP 2013"
    results = answer["results"]
    disc = math.sqrt(0.04 / math.pi)
    tip = (math.sqrt(0.08 / math.pi) - 8e-4) / (2 * math.tan(0.1))
    load = 4 * 10 / (math.pi * 0.008**2)
    expected = {
        "exposure_limit_irradiance": (1000, "W/m2", "limits.limit_irradiance_w_m2"),
        "exposure_limit_fluence": (10_000, "J/m2", "limits.limit_fluence_j_m2"),
        "limiting_aperture": (3.5, "mm", "limits.limiting_aperture_m"),
        "direct_distance": ((disc - 0.008) / 0.004, "m", "distances.direct_distance_m"),
        "lens_distance": (disc * 100 / 8, "m", "distances.lens_distance_m"),
        "tip_distance": (tip, "m", "distances.tip_distance_m"),
        "diffuse_distance": (math.sqrt(0.01 / math.pi), "m", "distances.diffuse_distance_m"),
        "skin_distance": ((disc - 0.008) / 0.004, "m", "distances.direct_distance_m"),
        "optical_density": (math.log10(load / 1000), "1", "eyewear.optical_density"),
        "en207_d": (math.ceil(math.log10(load) - 3), "1", "eyewear.grade_continuous"),
    }
    assert set(results) == set(expected)
    for name, (value, unit, formula) in expected.items():
        assert results[name]["value"] == pytest.approx(value, rel=1e-9), name
        assert results[name]["unit"] == unit
        assert results[name]["formula"] == f"api.dose.hazard.{formula}"
        assert results[name]["sources"]
        assert "rule" not in results[name]
    assert answer["absent"] == {
        "en207_ir": "the power is not given as pulses",
        "aiming_beam_class": "classes are given for continuous beams of 400 to 700 nm",
    }


def test_of_a_train_the_stricter_of_power_and_pulse_decides() -> None:
    """1 W in pulses of 10 mJ for 10 s: 1000 pulses.

    One pulse may carry 5600 (100 us)^0.25 = 560 J/m2, the whole 10,000 J/m2: 10 for each of them.
    """
    answer = respond({**EVERYTHING, "emission": TRAIN})
    results = answer["results"]
    assert results["exposure_limit_fluence"]["value"] == pytest.approx(10)
    assert results["exposure_limit_fluence"]["rule"] == "whole exposure"
    assert results["exposure_limit_fluence"]["formula"].endswith("train.pulse_limits_j_m2")
    area = max(1 / 1000, 0.01 / 10)
    assert results["diffuse_distance"]["value"] == pytest.approx(math.sqrt(area / math.pi))
    # Rare and strong: 1 J each 10 s is 0.1 W; one pulse is what counts: 1 J over 560 J/m2.
    rare = {**TRAIN, "pulse_energy": "1 J", "repetition_rate": "0.1 Hz"}
    results = respond({**EVERYTHING, "emission": rare})["results"]
    assert results["exposure_limit_fluence"]["rule"] == "single pulse"
    far = math.sqrt(1 / 560 / math.pi)
    assert results["diffuse_distance"]["value"] == pytest.approx(far)
    # A single pulse of 1 J alike.
    single = {**ONE, "emission": {**ONE["emission"], "pulse_energy": "1 J"}}
    answer = respond({**single, "beam": BEAM})
    assert answer["results"]["diffuse_distance"]["value"] == pytest.approx(far)
    assert answer["absent"]["en207_d"] == "a single pulse has no average power"
    assert answer["absent"]["lens_distance"] == "needs lens"
    assert answer["absent"]["tip_distance"] == "needs tip"
    # 1 J over 8 mm: 19,894 J/m2, LB3 at 10^5 J/m2 (n + 2), not at 10^4.
    assert answer["results"]["en207_ir"]["value"] == 3


def test_the_edition_decides_whether_pulses_add_up() -> None:
    """One pulse a second for 10 s: 5600 (0.6 ms)^0.25 = 876.45 J/m2, times 10^-0.25 = 492.86."""
    slow = {"pulse_energy": "1 J", "pulse_duration": "0.6 ms", "repetition_rate": "1 Hz"}
    for edition, value, rule in (
        ("2006/25/EC", 492.86, "adding up"), ("ICNIRP 2013", 876.45, "single pulse"),
    ):  # fmt: skip
        answer = respond({**CO2, "emission": slow, "edition": edition})
        assert answer["edition"] == edition
        found = answer["results"]["exposure_limit_fluence"]
        assert (found["value"], found["rule"]) == (pytest.approx(value, abs=0.01), rule)


def test_skin_has_its_own_aperture_and_is_not_averaged_over_it_for_small_beams() -> None:
    """10 W over 0.5 mm is 50.93 MW/m2; skin takes it whole, the eye from 10 s on over 3.5 mm."""
    thin = {"diameter": "0.5 mm", "diameter_definition": "63 %"}
    for target, over_m in (("skin", 5e-4), ("eye", 3.5e-3)):
        answer = respond({**CO2, "target": target, "beam": thin})["results"]
        expected = math.log10(10 / (math.pi / 4 * over_m**2) / 1000)
        assert answer["optical_density"]["value"] == pytest.approx(expected)
    for target, aperture_mm in (("skin", 3.5), ("eye", 1)):
        answer = respond({**CO2, "target": target, "exposure_time": "0.1 s"})["results"]
        assert answer["limiting_aperture"]["value"] == pytest.approx(aperture_mm)


def test_grades_count_size_and_pulses() -> None:
    """10 mJ over 8 mm: 198.9 J/m2, at 100 Hz for 5 s times 500^0.25 = 4.73: 940.8 J/m2, LB1.

    With the factor for glass, 8^1.7 = 34.3: 32,264 J/m2, LB3; for 10 s 38,369 J/m2.
    """

    def grades(beam: dict = BEAM, energy: str = "10 mJ", **eyewear: object) -> tuple:
        emission = {**TRAIN, "pulse_energy": energy}
        results = respond({**CO2, "emission": emission, "beam": beam, "eyewear": eyewear})[
            "results"
        ]
        return results["en207_d"]["value"], results["en207_ir"]["value"]

    # 1 W over 8 mm: 19,894 W/m2: LB2. With the factor 682,300: LB3.
    assert grades() == (2, 1)
    assert grades(accumulation_window="5 s") == (2, 1)
    # 11 mJ: 1034.9 J/m2 with what adds up in 5 s, 218.8 without.
    assert grades(energy="11 mJ", accumulation_window="5 s") == (2, 2)
    assert grades(energy="11 mJ") == (2, 1)
    assert grades(energy="9.5 mJ", accumulation_window="10 s") == (2, 2)
    assert grades(beam_size_factor=True) == (3, 2)
    assert grades(beam_size_factor=True, accumulation_window="5 s") == (3, 3)
    # Without a beam the aperture is taken: 3.5 mm: 103,939 W/m2, 1039 J/m2.
    assert grades({}) == (3, 2)


@pytest.mark.parametrize(("duration", "reason"), [
    ("0.99 ns", "grades are given for pulses of 1 ns to 0.25 s"),
    ("1 ns", None), ("0.25 s", None),
    ("0.2501 s", "grades are given for pulses of 1 ns to 0.25 s"),
])  # fmt: skip
def test_pulses_are_graded_within_their_range(duration: str, reason: str | None) -> None:
    answer = respond({
        "wavelength": "650 nm", "beam": BEAM,
        "emission": {"pulse_energy": "1 mJ", "pulse_duration": duration},
    })  # fmt: skip
    assert answer["absent"].get("en207_ir") == reason
    assert ("en207_ir" in answer["results"]) is (reason is None)


NO_BLUE = "below 600 nm and beyond 10 s the blue-light limit applies, which is not offered"
NO_LIMIT = "no limit is offered for this wavelength and time"


@pytest.mark.parametrize(("change", "reason"), [
    ({"wavelength": "599 nm", "exposure_time": "10.1 s"}, NO_BLUE),
    ({"wavelength": "599 nm", "exposure_time": "10 s"}, None),
    ({"wavelength": "600 nm", "exposure_time": "10.1 s"}, None),
    ({"wavelength": "599 nm", "exposure_time": "10.1 s", "target": "skin"}, None),
    ({"exposure_time": "0.9 ns"}, NO_LIMIT),
    ({"wavelength": "599 nm", "exposure_time": "0.9 ns", "target": "skin"}, NO_LIMIT),
    ({"emission": {**TRAIN, "pulse_duration": "0.9 ns"}}, NO_LIMIT),
])  # fmt: skip
def test_without_a_limit_nothing_rests_on_one(change: dict, reason: str | None) -> None:
    absent = respond({**EVERYTHING, **change})["absent"]
    for name in ("exposure_limit_irradiance", "exposure_limit_fluence", "direct_distance",
                 "lens_distance", "tip_distance", "diffuse_distance",
                 "optical_density"):  # fmt: skip
        assert absent.get(name) == reason, name


EU = {"edition": "2006/25/EC"}
NO_SHORT = "below 1 ns edition 2006/25/EC offers no limit for the retina"


def pulse(wavelength: str, duration: str, **rest: object) -> dict:
    emission = {"pulse_energy": "1 uJ", "pulse_duration": duration}
    return {"wavelength": wavelength, "emission": emission, "beam": BEAM, "lens": LENS, "tip": TIP,
            **rest}  # fmt: skip


@pytest.mark.parametrize(("wavelength", "duration", "rest", "reason"), [
    ("1064 nm", "10 ps", EU, NO_SHORT), ("532 nm", "0.99 ns", EU, NO_SHORT),
    ("1399 nm", "0.99 ns", EU, NO_SHORT), ("532 nm", "1 ns", EU, None),
    ("532 nm", "10 ps", {}, None),
    ("532 nm", "0.99 ns", {**EU, "target": "skin"}, NO_LIMIT),
    ("1400 nm", "0.99 ns", EU, NO_LIMIT), ("10.6 um", "0.99 ns", EU, NO_LIMIT),
])  # fmt: skip
def test_below_a_nanosecond_the_directive_has_no_retinal_limit_here(
    wavelength: str, duration: str, rest: dict, reason: str | None
) -> None:
    """Its own row is 2.7e4 t^0.75: 1.52e-4 J/m2 at 10 ps, 13 times stricter than 2e-3."""
    absent = respond(pulse(wavelength, duration, **rest))["absent"]
    for name in ("exposure_limit_irradiance", "exposure_limit_fluence", "direct_distance",
                 "lens_distance", "tip_distance", "diffuse_distance",
                 "optical_density"):  # fmt: skip
        assert absent.get(name) == reason, name
    train = pulse(wavelength, duration, **rest)
    train["emission"]["repetition_rate"] = "10 Hz"
    answer = respond({**train, "exposure_time": "1 s"})
    assert answer["absent"].get("exposure_limit_fluence") == reason
    assert answer["absent"].get("optical_density") == reason


def test_the_directives_limit_reaches_the_distance_and_the_density() -> None:
    """1340 nm, 10 s, 10 W: 400 W/m2, so 0.025 m2; over 7 mm 10 / 3.848e-5 m2 / 400: 2.81."""
    request = {"wavelength": "1340 nm", "exposure_time": "10 s", "emission": {"power": "10 W"}}
    results = respond({**request, **EU})["results"]
    assert results["exposure_limit_irradiance"]["value"] == pytest.approx(400)
    assert results["exposure_limit_fluence"]["value"] == pytest.approx(4000)
    far = math.sqrt(0.025 / math.pi)
    assert results["diffuse_distance"]["value"] == pytest.approx(far)
    assert results["optical_density"]["value"] == pytest.approx(
        math.log10(10 / (math.pi / 4 * 0.007**2) / 400)
    )
    # ICNIRP 2013: 50 x (8 + 10^3.6).
    other = respond(request)["results"]["exposure_limit_irradiance"]["value"]
    assert other == pytest.approx(50 * (8 + 10**3.6))


def test_the_directives_aperture_reaches_the_density() -> None:
    """10 W at 0.31 s: over 1.5 x 0.31^(3/8) = 0.966834 mm; in ICNIRP 2013 over 1 mm."""
    limit = 5600 * 0.31**0.25 / 0.31
    for rest, over_mm in ((EU, 0.966834), ({}, 1.0)):
        results = respond({**CO2, "exposure_time": "0.31 s", **rest})["results"]
        assert results["limiting_aperture"]["value"] == pytest.approx(over_mm, rel=1e-6)
        expected = math.log10(10 / (math.pi / 4 * (over_mm * 1e-3) ** 2) / limit)
        assert results["optical_density"]["value"] == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize("emission", [
    {"power": "10 W"}, TRAIN, {"pulse_energy": "50 mJ", "pulse_duration": "0.6 ms",
                               "repetition_rate": "50 Hz"},
])  # fmt: skip
def test_co2_is_the_same_in_both_editions(emission: dict) -> None:
    """For 10 s the whole exposure decides, 1000 W/m2: the third rule changes nothing."""
    request = {**EVERYTHING, "emission": emission}
    directive, icnirp = respond({**request, **EU}), respond(request)
    assert directive["results"] == icnirp["results"]
    assert directive["absent"] == icnirp["absent"]


@pytest.mark.parametrize(("request_", "said"), [
    (pulse("650 nm", "1 ns"), False), (pulse("650 nm", "1 ns", **EU), True),
    (pulse("650 nm", "17 us", **EU), True), (pulse("650 nm", "18 us", **EU), False),
    (pulse("1064 nm", "40 us", **EU), True),
    # From 45.7 us the directive's own row, 0.05 J/m2, is the stricter, and holds.
    (pulse("1064 nm", "48 us", **EU), False), (pulse("1064 nm", "50 us", **EU), False),
    (pulse("650 nm", "0.9 ns", **EU), False), (pulse("10.6 um", "1 ns", **EU), False),
    (pulse("650 nm", "1 ns", target="skin", **EU), False),
    ({"wavelength": "650 nm", "exposure_time": "10 us", "emission": {"power": "1 W"}, **EU}, True),
])  # fmt: skip
def test_a_stricter_limit_than_the_directives_says_so(request_: dict, said: bool) -> None:
    notes = {one["code"]: one for one in respond(request_)["warnings"]}
    assert ("stricter_than_directive" in notes) is said
    if said:
        assert notes["stricter_than_directive"]["sources"] == ["directive2006"]
        assert "stricter than the directive's own row" in notes["stricter_than_directive"]["text"]


def test_of_a_train_the_note_is_said_where_one_pulse_decides() -> None:
    """1064 nm, 10 ns, 0.25 s: at 10 Hz 0.02 x 2.5^-0.25 = 0.0159; at 1 MHz 31.8 / 250,000."""
    train = pulse("1064 nm", "10 ns", exposure_time="0.25 s", **EU)
    for rate, rule, value in (
        ("10 Hz", "adding up", 0.02 * 2.5**-0.25),
        ("1 MHz", "whole exposure", 90 * 0.25**0.75 / 250_000),
    ):
        train["emission"]["repetition_rate"] = rate
        answer = respond(train)
        found = answer["results"]["exposure_limit_fluence"]
        assert (found["rule"], found["value"]) == (rule, pytest.approx(value))
        codes = [one["code"] for one in answer["warnings"]]
        assert ("stricter_than_directive" in codes) is (rule == "adding up")


@pytest.mark.parametrize(("wavelength", "target", "duration", "said"), [
    ("10.6 um", "eye", "50 ns", True), ("10.6 um", "skin", "50 ns", True),
    ("10.6 um", "eye", "100 ns", False), ("650 nm", "skin", "50 ns", True),
    ("650 nm", "eye", "50 ns", False),
])  # fmt: skip
def test_short_pulses_that_add_up_by_a_reading_say_so(
    wavelength: str, target: str, duration: str, said: bool
) -> None:
    """16 pulses: the limit of one, below 100 ns no row that is called thermal, over 16^0.25."""
    train = pulse(wavelength, duration, target=target, exposure_time="1 s", **EU)
    train["emission"]["repetition_rate"] = "16 Hz"
    answer = respond(train)
    assert answer["results"]["exposure_limit_fluence"]["rule"] == "adding up"
    notes = {one["code"]: one for one in answer["warnings"]}
    assert ("adds_up_by_reading" in notes) is said
    if said:
        assert notes["adds_up_by_reading"]["sources"] == ["directive2006"]
        assert notes["adds_up_by_reading"]["text"].endswith("which is the stricter reading")
    codes = [one["code"] for one in respond({**train, "edition": "ICNIRP 2013"})["warnings"]]
    assert "adds_up_by_reading" not in codes


def test_without_an_aperture_nothing_rests_on_one() -> None:
    answer = respond({**CO2, "wavelength": "101 um"})
    reason = "beyond 100 um no aperture for the eye is offered"
    for name in ("limiting_aperture", "optical_density", "en207_d"):
        assert answer["absent"][name] == reason
    assert answer["absent"]["direct_distance"] == "needs beam.full_divergence"
    assert answer["absent"]["skin_distance"] == "needs beam.full_divergence"
    # With a beam its own size is graded.
    sized = respond({**CO2, "wavelength": "101 um", "beam": BEAM})
    assert sized["absent"]["optical_density"] == reason
    assert sized["results"]["en207_d"]["value"] == 3
    strong = respond({**CO2, "emission": {"power": "1 GW"}, "beam": BEAM})
    assert strong["absent"]["en207_d"] == "above the highest grade, LB10"


@pytest.mark.parametrize(("change", "limit"), [
    ({}, 200), ({"exposure_time": "10 s"}, 1000), ({"exposure_time": "10.1 s"}, 200),
    ({"wavelength": "1400 nm"}, 200), ({"wavelength": "1399 nm"}, 10_000),
    ({"target": "eye"}, 1000), ({"skin": ...}, 1000),
])  # fmt: skip
def test_a_large_area_of_skin_counts_where_it_may(change: dict, limit: float) -> None:
    # 500 cm2: 10 W / 0.05 m2.
    request = {
        **CO2, "exposure_time": "60 s", "target": "skin", "skin": {"exposed_area": "500 cm2"},
        **change,
    }  # fmt: skip
    answer = respond({name: value for name, value in request.items() if value is not ...})[
        "results"
    ]
    assert answer["exposure_limit_irradiance"]["value"] == pytest.approx(limit)
    seconds = float(str(request["exposure_time"]).split()[0])
    assert answer["exposure_limit_fluence"]["value"] == pytest.approx(limit * seconds)
    formula = answer["exposure_limit_irradiance"]["formula"]
    assert formula.endswith("large_area_irradiance_w_m2" if limit == 200 else "irradiance_w_m2")


def test_the_skin_distance_is_that_of_skin() -> None:
    # 650 nm, 0.25 s: 18 x 0.25^0.75 for the eye, 11,000 x 0.25^0.25 J/m2 for skin.
    red = {"wavelength": "650 nm", "exposure_time": "0.25 s", "emission": {"power": "10 W"},
           "beam": {**BEAM, "diameter": "0 mm"}}  # fmt: skip
    results = respond(red)["results"]
    for name, limit in (
        ("direct_distance", 18 * 0.25**0.75),
        ("skin_distance", 11_000 * 0.25**0.25),
    ):
        far = math.sqrt(4 * 10 * 0.25 / limit / math.pi) / 0.004
        assert results[name]["value"] == pytest.approx(far)


@pytest.mark.parametrize(("nanometres", "given"), [(700, True), (701, False)])
def test_classes_are_given_for_visible_beams(nanometres: int, given: bool) -> None:
    aim = {"wavelength": f"{nanometres} nm", "exposure_time": "0.25 s",
           "emission": {"power": "0.9 mW"}}  # fmt: skip
    answer = respond(aim)
    assert ("aiming_beam_class" in answer["results"]) is given
    if given:
        assert answer["results"]["aiming_beam_class"]["value"] == "2"
        assert answer["results"]["aiming_beam_class"]["formula"].endswith("eyewear.visible_class")


ALWAYS = ["not_for_tissue", "everybody_wears_eyewear", "greatest_output", "transcribed",
          "diffuse_never_decides", "density_not_burn_through"]  # fmt: skip
RED = {"wavelength": "650 nm", "exposure_time": "0.25 s", "emission": {"power": "1 mW"}}


@pytest.mark.parametrize(("request_", "codes"), [
    (CO2, [*ALWAYS, "aiming_beam_passes", "without_beam_size_factor"]),
    ({**CO2, "edition": "2006/25/EC"}, [*ALWAYS, "aiming_beam_passes", "without_beam_size_factor"]),
    ({**CO2, "eyewear": {"beam_size_factor": True}}, [*ALWAYS, "aiming_beam_passes"]),
    (RED, [*ALWAYS, "without_beam_size_factor", "label_decides"]),
    ({**RED, "wavelength": "1400 nm"}, [*ALWAYS, "without_beam_size_factor"]),
    ({**CO2, "emission": TRAIN},
     [*ALWAYS, "aiming_beam_passes", "without_beam_size_factor", "without_accumulation"]),
    ({**CO2, "emission": TRAIN, "eyewear": {"accumulation_window": "5 s"}},
     [*ALWAYS, "aiming_beam_passes", "without_beam_size_factor"]),
    (ONE, [*ALWAYS, "aiming_beam_passes", "without_beam_size_factor"]),
    # No limit: neither distance nor density, but a grade.
    ({**CO2, "exposure_time": "0.9 ns"}, [*ALWAYS[:4], "without_beam_size_factor"]),
    # Without an aperture no grade either.
    ({**CO2, "wavelength": "200 um"}, ALWAYS[:5]),
])  # fmt: skip
def test_cautions_stand_where_they_belong(request_: dict, codes: list[str]) -> None:
    warnings = respond(request_)["warnings"]
    assert [one["code"] for one in warnings] == codes
    of_edition = {"transcribed": ["directive2006" if "edition" in request_ else "icnirp2013"]}
    sources = {
        "not_for_tissue": ["icnirp2013"], "density_not_burn_through": ["en207"],
        "without_beam_size_factor": ["en207"], "without_accumulation": ["en207"],
        "label_decides": ["iec60825"], **of_edition,
    }  # fmt: skip
    for one in warnings:
        assert one["sources"] == sources.get(one["code"], ["practice"])
        assert one["text"]
    assert len({one["text"] for one in warnings}) == len(warnings)


def test_an_answer_as_lines() -> None:
    """As the command line prints it: a label in 38 columns, three digits, the unit."""
    answer = respond(RED)
    lines = as_lines(answer)
    assert len(lines) == len(answer["results"]) + len(answer["warnings"])
    # 18 x 0.25^0.75 / 0.25 = 25.5 W/m2 (25.46).
    assert lines[0] == "exposure limit, irradiance".ljust(38) + "25.5 W/m²"
    assert lines[2] == "limiting aperture".ljust(38) + "7 mm"
    assert "class of a visible beam".ljust(38) + "2 " in [f"{line.rstrip()} " for line in lines]
    density = math.log10(1e-3 / (math.pi / 4 * 0.007**2) / 25.4558)
    assert f"{'optical density':<38}{density:.3g}" in lines
    assert lines[-1] == f"note: {answer['warnings'][-1]['text']}"
