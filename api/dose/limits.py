"""Compare settings with what a device can do, as its registration states."""

from collections.abc import Mapping

from api.dose.constants import table
from api.dose.display import format_value
from api.dose.emitted import solve_emission
from api.dose.quantity import NotAQuantity, to_si
from api.dose.request import parse
from api.dose.results import results_from
from api.errors import BadInput

LIMITED = (
    "average_power",
    "peak_power",
    "pulse_energy",
    "pulse_duration",
    "repetition_rate",
    "duty_cycle",
    "gate_on",
    "gate_off",
)
_SLACK = 1e-9


def _limit_si(limits: Mapping[str, Mapping[str, object]], name: str, end: str) -> float | None:
    given = limits.get(name, {}).get(end)
    if given is None:
        return None
    try:
        return to_si(given, table()["quantities"][f"emission.{name}"]["dimension"])
    except NotAQuantity as problem:
        raise BadInput("bad_limit", str(problem), field=f"limits.{name}.{end}") from None


def _field(emission: Mapping[str, object], name: str) -> str:
    """Return the field that a person typed for this value, if there is just one to blame."""
    if name in emission or "power" not in emission or not name.endswith("_power"):
        return f"emission.{name}"
    kind = emission.get("power_kind")
    mine = emission.get("mode") == "continuous" or kind == name.removesuffix("_power")
    return "emission.power" if mine else f"emission.{name}"


def check_limits(
    settings: Mapping[str, object], limits: Mapping[str, Mapping[str, object]]
) -> dict[str, str]:
    """Return {field path: text} for everything in the settings that the device cannot do.

    ``settings`` is a dose request; ``limits`` is {emission field: {"min": quantity, "max":
    quantity}}, either end may be missing. Values that only follow from others are checked too.
    Raises BadInput for a request or a limit that cannot be read.
    """
    given = parse(settings)
    known, _ = solve_emission(given)
    results = results_from(given, known)
    values = {name: results[name].value_si for name in LIMITED if name in results}
    values |= {n: given.emission[n] for n in ("gate_on", "gate_off") if n in given.emission}
    problems: dict[str, str] = {}
    for name in LIMITED:
        if name not in values:
            continue
        shown_as = "off_time" if name.startswith("gate_") else name
        path = _field(settings["emission"], name)
        least, most = _limit_si(limits, name, "min"), _limit_si(limits, name, "max")
        words = name.replace("_", " ")
        if least is not None and values[name] < least * (1 - _SLACK):
            problems.setdefault(
                path,
                f"{words} {format_value(shown_as, values[name])} is below the device's minimum, "
                f"{format_value(shown_as, least)}",
            )
        if most is not None and values[name] > most * (1 + _SLACK):
            problems.setdefault(
                path,
                f"{words} {format_value(shown_as, values[name])} is above the device's maximum, "
                f"{format_value(shown_as, most)}",
            )
    return problems
