"""Answer a heat request: temperature, damage and removal below one place of the surface over time.

Neither a floor nor a ceiling: heat goes straight down only, and nothing moves, chars, splashes or
bleeds. It is drawn beside the measured band, never in its place.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import pi

from api.dose import heating, tissue
from api.dose.arrival import basis_of, delivered_fraction
from api.dose.constants import ENGINE_VERSION, number
from api.dose.emitted import has_pulses, solve_emission
from api.dose.heat_model import Heat, Medium, cell_sizes_m, depth_of_damage_m
from api.dose.heat_plan import COARSE, FINE, MEAN, Plan, plan_for
from api.dose.heat_train import stretches, train_from
from api.dose.reading import REQUIRED
from api.dose.request import DoseInput, parse, refuse
from api.dose.results import delivered_values
from api.dose.schema import HeatRequestSchema
from api.dose.steps import Steps
from api.dose.tissue_results import absorption_of, tissue_lacks

NO_TRAIN = (
    "must settle peak power, pulse duration and rate (pulsed), the power while emitting (gated) or "
    "the power (continuous), without contradiction"
)
NO_HEAT = "the tissue's ablation heat is not stated"
NOTES = {
    "model": (
        "neither a floor nor a ceiling: heat spreads straight down only; no motion of the spot, "
        "char, splash or blood flow"
    ),
    "beside_measured": (
        "to be read beside the thermal damage measured in oral tissue, 75 to 540 um, never in its "
        "place"
    ),
    "mean_irradiance": (
        "the irradiance is the mean over the spot; in the centre of a Gaussian spot it is twice "
        "that"
    ),
    "extrapolated": "the damage integral is extrapolated above 60 degrees Celsius",
    "outside_validity": (
        "later than w^2 / (4 kappa) heat spreads sideways: outside its validity there"
    ),
    "rectangular": "pulses count as rectangular ones of the same energy and duration",
    COARSE: "coarser: fewer steps in each pulse, as the request is long",
    MEAN: "coarser: the mean power instead of pulses, as the request holds too many of them",
}
_SOURCES = {
    "beside_measured": ["suter2017", "tongue2014", "damagerange"],
    "extrapolated": ["henriques1947"],
    "outside_validity": ["carslaw1959"],
}
_CODES = {COARSE: "coarser", MEAN: "coarser"}


@dataclass
class Curve:
    """The surface over time: each point, which of them are the ends of stretches, residuals."""

    times_s: list[float] = field(default_factory=lambda: [0.0])
    rises_k: list[float] = field(default_factory=lambda: [0.0])
    ends: list[int] = field(default_factory=lambda: [0])
    residual_times_s: list[float] = field(default_factory=list)
    residual_rises_k: list[float] = field(default_factory=list)


def medium_of(given: DoseInput) -> Medium:
    """Return the tissue of a request as the model takes it."""
    own = given.tissue
    warming = {
        "density_kg_m3": own["density"],
        "specific_heat_j_kg_k": own["specific_heat"],
        "rise_k": number("BOILING_TEMPERATURE") - number("BODY_TEMPERATURE"),
    }
    boiling = heating.sensible_heat_j_m3(**warming)
    dry = heating.drying_heat_j_m3(
        **warming, water_fraction=own["water_fraction"], latent_heat_j_kg=number("LATENT_HEAT")
    )
    return Medium(
        conductivity_w_m_k=own["conductivity"],
        heat_capacity_j_m3_k=own["density"] * own["specific_heat"],
        absorption_per_m=absorption_of(given, Steps()).value_si,
        boiling_heat_j_m3=boiling,
        dry_heat_j_m3=dry,
        removal_heat_j_m3=tissue.volume_heat_j_m3(
            density_kg_m3=own["density"], heat_j_kg=own["ablation_heat"]
        ),
    )


def _unfit(given: DoseInput) -> dict[str, list[str]]:
    """Return what a dose request lacks for a simulation."""
    errors: dict[str, list[str]] = {}
    if given.spot is None:
        errors["spot"] = [REQUIRED]
    if not given.tissue:
        errors["tissue"] = [REQUIRED]
        return errors
    lack = tissue_lacks(given)["thermal_relaxation_time"]
    if lack is not None:
        errors["tissue" if lack.startswith("the tissue's") else "wavelength"] = [lack]
    elif "ablation_heat" not in given.tissue:
        errors["tissue"] = [NO_HEAT]
    return errors


def run(plan: Plan) -> tuple[Heat, Curve]:
    """Return the tissue at the end of a plan, and its surface on the way."""
    heat = Heat(plan.medium, cell_sizes_m(plan.medium.absorption_per_m, plan.reach_m()))
    curve = Curve()
    time_s = 0.0
    for place, stretch in enumerate(stretches(plan.train, plan.duration_s)):
        if place and stretch.starts_pulse:
            curve.residual_times_s.append(time_s)
            curve.residual_rises_k.append(heat.surface_rise_k())
        irradiance = stretch.power_w / plan.area_m2
        for step_s in plan.steps_of(stretch.duration_s, irradiance):
            heat.step(step_s, irradiance)
            time_s += step_s
            curve.times_s.append(time_s)
            curve.rises_k.append(heat.surface_rise_k())
        curve.ends.append(len(curve.times_s) - 1)
    return heat, curve


def _shown_points(curve: Curve) -> list[int]:
    """Return the points that are shown: all, else the ends of stretches, else some of either.

    The ends are where a train peaks and where it has cooled before the next pulse.
    """
    most = int(number("HEAT_POINTS_AT_MOST"))
    every = list(range(len(curve.times_s)))
    long_train = len(every) > most and len(curve.ends) > most // 10
    return thinned(curve.ends if long_train else every, most)


def thinned(points: list[int], most: int) -> list[int]:
    """Return at most so many of the points, evenly, the first and the last among them."""
    if len(points) <= most:
        return points
    last = len(points) - 1
    return [points[place * last // (most - 1)] for place in range(most)]


def _celsius(rises_k: list[float]) -> dict[str, object]:
    body = number("BODY_TEMPERATURE")
    return {"values": [body + rise for rise in rises_k], "unit": "Cel"}


def _results(heat: Heat, curve: Curve) -> dict[str, object]:
    shown = _shown_points(curve)
    kept = thinned(list(range(len(curve.residual_times_s))), int(number("HEAT_POINTS_AT_MOST")))
    depths, damage = heat.depths_m(), [float(one) for one in heat.damage]

    def micrometres(depth_m: float, sources: list[str]) -> dict[str, object]:
        return {"value": depth_m * 1e6, "unit": "um", "formula": "api.dose.heat.run",
                "sources": sources}  # fmt: skip

    return {
        "time": {"values": [curve.times_s[i] for i in shown], "unit": "s"},
        "surface_temperature": _celsius([curve.rises_k[i] for i in shown]),
        "residual_time": {"values": [curve.residual_times_s[i] for i in kept], "unit": "s"},
        "residual_temperature": _celsius([curve.residual_rises_k[i] for i in kept]),
        "depth": {"values": [depth * 1e6 for depth in depths], "unit": "um"},
        "temperature": _celsius([float(rise) for rise in heat.rise_k]),
        "damage": {"values": damage, "unit": "1"},
        "removed_depth": micrometres(heat.removed_m, ["payne1997"]),
        "damage_depth": micrometres(depth_of_damage_m(depths, damage), ["henriques1947"]),
        "energy_balance_error": {"value": heat.balance_error(), "unit": "1",
                                 "formula": "api.dose.heat.run", "sources": ["definition"]},
    }  # fmt: skip


def simulate(given: DoseInput) -> dict[str, object]:
    """Return the response for a parsed heat request; raises BadInput for what it lacks."""
    if errors := _unfit(given):
        raise refuse(errors)
    known, _ = solve_emission(given)
    fraction = delivered_fraction(given.delivery)
    if fraction is not None:
        known = delivered_values(known, fraction=fraction.value_si)
    train = train_from(given, known)
    if train is None:
        raise refuse({"emission": [NO_TRAIN]})
    radius_m = given.spot.diameter_m / 2
    duration_s = given.stated["duration"]
    plan = plan_for(
        medium=medium_of(given),
        train=train,
        area_m2=pi * radius_m * radius_m,
        duration_s=duration_s,
    )
    heat, curve = run(plan)
    valid_s = tissue.relaxation_time_s(
        size_m=radius_m,
        diffusivity_m2_s=plan.diffusivity_m2_s,
        geometry_factor=number("LAYER_FACTOR"),
    )
    codes = ["model", "beside_measured", "mean_irradiance", "extrapolated"]
    if duration_s > valid_s:
        codes.append("outside_validity")
    if has_pulses(given) and given.pulse_shape != "rectangular":
        codes.append("rectangular")
    if plan.resolution != FINE:
        codes.append(plan.resolution)
    return {
        "engine": ENGINE_VERSION,
        "basis": basis_of(given.delivery) or "set",
        "irradiance": {"value": plan.train.power_w / plan.area_m2 * 1e-4, "unit": "W/cm2"},
        "valid_until": {"value": valid_s, "unit": "s"},
        "resolution": plan.resolution,
        "steps": len(curve.times_s) - 1,
        "constants": {
            "damage_log_frequency": {"value": number("DAMAGE_LOG_FREQUENCY"), "unit": "1"},
            "damage_activation": {"value": number("DAMAGE_ACTIVATION"), "unit": "K"},
        },
        "results": _results(heat, curve),
        "warnings": [
            {"code": _CODES.get(code, code), "text": NOTES[code], "sources": _SOURCES.get(code, [])}
            for code in codes
        ],
    }


def respond(request: Mapping[str, object]) -> dict[str, object]:
    """Return the response for a heat request as JSON carries it.

    Raises BadInput (code ``bad_request``) with what is wrong by field path.
    """
    return simulate(parse(request, HeatRequestSchema))
