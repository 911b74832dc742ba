"""The results on tissue: what a request allows, and why each of the others is not offered.

Validity is demanded here: no result below 1.4 um, depth and damage only at 10.6 um, where they were
measured, the depth of one pulse only for pulses below 0.5 ms.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from api.dose import tissue
from api.dose.constants import number, table
from api.dose.request import DoseInput


@dataclass(frozen=True)
class Result:
    """A result in SI units, and the dotted name of the function it came from, or "given"."""

    value_si: float
    formula: str


@dataclass(frozen=True)
class Band:
    """A result that is a range in SI units, and where it came from, or "literature"."""

    low_si: float
    high_si: float
    formula: str


NO_TISSUE = "no tissue is stated"
WEAK = "below 1.4 um soft tissue absorbs too little for a result on depth"
NO_NODES = "no absorption values are held for this wavelength"
OTHER_LINE = "it is offered at 10.6 um only, where it was measured"
NO_KIND = "it was measured in oral tissue: the kind of tissue is not stated"
NO_DURATION = "the pulse duration is not known, and the depth holds for short pulses only"
LONG_PULSE = "it is offered for pulses below 0.5 ms only, for which the threshold was measured"
BELOW = "the mean fluence of one pulse is not above the ablation threshold"
CENTRE_ABOVE = "; in the centre of a Gaussian spot it is"

_NEEDS = {
    "absorption_coefficient": ("water_fraction",),
    "absorption_depth": ("water_fraction",),
    "thermal_relaxation_time": ("water_fraction", "density", "specific_heat", "conductivity"),
    "pulse_depth": ("water_fraction", "density", "ablation_threshold", "ablation_heat"),
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


def tissue_lack(given: DoseInput, name: str) -> str | None:
    """Return why a request cannot have this result on tissue, or None if it could."""
    if not given.tissue:
        return NO_TISSUE
    if given.wavelength_m < number("TISSUE_FROM") * (1 - _SLACK):
        return WEAK
    if name in _MEASURED and not at_measured_line(given):
        return OTHER_LINE
    if _NEEDS[name] and not _nodes_held(given):
        return NO_NODES
    if name == "thermal_damage" and given.tissue_kind is None:
        return NO_KIND
    needs = _NEEDS[name]
    if name == "cut_depth" and given.own_ablation_heat:
        needs = ("density",)
    for need in needs:
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


def _water_absorption_per_m(given: DoseInput) -> float:
    return tissue.absorption_coefficient_per_m(
        extinction_coefficient=tissue.water_extinction_coefficient(wavelength_m=given.wavelength_m),
        wavelength_m=given.wavelength_m,
    )


def _absorption(given: DoseInput) -> Result:
    value = tissue.tissue_absorption_per_m(
        water_absorption_per_m=_water_absorption_per_m(given),
        water_fraction=given.tissue["water_fraction"],
    )
    return Result(value, "api.dose.tissue.tissue_absorption_per_m")


def _relaxation(given: DoseInput, depth_m: float) -> Result:
    diffusivity = tissue.diffusivity_m2_s(
        conductivity_w_m_k=given.tissue["conductivity"],
        density_kg_m3=given.tissue["density"],
        specific_heat_j_kg_k=given.tissue["specific_heat"],
    )
    value = tissue.relaxation_time_s(
        size_m=depth_m, diffusivity_m2_s=diffusivity, geometry_factor=number("LAYER_FACTOR")
    )
    return Result(value, "api.dose.tissue.relaxation_time_s")


def _ablation_heat_j_m3(given: DoseInput) -> float:
    return tissue.volume_heat_j_m3(
        density_kg_m3=given.tissue["density"], heat_j_kg=given.tissue["ablation_heat"]
    )


def pulse_depth_band(given: DoseInput, *, fluence_j_m2: float, absorption_per_m: float) -> Band:
    """Return the depth of one pulse between steady state and blow-off, which cross: in order."""
    threshold = given.tissue["ablation_threshold"]
    steady = tissue.steady_depth_m(
        fluence_j_m2=fluence_j_m2,
        threshold_j_m2=threshold,
        ablation_heat_j_m3=_ablation_heat_j_m3(given),
    )
    blow_off = tissue.blow_off_depth_m(
        fluence_j_m2=fluence_j_m2, threshold_j_m2=threshold, absorption_per_m=absorption_per_m
    )
    formula = "api.dose.tissue_results.pulse_depth_band"
    return Band(min(steady, blow_off), max(steady, blow_off), formula)


def _cut_depth(given: DoseInput, power_w: float) -> Band:
    """Return the depth of the cut for the range of published heats, or for the stated heat."""
    least, most = number("CUT_HEAT_LEAST"), number("CUT_HEAT_MOST")
    if given.own_ablation_heat:
        least = most = _ablation_heat_j_m3(given)
    moving = {
        "power_w": power_w,
        "spot_diameter_m": given.spot_diameter_m,
        "speed_m_s": given.speed_m_s,
    }
    return Band(
        tissue.cut_depth_m(**moving, ablation_heat_j_m3=most),
        tissue.cut_depth_m(**moving, ablation_heat_j_m3=least),
        "api.dose.tissue.cut_depth_m",
    )


def tissue_results(
    given: DoseInput, found: Mapping[str, Result | Band]
) -> dict[str, Result | Band]:
    """Return the results on tissue that can be worked out; ``found`` are the other results."""
    added: dict[str, Result | Band] = {}
    if tissue_lack(given, "absorption_coefficient") is None:
        absorption = _absorption(given)
        depth = tissue.absorption_depth_m(absorption_per_m=absorption.value_si)
        added["absorption_coefficient"] = absorption
        added["absorption_depth"] = Result(depth, "api.dose.tissue.absorption_depth_m")
        if tissue_lack(given, "thermal_relaxation_time") is None:
            added["thermal_relaxation_time"] = _relaxation(given, depth)
        known = "fluence_mean" in found and pulse_limit(given, found) is None
        if known and tissue_lack(given, "pulse_depth") is None:
            added["pulse_depth"] = pulse_depth_band(
                given,
                fluence_j_m2=found["fluence_mean"].value_si,
                absorption_per_m=absorption.value_si,
            )
    moving = "average_power" in found and given.spot is not None and given.speed_m_s is not None
    if moving and tissue_lack(given, "cut_depth") is None:
        added["cut_depth"] = _cut_depth(given, found["average_power"].value_si)
    if tissue_lack(given, "thermal_damage") is None:
        least, most = number("DAMAGE_LEAST"), number("DAMAGE_MOST")
        added["thermal_damage"] = Band(least, most, "literature")
    return added
