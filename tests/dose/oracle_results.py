"""What falls on a spot, along its track and into tissue, for the oracle, in decimals.

By the words of the contract. Payne 1997 prints threshold and heat of ablation, Walsh 1989 the most
that a cut takes; what else oral mucosa has is common practice, without a source.
"""

from decimal import Decimal

from tests.dose.oracle_numbers import PI

Expected = dict[str, Decimal | tuple[Decimal, Decimal]]
CO2 = Decimal("10.6e-6")
# 4 pi k / lambda of water at 10.6 um, k = 0.0662 + 0.2 (0.0968 - 0.0662), per metre: Hale and
# Querry 1973.
WATER_PER_M = 4 * PI * (Decimal("0.0662") + Decimal("0.0306") / 5) / CO2


def on_spot(values: dict[str, Decimal], mode: str, diameter: Decimal) -> Expected:
    """Return what falls on a spot, in the units of the contract."""
    area_cm2 = PI * diameter * diameter / 4 * 10**4
    steps = [("average_power", "irradiance"), ("pulse_energy", "fluence")]
    if mode != "continuous":
        steps.append(("peak_power", "pulse_irradiance"))
    found: Expected = {}
    for source, name in steps:
        if source in values:
            found[f"{name}_mean"] = values[source] / area_cm2
            found[f"{name}_peak"] = 2 * values[source] / area_cm2
    return found


def along(values: dict[str, Decimal], mode: str, diameter: Decimal, speed: Decimal) -> Expected:
    """Return what falls along the track of a moving spot."""
    found: Expected = {"dwell_time": diameter / speed}
    if mode == "pulsed" and "repetition_rate" in values:
        found["pulses_per_spot"] = values["repetition_rate"] * diameter / speed
        found["overlap"] = 1 - speed / (values["repetition_rate"] * diameter)
    if "average_power" in values:
        power, radius = values["average_power"], diameter / 2
        found["line_energy"] = power / speed / 1000
        found["track_fluence_mean"] = 4 * power / (PI * diameter * speed) / 10**4
        found["track_fluence_peak"] = (2 / PI).sqrt() * power / (radius * speed) / 10**4
    return found


def in_tissue(values: dict[str, Decimal], fluence: Decimal | None) -> Expected:
    """Return absorption and the depth of one pulse in oral mucosa, seven tenths of it water."""
    absorption = Decimal("0.7") * WATER_PER_M
    kappa = Decimal("0.5") / (1060 * 3600)
    found: Expected = {
        "absorption_coefficient": absorption / 100,
        "absorption_depth": 10**6 / absorption,
        "thermal_relaxation_time": 1 / absorption**2 / (4 * kappa),
        "thermal_damage": (Decimal(75), Decimal(540)),
    }
    threshold, duration = Decimal("1.15"), values.get("pulse_duration")
    known = fluence is not None and duration is not None
    if known and fluence > threshold and duration < Decimal("0.0005"):
        steady = (fluence - threshold) / (Decimal("1.06") * 3740) * 10**4
        blow_off = (fluence / threshold).ln() / absorption * 10**6
        found["pulse_depth"] = (min(steady, blow_off), max(steady, blow_off))
    return found
