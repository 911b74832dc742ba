"""The engine against printed values, hand calculations, and refusals that both languages share."""

import json
from math import exp, log, sqrt
from pathlib import Path

import pytest

from api.dose.constants import number
from api.dose.display import format_value
from api.dose.evaluate import respond
from api.dose.quantity import to_si
from api.errors import BadInput

VECTORS = Path(__file__).parents[1] / "vectors"


def _read(name: str) -> dict:
    return json.loads((VECTORS / name).read_text(encoding="utf-8"))


_PRINTED = _read("dose_printed.json")
_CASES = [
    pytest.param(entry, case, id=f"{entry['id']}-{place}")
    for entry in (*_PRINTED["printed"], *_PRINTED["hand"])
    for place, case in enumerate(entry["cases"])
]


@pytest.mark.parametrize(("entry", "case"), _CASES)
def test_a_request_gives_the_value_of_the_source(entry: dict, case: dict) -> None:
    response = respond(case["request"])
    chosen = response["dose"]["set"]
    for name, value in case["expected"].items():
        assert chosen[name]["value"] == pytest.approx(value, rel=entry["rel_tol"]), name
    for name, value in case.get("delivered", {}).items():
        delivered = response["dose"]["delivered"][name]["value"]
        assert delivered == pytest.approx(value, rel=entry["rel_tol"]), name
    for name, band in case.get("bands", {}).items():
        for end, value in band.items():
            assert chosen[name][end] == pytest.approx(value, rel=entry["rel_tol"]), name
    if "basis" in case:
        assert response["dose"]["delivered"]["basis"] == case["basis"]
    assert {note["code"] for note in response["warnings"]} >= set(case.get("notes", []))
    for side, wanted in case.get("intervals", {}).items():
        _compare_intervals(response["intervals"][side], wanted, entry["rel_tol"])
    for name in case.get("absent", []):
        assert name not in chosen
        assert response["absent"][name]
    for name, words in case.get("reasons", {}).items():
        assert words in response["absent"][name]
    found = response["contradictions"]
    for contradiction, wanted in zip(found, case.get("contradictions", []), strict=True):
        assert sorted(contradiction["fields"]) == wanted["fields"]
        assert contradiction["by"] == pytest.approx(wanted["by"], rel=1e-6)


def _compare_intervals(found: dict | None, wanted: dict | None, rel_tol: float) -> None:
    if wanted is None:
        assert found is None
        return
    for name, interval in wanted.items():
        if isinstance(interval, str):
            assert found[name] == interval, name
            continue
        for end, value in interval.items():
            assert found[name][end] == pytest.approx(value, rel=rel_tol), name


def test_diameter_factors_agree_with_the_enclosed_part() -> None:
    # I04, I05: 1 - exp(-2 (r/w)^2); I07: r = w sqrt(-ln(1 - q) / 2).
    printed = {entry["id"]: entry for entry in _PRINTED["printed"]}

    def enclosed(r_over_w: float) -> float:
        return 1 - exp(-2 * r_over_w**2)

    assert enclosed(1) == pytest.approx(printed["I04"]["printed"])
    radius_of_63 = 1 / number("INVERSE_E2_PER_INVERSE_E")
    assert printed["I05"]["inputs"]["r_over_w"][1] == pytest.approx(radius_of_63)
    assert enclosed(radius_of_63) == pytest.approx(printed["I05"]["printed"][1])
    half = printed["I07"]["printed"][0]
    # FWHM: half the irradiance in the centre is at r = w sqrt(ln 2 / 2), where half is enclosed.
    assert 1 / number("INVERSE_E2_PER_FWHM") == pytest.approx(half, rel=1e-9)
    assert sqrt(log(2) / 2) == pytest.approx(half, rel=1e-9)


_REFUSED = _read("dose_refused.json")["cases"]


@pytest.mark.parametrize("case", _REFUSED, ids=[case["why"] for case in _REFUSED])
def test_a_bad_request_is_refused_at_its_fields(case: dict) -> None:
    with pytest.raises(BadInput) as caught:
        respond(case["request"])
    assert caught.value.code == "bad_request"
    assert sorted(caught.value.errors) == sorted(case["errors"])
    assert all(texts and all(texts) for texts in caught.value.errors.values())


@pytest.mark.parametrize("value", [float("nan"), float("inf"), -1.0, 10**400])
def test_numbers_json_cannot_carry_are_refused_too(value: float) -> None:
    emission = {"mode": "continuous", "power": {"value": value, "unit": "W"}}
    with pytest.raises(BadInput) as caught:
        respond({"wavelength": "10.6 um", "emission": emission})
    assert list(caught.value.errors) == ["emission.power"]


_DISPLAY = _read("display.json")["cases"]


@pytest.mark.parametrize("case", _DISPLAY, ids=[case["text"][:20] for case in _DISPLAY])
def test_a_result_is_written_as_the_rule_says(case: dict) -> None:
    assert format_value(case["name"], case["value"]) == case["text"]


@pytest.mark.parametrize(
    ("dimension", "unit", "factor"),
    [(d, u, f) for d, units in _read("dose_units.json")["units"].items() for u, f in units.items()],
)
def test_the_server_reads_every_unit_of_the_tablet(
    dimension: str, unit: str, factor: float
) -> None:
    assert to_si(f"3 {unit}" if unit not in ("", "1") else "3", dimension) == pytest.approx(
        3 * factor, rel=1e-15
    )
    assert to_si({"value": 3, "unit": unit}, dimension) == pytest.approx(3 * factor, rel=1e-15)
