"""The results on tissue: what a request allows, and why each of the others is not offered.

Validity is demanded here: no result below 1.4 um, depth and damage only at 10.6 um, where they were
measured, the depth of one pulse only for pulses below 0.5 ms.
"""

from collections.abc import Mapping

from api.dose import tissue
from api.dose.constants import number, table
from api.dose.request import DoseInput
from api.dose.steps import Band, Result, Results, Steps

NO_TISSUE = "no tissue is stated"
WEAK = "below 1.4 um soft tissue absorbs too little for a result on depth"
NO_NODES = "no absorption values are held for this wavelength"
OTHER_LINE = "it is offered at 10.6 um only, where it was measured"
NO_KIND = "it was measured in oral tissue: the kind of tissue is not stated"
NO_DURATION = "the pulse duration is not known, and the depth holds for short pulses only"
LONG_PULSE = "it is offered for pulses below 0.5 ms only, for which the threshold was measured"
BELOW = "the mean fluence of one pulse is not above the ablation threshold"
CENTRE_ABOVE = "; in the centre of a Gaussian spot it is"

_WATER = ("water_fraction",)
_BULK = ("density", "specific_heat", "conductivity")
_REMOVAL = ("density", "ablation_threshold", "ablation_heat")
_NEEDS = {
    "absorption_coefficient": _WATER,
    "absorption_depth": _WATER,
    "thermal_relaxation_time": _WATER + _BULK,
    "pulse_depth": _WATER + _REMOVAL,
    "cut_depth": (),
    "thermal_damage": (),
}
_MEASURED = ("pulse_depth", "cut_depth", "thermal_damage")
# A wavelength at the end of a range is inside it, as for every quantity.
_SLACK = 1e-9


def at_measured_line(given: DoseInput) -> bool:
    """Return whether the wavelength is that of the measurements, 10.6 um."""
    away = abs(given.wavelength_m - number("MEASURED_WAVELENGTH"))
    return away <= number("MEASURED_WAVELENGTH_MARGIN") * (1 + _SLACK)


def matrix_absorbs(given: DoseInput) -> bool:
    """Return whether more than the water absorbs at the wavelength."""
    least, most = number("MATRIX_ABSORBS_FROM"), number("MATRIX_ABSORBS_TO")
    return least * (1 - _SLACK) <= given.wavelength_m <= most * (1 + _SLACK)


def _nodes_held(given: DoseInput) -> bool:
    ranges = table()["water_extinction"]["ranges"]
    return any(nodes[0][0] <= given.wavelength_m <= nodes[-1][0] for nodes in ranges)


def needs_of(given: DoseInput, name: str) -> tuple[str, ...]:
    """Return the properties of the tissue that a result rests on."""
    if name == "cut_depth" and given.own_ablation_heat:
        return ("density", "ablation_heat")
    return _NEEDS[name]


def tissue_names() -> tuple[str, ...]:
    """Return the names of the results on tissue."""
    return tuple(_NEEDS)


def tissue_lacks(given: DoseInput) -> dict[str, str | None]:
    """Return for each result on tissue why a request cannot have it, or None if it could."""
    if not given.tissue:
        return dict.fromkeys(_NEEDS, NO_TISSUE)
    if given.wavelength_m < number("TISSUE_FROM") * (1 - _SLACK):
        return dict.fromkeys(_NEEDS, WEAK)
    measured, held = at_measured_line(given), _nodes_held(given)
    return {name: _lack(given, name, measured=measured, held=held) for name in _NEEDS}


def _offered(given: DoseInput) -> frozenset[str]:
    return frozenset(name for name, lack in tissue_lacks(given).items() if lack is None)


def _lack(given: DoseInput, name: str, *, measured: bool, held: bool) -> str | None:
    if name in _MEASURED and not measured:
        return OTHER_LINE
    if _NEEDS[name] and not held:
        return NO_NODES
    if name == "thermal_damage" and given.tissue_kind is None:
        return NO_KIND
    for need in needs_of(given, name):
        if need not in given.tissue:
            return f"the tissue's {need.replace('_', ' ')} is not stated"
    return None


def pulse_limit(given: DoseInput, found: Mapping[str, Result | Band]) -> str | None:
    """Return why a known pulse has no depth, or None if it has one or is not known."""
    fluence, duration = found.get("fluence_mean"), found.get("pulse_duration")
    if fluence is None or "ablation_threshold" not in given.tissue:
        return None
    if duration is None:
        return NO_DURATION
    if duration.value_si >= number("SHORT_PULSE") * (1 - _SLACK):
        return LONG_PULSE
    threshold = given.tissue["ablation_threshold"]
    if fluence.value_si <= threshold:
        return BELOW + (CENTRE_ABOVE if 2 * fluence.value_si > threshold else "")
    return None


def _absorption_per_m(*, wavelength_m: float, water_fraction: float) -> float:
    """Return the absorption coefficient of tissue of which the water alone absorbs [1/m]."""
    water = tissue.absorption_coefficient_per_m(
        extinction_coefficient=tissue.water_extinction_coefficient(wavelength_m=wavelength_m),
        wavelength_m=wavelength_m,
    )
    return tissue.tissue_absorption_per_m(
        water_absorption_per_m=water, water_fraction=water_fraction
    )


def _relaxation_s(
    *, size_m: float, conductivity: float, density: float, specific_heat: float
) -> float:
    diffusivity = tissue.diffusivity_m2_s(
        conductivity_w_m_k=conductivity, density_kg_m3=density, specific_heat_j_kg_k=specific_heat
    )
    return tissue.relaxation_time_s(
        size_m=size_m, diffusivity_m2_s=diffusivity, geometry_factor=number("LAYER_FACTOR")
    )


def pulse_depth_band(
    *,
    fluence_j_m2: float,
    absorption_per_m: float,
    density: float,
    ablation_threshold: float,
    ablation_heat: float,
) -> tuple[float, float]:
    """Return the depth of one pulse [m]: steady state and blow-off, which cross, in order."""
    steady = tissue.steady_depth_m(
        fluence_j_m2=fluence_j_m2,
        threshold_j_m2=ablation_threshold,
        ablation_heat_j_m3=tissue.volume_heat_j_m3(density_kg_m3=density, heat_j_kg=ablation_heat),
    )
    blow_off = tissue.blow_off_depth_m(
        fluence_j_m2=fluence_j_m2,
        threshold_j_m2=ablation_threshold,
        absorption_per_m=absorption_per_m,
    )
    return min(steady, blow_off), max(steady, blow_off)


def _cut_depth_band(
    *, power_w: float, spot_diameter_m: float, speed_m_s: float, **own: float
) -> tuple[float, float]:
    """Return the depth of the cut [m] for the range of published heats, or for the stated heat."""
    least, most = number("CUT_HEAT_LEAST"), number("CUT_HEAT_MOST")
    if own:
        least = most = tissue.volume_heat_j_m3(
            density_kg_m3=own["density"], heat_j_kg=own["ablation_heat"]
        )
    moving = {"power_w": power_w, "spot_diameter_m": spot_diameter_m, "speed_m_s": speed_m_s}
    return (
        tissue.cut_depth_m(**moving, ablation_heat_j_m3=most),
        tissue.cut_depth_m(**moving, ablation_heat_j_m3=least),
    )


def absorption_of(given: DoseInput, steps: Steps) -> Result:
    """Return the absorption coefficient of the tissue of a request that could have it."""
    return steps.result(
        "absorption_coefficient",
        "api.dose.tissue.tissue_absorption_per_m",
        _absorption_per_m,
        {"wavelength_m": given.wavelength_m, "water_fraction": given.tissue["water_fraction"]},
    )


def _properties(given: DoseInput, names: tuple[str, ...]) -> dict[str, float]:
    return {name: given.tissue[name] for name in names}


def _absorbed(
    given: DoseInput, found: Results, offered: frozenset[str], steps: Steps
) -> dict[str, Result | Band]:
    """Return the results that rest on the absorption coefficient."""
    absorption = absorption_of(given, steps)
    depth = steps.result(
        "absorption_depth",
        "api.dose.tissue.absorption_depth_m",
        tissue.absorption_depth_m,
        {"absorption_per_m": absorption.value_si},
    )
    added: dict[str, Result | Band] = {
        "absorption_coefficient": absorption,
        "absorption_depth": depth,
    }
    if "thermal_relaxation_time" in offered:
        added["thermal_relaxation_time"] = steps.result(
            "thermal_relaxation_time",
            "api.dose.tissue.relaxation_time_s",
            _relaxation_s,
            {"size_m": depth.value_si, **_properties(given, _BULK)},
        )
    known = "fluence_mean" in found and pulse_limit(given, found) is None
    if known and "pulse_depth" in offered:
        arguments = {
            "fluence_j_m2": found["fluence_mean"].value_si,
            "absorption_per_m": absorption.value_si,
            **_properties(given, _REMOVAL),
        }
        added["pulse_depth"] = steps.result(
            "pulse_depth", "api.dose.tissue_results.pulse_depth_band", pulse_depth_band, arguments
        )
    return added


def tissue_results(given: DoseInput, found: Results, steps: Steps) -> dict[str, Result | Band]:
    """Return the results on tissue that can be worked out; ``found`` are the other results."""
    if not given.tissue:
        return {}
    # Evaluations of one request differ in what is stated by the wavelength at most.
    offered = steps.once("offered", given.wavelength_m, lambda: _offered(given))
    added: dict[str, Result | Band] = {}
    if "absorption_coefficient" in offered:
        added = _absorbed(given, found, offered, steps)
    moving = "average_power" in found and given.spot is not None and given.speed_m_s is not None
    if moving and "cut_depth" in offered:
        arguments = {
            "power_w": found["average_power"].value_si,
            "spot_diameter_m": given.spot_diameter_m,
            "speed_m_s": given.speed_m_s,
            **_properties(given, needs_of(given, "cut_depth")),
        }
        added["cut_depth"] = steps.result(
            "cut_depth", "api.dose.tissue.cut_depth_m", _cut_depth_band, arguments
        )
    if "thermal_damage" in offered:
        least, most = number("DAMAGE_LEAST"), number("DAMAGE_MOST")
        added["thermal_damage"] = Band(least, most, "literature")
    return added
