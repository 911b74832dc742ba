"""Each formula, constant and source says how it is known, and the tables agree with the code."""

import ast
import inspect
import re
from collections.abc import Callable, Iterator

import pytest

from api.dose import hazard, provenance
from api.dose.hazard.eyewear import visible_class
from tests.dose.physics import formulas

NAMED = {f"{f.__module__}.{f.__name__}": f for f in (*formulas(), *formulas(hazard))}
# Results that are put together of several formulas, or have none.
COMPOSED = {"api.dose.tissue_results.pulse_depth_band", "api.dose.heat.run", "literature"}
# What a caller hands in of the constants, by the name of the parameter.
HANDED_IN = {
    "shape_factor": {"GAUSSIAN_PULSE_FACTOR"},
    "geometry_factor": {"LAYER_FACTOR"},
    "ablation_heat_j_m3": {"CUT_HEAT_LEAST", "CUT_HEAT_MOST"},
    "water_absorption_per_m": {"water_extinction"},
    "log_frequency": {"DAMAGE_LOG_FREQUENCY"},
    "activation_k": {"DAMAGE_ACTIVATION"},
}


def called(function: Callable) -> Iterator[Callable]:
    """Yield the engine's functions that a function calls."""
    scope = function.__globals__
    for node in ast.walk(ast.parse(inspect.getsource(function))):
        if not isinstance(node, ast.Call):
            continue
        if isinstance(node.func, ast.Name):
            found = scope.get(node.func.id)
        elif isinstance(node.func, ast.Attribute) and isinstance(node.func.value, ast.Name):
            found = getattr(scope.get(node.func.value.id), node.func.attr, None)
        else:
            continue
        if inspect.isfunction(found) and found.__module__.startswith("api.dose"):
            yield found


def used_in(function: Callable, seen: set[Callable] | None = None) -> set[str]:
    """Return the names of the constants in a function and in what it calls."""
    seen = set() if seen is None else seen
    seen.add(function)
    known = set(provenance.constants())
    found = {
        node.value
        for node in ast.walk(ast.parse(inspect.getsource(function)))
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and node.value in known
    }
    for one in called(function):
        if one not in seen:
            found |= used_in(one, seen)
    return found


@pytest.mark.parametrize("name", list(NAMED))
def test_a_formula_names_the_constants_in_it(name: str) -> None:
    function = NAMED[name]
    stated = set(provenance.formulas()[name]["constants"])
    handed = set().union(
        *(HANDED_IN.get(key, ()) for key in inspect.signature(function).parameters)
    )
    assert used_in(function) <= stated
    assert stated <= used_in(function) | handed


def test_the_constants_of_a_function_are_found() -> None:
    # So that the test above cannot pass for want of sight.
    assert used_in(visible_class) >= {"CLASS_1_POWER", "CLASS_3B_POWER"}
    assert "limits" in used_in(NAMED["api.dose.hazard.limits.limit_irradiance_w_m2"])


def test_every_formula_has_its_entry_and_none_is_left_over() -> None:
    labelled = {"api.dose.hazard.eyewear.visible_class"}
    assert set(provenance.formulas()) == set(NAMED) | COMPOSED | labelled
    for name, entry in provenance.formulas().items():
        assert set(entry) == {"status", "valid", "constants"}, name
        assert entry["status"] in provenance.STATUSES, name
        assert entry["valid"], name
        assert set(entry["constants"]) <= set(provenance.constants()), name


def test_a_status_is_not_better_than_its_source_allows() -> None:
    sources = provenance.bibliography()
    assert {entry["status"] for entry in sources.values()} == set(provenance.STATUSES)
    # A number may be worked out here whatever the source; printed or transcribed it cannot be
    # better known than the source is.
    for name, entry in provenance.constants().items():
        of_source = sources[entry["source"]]["status"]
        if entry["status"] == "printed":
            assert of_source == "printed", name
        elif entry["status"] == "transcribed":
            assert of_source == "transcribed", name
        assert (entry["status"] == "practice") == (entry["source"] == "practice"), name


def test_what_a_docstring_has_from_memory_or_a_transcription_says_so_in_its_entry() -> None:
    said = {"from memory": "from memory", "read in": "transcribed"}
    for name, function in NAMED.items():
        source = inspect.getdoc(function).partition("Source:")[2]
        for words, status in said.items():
            if words in source:
                assert provenance.formulas()[name]["status"] == status, name
        if not re.sub(r"`(definition|iso11145)`", "", source).strip():
            assert provenance.formulas()[name]["status"] == "computed", name


def test_the_bibliography_is_read_whole() -> None:
    entries = provenance.bibliography()
    assert entries["practice"] == {"status": "practice", "text": "Common practice, no source."}
    assert entries["hale1973"]["text"].endswith("water at 25 degC.")
    assert all(entry["text"] and "`" not in entry["text"][:20] for entry in entries.values())
