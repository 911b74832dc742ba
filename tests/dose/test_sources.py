"""Every number has one home and a source; docstrings say what signatures say."""

import ast
import importlib
import inspect
import math
import re
import subprocess
from pathlib import Path

import pytest

from api.dose import hazard
from api.dose.constants import ENGINE_VERSION, number, table
from api.dose.evaluate import respond
from api.dose.hazard.constants import table as hazard_table
from api.dose.provenance import bibliography
from tests.dose.physics import formulas, unit_and_exponents

ROOT = Path(__file__).parents[2]
DOSE = ROOT / "api" / "dose"
SECTIONS = ("Parameters:", "Returns:", "Raises:", "Valid for:", "Equation:", "Not covered:",
            "Source:")  # fmt: skip


def hazard_sources() -> set[str]:
    numbers = hazard_table()
    used = {entry["source"] for entry in numbers["numbers"].values()}
    used |= {key for entry in numbers["results"].values() for key in entry["sources"]}
    used.add(numbers["limits"]["source"])
    return used


def _cited(text: str) -> set[str]:
    return set(re.findall(r"`([a-z]+[0-9]*)`", text))


@pytest.mark.parametrize("function", formulas() + formulas(hazard), ids=lambda f: f.__name__)
def test_the_docstring_says_what_the_signature_says(function) -> None:
    text = inspect.getdoc(function)
    places = [text.index(section) for section in SECTIONS]
    assert places == sorted(places)
    parameters = text[places[0] : places[1]]
    listed = re.findall(r"^ {4}(\w+) \[(.+?)\]:", parameters, re.MULTILINE)
    signature = inspect.signature(function).parameters
    assert [name for name, _ in listed] == list(signature)
    assert all(p.kind is p.KEYWORD_ONLY for p in signature.values())
    for name, unit in listed:
        assert unit == (
            "text" if signature[name].annotation is str else unit_and_exponents(name)[0]
        ), name
    returned = re.search(r"\[(.+?)\]", text[places[1] : places[2]])[1]
    assert returned == unit_and_exponents(function.__name__)[0]


def test_bibliography_and_use_agree() -> None:
    text = (DOSE / "references.md").read_text(encoding="utf-8")
    keys = set(bibliography())
    assert len(keys) == text.count("\n- `")
    used = {entry["source"] for entry in table()["numbers"].values()}
    used.add(table()["water_extinction"]["source"])
    used |= {entry["source"] for kind in table()["tissues"].values() for entry in kind.values()}
    used |= {key for entry in table()["results"].values() for key in entry["sources"]}
    used |= {key for keys in table()["formula_sources"].values() for key in keys}
    used |= hazard_sources()
    for path in DOSE.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef) and (doc := ast.get_docstring(node)):
                source = doc.partition("Source:")[2]
                used |= _cited(source)
    assert keys == used


@pytest.mark.parametrize("name", list(table()["numbers"]))
def test_a_constant_has_unit_meaning_source_and_range(name: str) -> None:
    entry = table()["numbers"][name]
    assert set(entry) == {"value", "unit", "what", "source", "range", "status"}
    least, most = entry["range"]
    assert least <= entry["value"] <= most


def test_derived_constants_are_what_they_say() -> None:
    # Closed forms, worked out here on their own.
    assert number("GAUSSIAN_PULSE_FACTOR") == pytest.approx(
        math.sqrt(math.pi / (4 * math.log(2))), rel=1e-15
    )
    assert number("INVERSE_E2_PER_FWHM") == pytest.approx(math.sqrt(2 / math.log(2)), rel=1e-15)
    assert number("INVERSE_E2_PER_INVERSE_E") == pytest.approx(math.sqrt(2), rel=1e-15)
    assert number("SQRT_TWO_OVER_PI") == pytest.approx(math.sqrt(2 / math.pi), rel=1e-15)
    # Energy of a Gaussian pulse by the midpoint rule over 8 FWHM.
    step = 1e-3
    area = sum(math.exp(-4 * math.log(2) * (k * step) ** 2) * step for k in range(-4000, 4001))
    assert number("GAUSSIAN_PULSE_FACTOR") == pytest.approx(area, rel=1e-9)
    assert table()["engine_version"] == ENGINE_VERSION


def test_every_formula_of_a_response_exists() -> None:
    requests = [
        {
            "wavelength": "10.6 um",
            "emission": emission,
            "spot": {"diameter": "0.25 mm", "diameter_definition": "fwhm"},
            "motion": {"speed": "5 mm/s"},
            "emission_time": "30 s",
            "delivery": {"verified_ratio": "0.9", "loss": "0.5 dB"},
            "tissue": {"kind": "oral mucosa"},
        }
        for emission in (
            {"mode": "continuous", "power": "4 W"},
            {"mode": "pulsed", "pulse_energy": "33 mJ", "repetition_rate": "140 Hz",
             "pulse_duration": "400 us"},
            {"mode": "gated", "average_power": "2 W", "gate_on": "20 ms", "gate_off": "30 ms"},
        )
    ]  # fmt: skip
    seen = set()
    for request in requests:
        dose = respond(request)["dose"]
        for result in (*dose["set"].values(), *dose["delivered"].values()):
            if isinstance(result, dict):
                seen.add(result["formula"])
    for formula in (seen | table()["formula_sources"].keys()) - {"given", "literature"}:
        module, _, name = formula.rpartition(".")
        assert callable(getattr(importlib.import_module(module), name))
    assert len(seen) > 15


def test_the_generated_constants_are_up_to_date() -> None:
    run = subprocess.run(
        ["node", "scripts/generate_constants.mjs", "--print"],
        cwd=ROOT / "pwa", capture_output=True, text=True, check=True, timeout=30,
    )  # fmt: skip
    mirror = ROOT / "pwa/src/dose"
    tables = ("constants_table.ts", "hazard/constants_table.ts", "published_table.ts",
              "provenance_table.ts")  # fmt: skip
    assert run.stdout == "".join((mirror / name).read_text(encoding="utf-8") for name in tables)


def test_the_mirror_has_the_same_files_and_functions() -> None:
    mirror = ROOT / "pwa/src/dose"
    here = {path.stem for path in DOSE.glob("*.py")} - {"__init__", "table"}
    # table.py prints on the command line, which the tablet has not; the tablet has its own
    # refusal class, the generated tables and the worker of the simulation besides.
    assert {path.stem for path in mirror.glob("*.ts")} - {
        "errors",
        "constants_table",
        "published_table",
        "provenance_table",
        "heat_worker",
    } == here
    for module in {function.__module__ for function in formulas()}:
        text = (mirror / f"{module.rpartition('.')[2]}.ts").read_text(encoding="utf-8")
        there = set(re.findall(r"^export function (\w+)", text, re.MULTILINE))
        assert there == {f.__name__ for f in formulas() if f.__module__ == module}


def test_the_hazard_s_mirror_has_the_same_files() -> None:
    here = {path.stem for path in (DOSE / "hazard").glob("*.py")} - {"__init__", "table"}
    there = {path.stem for path in (ROOT / "pwa/src/dose/hazard").glob("*.ts")}
    assert there - {"constants_table"} == here


@pytest.mark.parametrize("name", list(hazard_table()["numbers"]))
def test_a_hazard_constant_has_unit_meaning_and_source(name: str) -> None:
    entry = hazard_table()["numbers"][name]
    assert set(entry) == {"value", "unit", "what", "source", "status"}
    assert entry["value"] > 0


# Geometry and arithmetic, a power of ten, millimetres and nanometres of a metre, the last bits of a
# float, and the width of a printed column.
ARITHMETIC = {0, 1, 2, 4, 8, 10, 1000, 1e9, 1e-9, 38}


def numbers_in(code: str) -> set[float]:
    """Return the numbers that stand in the code."""
    found = (node.value for node in ast.walk(ast.parse(code)) if isinstance(node, ast.Constant))
    return {value for value in found if isinstance(value, int | float) and value is not True}


def test_no_number_of_a_standard_stands_in_the_hazard_s_code() -> None:
    for path in (DOSE / "hazard").glob("*.py"):
        assert numbers_in(path.read_text(encoding="utf-8")) <= ARITHMETIC, path.name


def test_a_number_in_code_would_be_found() -> None:
    assert not numbers_in("LONG_FROM_M = 1.4e-6") <= ARITHMETIC
