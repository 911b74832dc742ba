"""Work out an emission from any sufficient subset of what a panel shows, and find contradictions.

The relations are rules "this follows from those". The given values are taken one by one in a fixed
order: one that already follows from the earlier ones is compared with what follows (1 %, as panels
round), one that does not is added. So a contradiction names just the values that collide.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from api.dose import emission, emission_inverse, gates
from api.dose.constants import number


@dataclass(frozen=True)
class Known:
    """A value in SI units, the function it came from ("given"), and the fields it rests on."""

    value: float
    formula: str
    support: tuple[str, ...]


@dataclass(frozen=True)
class Given:
    """A value of the request: the variable it states, its field path, its value in SI units."""

    variable: str
    field: str
    value: float


@dataclass(frozen=True)
class Clash:
    """A given value and what the others give for it."""

    variable: str
    field: str
    given: float
    expected: float
    support: tuple[str, ...]


@dataclass(frozen=True)
class Rule:
    """``target`` follows from ``needs`` by ``function``, which may answer None: not from these."""

    target: str
    function: Callable[..., float | None]
    needs: tuple[str, ...]

    @property
    def name(self) -> str:
        """The function's dotted name, as responses carry it."""
        return f"{self.function.__module__}.{self.function.__name__}"


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


def close(
    *, rules: tuple[Rule, ...], known: Mapping[str, Known], settled: Settled, barred: frozenset[str]
) -> dict[str, Known]:
    """Return everything that follows from what is known.

    ``settled`` are values no field states (the shape); ``barred`` variables are never worked out,
    as their given values are contradicted.
    """
    result = dict(known)
    changed = True
    while changed:
        changed = False
        for rule in rules:
            if rule.target in result or rule.target in barred:
                continue
            if any(need not in result and need not in settled for need in rule.needs):
                continue
            arguments = {
                need: result[need].value if need in result else settled[need] for need in rule.needs
            }
            value = rule.function(**arguments)
            if value is None:
                continue
            support: list[str] = []
            for need in rule.needs:
                if need in result:
                    support += [f for f in result[need].support if f not in support]
            result[rule.target] = Known(value, rule.name, tuple(support))
            changed = True
    return result


def find_clashes(*, rules: tuple[Rule, ...], given: list[Given], settled: Settled) -> list[Clash]:
    """Return the given values that differ by more than 1 % from what earlier ones give."""
    tolerance = number("CONTRADICTION_TOLERANCE") * (1 + 1e-9)
    basis: dict[str, Known] = {}
    clashes = []
    for item in given:
        follows = close(rules=rules, known=basis, settled=settled, barred=frozenset())
        if item.variable not in follows:
            basis[item.variable] = Known(item.value, "given", (item.field,))
            continue
        expected = follows[item.variable]
        if abs(item.value / expected.value - 1) > tolerance:
            clashes.append(
                Clash(item.variable, item.field, item.value, expected.value, expected.support)
            )
    return clashes


def solve(
    *, rules: tuple[Rule, ...], given: list[Given], settled: Settled, refused: frozenset[str]
) -> dict[str, Known]:
    """Return all values that follow from the given ones, those of ``refused`` fields left out.

    A given value stands as given, also where the others would give one within 1 % of it.
    """
    basis: dict[str, Known] = {}
    stated: dict[str, Known] = {}
    for item in given:
        if item.field in refused:
            continue
        entry = Known(item.value, "given", (item.field,))
        follows = close(rules=rules, known=basis, settled=settled, barred=frozenset())
        stated.setdefault(item.variable, entry)
        if item.variable not in follows:
            basis[item.variable] = entry
    barred = frozenset(item.variable for item in given if item.field in refused) - frozenset(stated)
    return {**close(rules=rules, known=basis, settled=settled, barred=barred), **stated}
