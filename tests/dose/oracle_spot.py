"""Spots for the oracle in every form a request has, with what each means, in decimals.

Siegman, Lasers (1986): a Gaussian beam with M2; a thin lens in the form of Self, Applied Optics 22
(1983), with the waist at the lens. The lowest mode of a hollow waveguide fills 0.643562 of its bore
(Abrams 1972).
"""

import random
from decimal import Decimal
from fractions import Fraction

from tests.dose.oracle_numbers import PI, digits, drawn, tangent, text

HE11 = Decimal("0.643562")
STEEPEST = Decimal("0.45")
DEFINITIONS = ("1/e2", "86.5 %", "63 %", "fwhm")
Spot = tuple[dict[str, object], Decimal, dict[str, Decimal]]


def _distance(draw: random.Random, low: float, high: float) -> Fraction:
    return Fraction(0) if draw.random() < 0.2 else drawn(draw, low, high)


def _around(waist: Decimal, rayleigh: Decimal, away: Decimal, divergence: Decimal) -> dict:
    """Return the results of a beam by its waist and Rayleigh range, in the contract's units."""
    return {
        "spot_diameter": waist * (1 + (away / rayleigh) ** 2).sqrt() * 1000,
        "waist_diameter": waist * 1000,
        "rayleigh_range": rayleigh * 1000,
        "depth_of_focus": 2 * rayleigh * 1000,
        "half_divergence": divergence * 1000,
    }


def stated(draw: random.Random, _: Decimal, definition: str) -> Spot:
    """Return a spot by a diameter of this definition."""
    diameter = drawn(draw, -4, -2.5)
    # exp(-2 r^2/w^2) is 1/e at r = w / sqrt 2, and a half at r = w sqrt(ln 2 / 2).
    per = {"63 %": Decimal(2).sqrt(), "fwhm": (2 / Decimal(2).ln()).sqrt()}
    spot = digits(diameter) * per.get(definition, Decimal(1))
    fields = {"diameter": text(draw, diameter, "m"), "diameter_definition": definition}
    return fields, spot, {"spot_diameter": spot * 1000}


def _quality(draw: random.Random) -> Fraction:
    return Fraction(draw.randint(10, 40), 10)


def lens(draw: random.Random, wavelength: Decimal) -> Spot:
    """Return a spot behind a lens, at some distance from the waist."""
    wide, focal, quality = drawn(draw, -3, -1.7), drawn(draw, -1.7, -0.3), _quality(draw)
    away, f = _distance(draw, -4, -1.5), digits(focal)
    arriving = PI * digits(wide) ** 2 / (4 * digits(quality) * wavelength)
    squared = (arriving / f) ** 2
    magnified = 1 / (1 + squared).sqrt()
    waist, rayleigh = magnified * digits(wide), magnified**2 * arriving
    found = _around(waist, rayleigh, digits(away), waist / 2 / rayleigh)
    found["waist_position"] = f * (1 - 1 / (1 + squared)) * 1000
    fields = {
        "focal_length": text(draw, focal, "m"),
        "beam_diameter_at_lens": text(draw, wide, "m"),
        "beam_quality_m2": float(quality),
        "defocus": text(draw, away, "m"),
    }
    return fields, found["spot_diameter"] / 1000, found


def waist(draw: random.Random, wavelength: Decimal) -> Spot:
    """Return a spot by the waist of its beam."""
    narrow, quality, away = drawn(draw, -4, -3), _quality(draw), _distance(draw, -4, -1.5)
    divergence = digits(quality) * wavelength / (PI * digits(narrow) / 2)
    rayleigh = digits(narrow) / 2 / divergence
    found = _around(digits(narrow), rayleigh, digits(away), divergence)
    fields = {
        "waist_diameter": text(draw, narrow, "m"),
        "beam_quality_m2": float(quality),
        "defocus": text(draw, away, "m"),
    }
    return fields, found["spot_diameter"] / 1000, found


def tip(draw: random.Random, wavelength: Decimal) -> Spot:
    """Return a spot before the end of a waveguide, its divergence that of its lowest mode."""
    bore, away = drawn(draw, -3.6, -3), _distance(draw, -4, -2)
    narrow = HE11 * digits(bore)
    divergence = 2 * wavelength / (PI * narrow)
    found = _around(narrow, narrow / 2 / divergence, digits(away), divergence)
    fields = {"bore_diameter": text(draw, bore, "m"), "distance": text(draw, away, "m")}
    return fields, found["spot_diameter"] / 1000, found


def spreading_tip(draw: random.Random, _: Decimal) -> Spot:
    """Return a spot before the end of a waveguide whose divergence is stated."""
    bore, away, full = drawn(draw, -3.6, -3), _distance(draw, -4, -2), drawn(draw, -2, -0.1)
    narrow, half = HE11 * digits(bore), digits(full) / 2
    found = _around(narrow, narrow / (2 * tangent(half)), digits(away), half)
    fields = {
        "bore_diameter": text(draw, bore, "m"),
        "distance": text(draw, away, "m"),
        "full_divergence": text(draw, full, "rad"),
    }
    return fields, found["spot_diameter"] / 1000, found


FORMS = {"lens": lens, "waist": waist, "tip": tip, "tip that spreads": spreading_tip}
SPOTS = (*DEFINITIONS, *FORMS)


def spot(draw: random.Random, kind: str, wavelength: Decimal) -> Spot:
    """Return a spot of a kind whose beam widens no faster than the formulas hold for."""
    if kind in DEFINITIONS:
        return stated(draw, wavelength, kind)
    while True:
        drawn_spot = FORMS[kind](draw, wavelength)
        if drawn_spot[2]["half_divergence"] < STEEPEST * 1000:
            return drawn_spot
