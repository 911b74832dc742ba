"""What a person has to know beside the numbers of a dose. Literature lines are never targets."""

from collections.abc import Mapping

from api.dose.arrival import DESIGN, basis_of
from api.dose.constants import number
from api.dose.display import format_value
from api.dose.emitted import has_pulses
from api.dose.request import DoseInput
from api.dose.spot import TIP
from api.dose.steps import Band, Result
from api.dose.tissue import measured_trend_depth_m
from api.dose.tissue_results import at_measured_line, matrix_absorbs

NO_RATIO = "no power verification is given: what arrives at the tissue is not known"
BY_DESIGN = (
    "what arrives is worked out from the transmission by design: it was not measured at the "
    "handpiece"
)
KEEP_PANEL = "do not raise the panel to make up for a low ratio; follow the maker's instructions"
UNUSED = "the panel's power is not used: it is not stated whether it is average or peak"
GAPS = "the spots do not touch: fluence along the track is an average over spots and gaps"
TIP_BOUND = (
    "the spot is a lower bound: it is that of the bore's lowest mode, and a real waveguide carries "
    "wider ones; irradiance and fluence are lower than shown if the spot is wider"
)
GATE_GAPS = "the spot moves on while the gate is shut: fluence along the track is an average"
MATRIX = (
    "from 9.2 to 9.7 um the structural matrix of tissue absorbs too: the absorption of its water "
    "alone is too low"
)
PULSE_BAND = (
    "the depth of one pulse is a band from the mean fluence; in the centre of a Gaussian spot the "
    "fluence is twice that"
)
IDEAL_CUT = (
    "the cut depth is an ideal energy balance: a narrow kerf or repeated passes cut deeper; it is "
    "not for judging the distance to bone, nerve, vessel or tooth"
)
DAMAGE = "the thermal damage is a literature range, not computed from these settings"


def _shown(name: str, result: Result) -> str:
    return format_value(name, result.value_si * 1e-4)


def _literature_lines(
    given: DoseInput, results: Mapping[str, Result | Band]
) -> list[tuple[str, str, list[str]]]:
    """Return where a continuous beam lies against what was measured with continuous beams."""
    if not given.tissue or not at_measured_line(given) or has_pulses(given):
        return []
    lines = []
    name = "irradiance_mean" if given.mode == "continuous" else "pulse_irradiance_mean"
    if name in results:
        char = format_value(name, number("CHAR_BELOW") * 1e-4)
        zone = format_value(name, number("ZONE_ABOVE") * 1e-4)
        here = f"these settings give {_shown(name, results[name])}"
        lines.append((
            "line_char",
            "literature line, not a target: with a continuous beam black char was seen only below "
            f"{char}; {here}",
            ["walsh1989"],
        ))  # fmt: skip
        lines.append((
            "line_zone",
            "literature line, not a target: with a continuous beam above "
            f"{zone} the zone of thermal damage measured 100 ± 15 µm; {here}",
            ["walsh1989"],
        ))  # fmt: skip
    power = results.get("average_power")
    in_range = power is not None and (
        number("TREND_FROM") <= power.value_si <= number("TREND_TO")
    )  # fmt: skip
    if given.mode == "continuous" and in_range:
        depth = format_value("cut_depth", measured_trend_depth_m(power_w=power.value_si) * 1000)
        lines.append((
            "measured_trend",
            f"measured in swine tongue with a continuous beam: about {depth} deep at this power; a "
            "trend only, as spot and speed are not stated there",
            ["mungmee2023"],
        ))  # fmt: skip
    return lines


def notes(given: DoseInput, results: Mapping[str, Result | Band]) -> list[dict[str, object]]:
    """Return what a person has to know beside the numbers, as the response carries it."""
    basis = basis_of(given.delivery)
    found: list[tuple[str, str, list[str]]] = []
    if basis is None:
        found.append(("not_verified", NO_RATIO, []))
    if basis == DESIGN:
        found.append(("by_design", BY_DESIGN, []))
    if basis is not None:
        found.append(("keep_panel", KEEP_PANEL, []))
    unstated = given.mode != "continuous" and given.power_kind == "not stated"
    if unstated and "power" in given.emission:
        found.append(("power_kind_not_stated", UNUSED, []))
    if "overlap" in results and results["overlap"].value_si < 0:
        found.append(("gaps", GAPS, []))
    if given.mode == "gated" and "track_fluence_mean" in results:
        moved_m = given.emission.get("gate_off", 0.0) * (given.speed_m_s or 0.0)
        if moved_m > (given.spot_diameter_m or 0.0):
            found.append(("gate_gaps", GATE_GAPS, []))
    if given.spot is not None and given.spot.form == TIP:
        found.append(("tip_lower_bound", TIP_BOUND, ["abrams1972"]))
    if "absorption_coefficient" in results and matrix_absorbs(given):
        found.append(("matrix_absorbs", MATRIX, ["practice"]))
    if "pulse_depth" in results:
        found.append(("pulse_depth_band", PULSE_BAND, ["payne1997"]))
    if "cut_depth" in results:
        found.append(("cut_depth_ideal", IDEAL_CUT, ["walsh1989", "payne1997"]))
    if "thermal_damage" in results:
        found.append(("damage_literature", DAMAGE, ["suter2017", "tongue2014", "damagerange"]))
    found += _literature_lines(given, results)
    return [{"code": code, "text": text, "sources": sources} for code, text, sources in found]
