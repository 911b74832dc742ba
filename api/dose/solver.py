"""Work out an emission from any sufficient subset of what a panel shows, and find contradictions.

The relations are rules "this follows from those". The given values are taken one by one in a fixed
order: one that already follows from the earlier ones is compared with what follows (1 %, as panels
round), one that does not is added. So a contradiction names just the values that collide.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import NamedTuple

from api.dose import emission, emission_inverse, gates
from api.dose.constants import number


class Known(NamedTuple):
    """A value in SI units, the function it came from ("given"), and the fields it rests on."""

    value: float
    formula: str
    support: tuple[str, ...]


class Given(NamedTuple):
    """A value of the request: the variable it states, its field path, its value in SI units."""

    variable: str
    field: str
    value: float


class Clash(NamedTuple):
    """A given value and what the others give for it."""

    variable: str
    field: str
    given: float
    expected: float
    support: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class Rule:
    """``target`` follows from ``needs`` by ``function``, which may answer None: not from these."""

    target: str
    function: Callable[..., float | None]
    needs: tuple[str, ...]

    @cached_property
    def name(self) -> str:
        """The function's dotted name, as responses carry it."""
        return f"{self.function.__module__}.{self.function.__name__}"

    @cached_property
    def needed(self) -> frozenset[str]:
        """What it needs, as a set."""
        return frozenset(self.needs)


_E, _I, _G = emission, emission_inverse, gates

TRAIN_RULES = (
    Rule("pulse_period_s", _E.pulse_period_s, ("repetition_rate_hz",)),
    Rule("repetition_rate_hz", _I.repetition_rate_hz, ("pulse_period_s",)),
    Rule("duty_cycle", _E.duty_cycle, ("pulse_duration_s", "repetition_rate_hz")),
    Rule("pulse_duration_s", _I.pulse_duration_from_duty_s, ("duty_cycle", "repetition_rate_hz")),
    Rule("repetition_rate_hz", _I.repetition_rate_from_duty_hz, ("duty_cycle", "pulse_duration_s")),
    Rule(
        "pulse_energy_j",
        _E.pulse_energy_j,
        ("peak_power_w", "pulse_duration_s", "shape_factor"),
    ),
    Rule("peak_power_w", _I.peak_power_w, ("pulse_energy_j", "pulse_duration_s", "shape_factor")),
    Rule(
        "pulse_duration_s", _I.pulse_duration_s, ("pulse_energy_j", "peak_power_w", "shape_factor")
    ),
    Rule("average_power_w", _E.average_power_w, ("pulse_energy_j", "repetition_rate_hz")),
    Rule(
        "pulse_energy_j",
        _I.pulse_energy_from_average_j,
        ("average_power_w", "repetition_rate_hz"),
    ),
    Rule(
        "repetition_rate_hz",
        _I.repetition_rate_from_energy_hz,
        ("average_power_w", "pulse_energy_j"),
    ),
    Rule(
        "average_power_w",
        _E.average_power_from_peak_w,
        ("peak_power_w", "duty_cycle", "shape_factor"),
    ),
    Rule(
        "peak_power_w",
        _I.peak_power_from_average_w,
        ("average_power_w", "duty_cycle", "shape_factor"),
    ),
    Rule(
        "duty_cycle", _I.duty_cycle_from_powers, ("average_power_w", "peak_power_w", "shape_factor")
    ),
    Rule("off_time_s", _E.off_time_s, ("pulse_period_s", "pulse_duration_s")),
)

_TRAIN_IN_GATE = ("gate_on_s", "repetition_rate_hz", "duty_cycle", "pulse_shape")
_OVERALL_RULES = (
    Rule("overall_power_w", _G.overall_power_w, ("gate_energy_j", "gate_on_s", "gate_off_s")),
    Rule(
        "gate_energy_j",
        _G.gate_energy_from_overall_j,
        ("overall_power_w", "gate_on_s", "gate_off_s"),
    ),
)

# In a gated train average_power_w is the average while the gate is open, which no panel shows;
# the average over gate and pause is overall_power_w.
GATED_TRAIN_RULES = (
    *TRAIN_RULES,
    Rule("pulses_started", _G.pulses_started_per_gate, ("gate_on_s", "repetition_rate_hz")),
    Rule("pulses_complete", _G.whole_pulses_per_gate, ("gate_on_s", "repetition_rate_hz")),
    Rule("pulses_complete", _G.pulses_complete_per_gate, _TRAIN_IN_GATE),
    Rule("pulse_equivalents", _G.whole_pulses_per_gate, ("gate_on_s", "repetition_rate_hz")),
    Rule("pulse_equivalents", _G.pulse_equivalents_per_gate, _TRAIN_IN_GATE),
    Rule("gate_energy_j", _G.gate_energy_j, ("pulse_energy_j", "pulse_equivalents")),
    Rule("pulse_energy_j", _G.pulse_energy_from_gate_j, ("gate_energy_j", "pulse_equivalents")),
    *_OVERALL_RULES,
)

GATED_CONTINUOUS_RULES = (
    Rule("gate_energy_j", _G.continuous_gate_energy_j, ("peak_power_w", "gate_on_s")),
    Rule("peak_power_w", _G.peak_power_from_gate_w, ("gate_energy_j", "gate_on_s")),
    *_OVERALL_RULES,
)

CONTINUOUS_RULES = (Rule("peak_power_w", _E.continuous_peak_power_w, ("average_power_w",)),)

Settled = Mapping[str, float | str]


def _support(needs: tuple[str, ...], known: Mapping[str, Known]) -> tuple[str, ...]:
    """Return the fields that what is needed rests on, each once."""
    fields = (field for need in needs if need in known for field in known[need].support)
    return tuple(dict.fromkeys(fields))


def close(
    *, rules: tuple[Rule, ...], known: Mapping[str, Known], settled: Settled, barred: frozenset[str]
) -> dict[str, Known]:
    """Return everything that follows from what is known.

    ``settled`` are values no field states (the shape); ``barred`` variables are never worked out,
    as their given values are contradicted.
    """
    result = dict(known)
    values = {**settled, **{name: entry.value for name, entry in known.items()}}
    waiting = [rule for rule in rules if rule.target not in barred]
    changed = True
    while changed:
        changed = False
        left = []
        for rule in waiting:
            if rule.target in result:
                continue
            if not rule.needed <= values.keys():
                left.append(rule)
                continue
            value = rule.function(**{need: values[need] for need in rule.needs})
            if value is None:
                continue
            values[rule.target] = value
            result[rule.target] = Known(value, rule.name, _support(rule.needs, result))
            changed = True
        waiting = left
    return result


@lru_cache(maxsize=1024)
def _may_follow(rules: tuple[Rule, ...], known: frozenset[str]) -> frozenset[str]:
    """Return the variables that may follow from these, whatever their values are."""
    found, before = known, -1
    while len(found) > before:
        before = len(found)
        found |= {rule.target for rule in rules if rule.needed <= found}
    return found


class Taken(NamedTuple):
    """The given values taken one by one.

    ``basis`` are those that do not follow from earlier ones, ``stated`` the first of each variable,
    ``clashes`` those that differ by more than 1 % from what earlier ones give.
    """

    basis: Mapping[str, Known]
    stated: Mapping[str, Known]
    clashes: list[Clash]


def take(*, rules: tuple[Rule, ...], given: list[Given], settled: Settled) -> Taken:
    """Take the given values in their order, each of them held against the earlier ones."""
    tolerance = number("CONTRADICTION_TOLERANCE") * (1 + 1e-9)
    basis: dict[str, Known] = {}
    stated: dict[str, Known] = {}
    clashes = []
    for variable, field, value in given:
        entry = Known(value, "given", (field,))
        stated.setdefault(variable, entry)
        expected = None
        if variable in _may_follow(rules, frozenset((*basis, *settled))):
            follows = close(rules=rules, known=basis, settled=settled, barred=frozenset())
            expected = follows.get(variable)
        if expected is None:
            basis[variable] = entry
        elif abs(value / expected.value - 1) > tolerance:
            clashes.append(Clash(variable, field, value, expected.value, expected.support))
    return Taken(basis, stated, clashes)


def solve(
    *, rules: tuple[Rule, ...], given: list[Given], settled: Settled, refused: frozenset[str]
) -> dict[str, Known]:
    """Return all values that follow from the given ones, those of ``refused`` fields left out.

    A given value stands as given, also where the others would give one within 1 % of it.
    """
    used = [item for item in given if item.field not in refused]
    taken = take(rules=rules, given=used, settled=settled)
    return solved(rules=rules, given=given, taken=taken, settled=settled)


def solved(
    *, rules: tuple[Rule, ...], given: list[Given], taken: Taken, settled: Settled
) -> dict[str, Known]:
    """Return all values that follow from those taken; a given one that was not stays unknown."""
    barred = frozenset(item.variable for item in given) - taken.stated.keys()
    known = close(rules=rules, known=taken.basis, settled=settled, barred=barred)
    return {**known, **taken.stated}
