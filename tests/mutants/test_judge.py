"""A module whose mutants live is found out; a survivor counts as explained as it stands only."""

import json
import re
from dataclasses import replace
from pathlib import Path

import pytest

from tests.mutants import switch
from tests.mutants.judge import Mutant, change_of, explained, is_enough, line, score, whole
from tests.mutants.making import GROUPS, broken_text, modules, of_sample

ROOT = Path(__file__).parents[2]
# As mutmut prints a survivor.
SHOWN = """# api.dose.emission.x_off_time_s__mutmut_2: survived
--- api/dose/emission.py
+++ api/dose/emission.py
@@ -14,5 +14,5 @@
     Source: `definition`
     \"\"\"
     require_above_zero(pulse_period_s=pulse_period_s)
-    return max(0.0, pulse_period_s - pulse_duration_s)
+    return max(1.0, pulse_period_s - pulse_duration_s)
"""
TAKEN = "return max(0.0, pulse_period_s - pulse_duration_s)"
PUT = "return max(1.0, pulse_period_s - pulse_duration_s)"
REASON = {"function": "emission.off_time_s", "before": TAKEN, "after": PUT, "why": "for the test"}


def _mutants(seen: int, survived: int) -> list[Mutant]:
    killed = [Mutant(f"api.dose.emission.x_f__mutmut_{n}", True, "", "") for n in range(seen)]
    name = "api.dose.emission.x_off_time_s__mutmut_{}"
    return killed + [Mutant(name.format(n), False, TAKEN, PUT) for n in range(survived)]


def test_nine_of_ten_are_enough_and_fewer_are_not() -> None:
    assert is_enough(score("emission", _mutants(9, 1), []))
    assert not is_enough(score("emission", _mutants(8, 1), []))
    # Known bad: tests that see nothing.
    assert not is_enough(score("emission", _mutants(0, 5), []))


def test_an_explained_survivor_is_not_counted_and_another_change_there_is() -> None:
    assert score("emission", _mutants(1, 1), [REASON]).value == 1
    other = {**REASON, "after": "return max(2.0, pulse_period_s - pulse_duration_s)"}
    found = score("emission", _mutants(1, 1), [other])
    assert found.value == 0.5
    assert [one.function for one in found.unexplained] == ["emission.off_time_s"]
    assert json.loads(line(found)) == {
        "module": "emission", "score": 0.5, "mutants": 2, "ran": 2, "seen": 1, "by_time": 0,
        "explained": 0,
    }  # fmt: skip


def test_a_reason_for_what_is_seen_by_now_is_stale() -> None:
    key = (REASON["function"], REASON["before"], REASON["after"])
    assert score("emission", _mutants(2, 1), [REASON]).stale == ()
    assert score("emission", _mutants(3, 0), [REASON]).stale == (key,)
    assert whole([score("emission", _mutants(3, 0), [REASON])]).stale == (key,)
    # Of a sample nobody can tell, nor of another module; one of a longer name is another one.
    assert score("emission", _mutants(3, 0), [REASON], made=9).stale == ()
    assert score("spot", _mutants(3, 0), [REASON]).stale == ()
    hazard = {**REASON, "function": "hazard.limits.f"}
    assert score("hazard", _mutants(3, 0), [hazard]).stale == ()
    method = {**REASON, "function": "emission.Pulse.f"}
    assert len(score("emission", _mutants(3, 0), [method]).stale) == 1


def test_a_sample_says_that_it_is_one_and_is_always_the_same() -> None:
    names = [f"api.dose.emission.x_f__mutmut_{n}" for n in range(100)]
    drawn = of_sample(names, 10)
    assert len(drawn) == len(set(drawn)) == 10
    assert drawn == of_sample(names, 10) != names[:10]
    assert of_sample(names, None) == of_sample(names, 100) == names
    said = json.loads(line(score("emission", _mutants(9, 1), [], made=100)))
    assert (said["mutants"], said["ran"], said["sample"]) == (100, 10, True)
    assert "sample" not in json.loads(line(score("emission", _mutants(9, 1), [])))


def test_the_last_line_counts_all_modules_by_their_mutants() -> None:
    slow = replace(score("a", _mutants(90, 0), []), by_time=1)
    both = whole([slow, score("b", _mutants(5, 5), [])])
    assert json.loads(line(both)) == {
        "module": "all of these", "score": 0.95, "mutants": 100, "ran": 100, "seen": 95,
        "by_time": 1, "explained": 0,
    }  # fmt: skip


def test_a_switch_calls_what_is_on_and_counts() -> None:
    """As a module that mutmut has broken uses it, with one function and one mutant of it."""
    mutants: dict = {}

    @switch.wrap_in_trampoline(mutants)
    def half(x: float) -> float:
        """Never called: the written one stands in the table."""
        raise NotImplementedError

    def x_half__mutmut_orig(x: float) -> float:
        return x / 2

    mutants["_mutmut_orig"] = x_half__mutmut_orig
    mutants["x_half__mutmut_1"] = lambda x: x * 2
    function = f"{__name__}.x_half"
    try:
        switch.turn("")
        assert (half(6.0), switch.called) == (3.0, {function})
        switch.turn(f"{function}__mutmut_1")
        assert half(6.0) == 12
        # A mutant of another module leaves this one alone.
        switch.turn("api.dose.emission.x_half__mutmut_1")
        assert half(6.0) == 3
        assert (half.__name__, half.__doc__.split(":")[0]) == ("half", "Never called")
    finally:
        switch.turn("")
        switch.called.clear()


def test_a_diff_is_read_as_the_lines_taken_and_put() -> None:
    assert change_of(SHOWN) == (TAKEN, PUT)


@pytest.mark.parametrize(
    ("name", "function"),
    [
        ("api.dose.emission.x_off_time_s__mutmut_2", "emission.off_time_s"),
        ("api.dose.hazard.limits.x__nodes__mutmut_11", "hazard.limits._nodes"),
        ("api.dose.heat_model.xǁHeatǁstep__mutmut_3", "heat_model.Heat.step"),
    ],
)
def test_a_function_is_named_as_the_code_names_it(name: str, function: str) -> None:
    assert Mutant(name, False, "", "").function == function


def test_every_module_has_its_tests_and_every_reason_a_place() -> None:
    names = modules(ROOT)
    assert {"emission", "hazard.limits", "heat_model"} <= set(names)
    for name in names:
        assert sum(group.holds(name) for group in GROUPS) == 1, name
    for group in GROUPS:
        missing = [t for t in group.tests if not (ROOT / "tests/dose" / t).is_file()]
        assert missing == []


def test_every_reason_says_why_of_a_line_that_still_stands() -> None:
    reasons = explained()
    for reason in reasons:
        assert len(reason["why"]) > 20, reason
        fitting = [name for name in modules(ROOT) if reason["function"].startswith(f"{name}.")]
        path = ROOT / f"api/dose/{max(fitting, key=len).replace('.', '/')}.py"
        text = path.read_text(encoding="utf-8")
        assert f"def {reason['function'].rpartition('.')[2]}(" in text, reason
        # However it is laid.
        assert re.sub(r"\s", "", reason["before"]) in re.sub(r"\s", "", text), reason
    keys = [(one["function"], one["before"], one["after"]) for one in reasons]
    assert len(set(keys)) == len(keys)


@pytest.mark.long
def test_every_reason_is_for_a_mutant_that_is_made() -> None:
    reasons = explained()
    changes: dict[str, set[tuple[str, str, str]]] = {}
    for reason in reasons:
        fitting = [name for name in modules(ROOT) if reason["function"].startswith(f"{name}.")]
        module = max(fitting, key=len)
        if module not in changes:
            path = ROOT / f"api/dose/{module.replace('.', '/')}.py"
            _, made = broken_text(module, path.read_text(encoding="utf-8"))
            changes[module] = {(Mutant(name, False, *lines).function, *lines)
                               for name, lines in made.items()}  # fmt: skip
        key = (reason["function"], reason["before"], reason["after"])
        assert key in changes[module], f"not made any more: {key}"
