"""The spot of a request in its four forms: stated, behind a lens, from a waist, from a bore."""

from collections.abc import Callable, Mapping
from typing import NamedTuple

from api.dose import beam, optics
from api.dose.constants import number
from api.dose.display import format_number
from api.dose.steps import Result

# For each form: the fields it needs, and those it may have.
DIAMETER, LENS, WAIST, TIP = "diameter", "lens", "waist", "bore"
FORMS = {
    DIAMETER: (("diameter", "diameter_definition"), ()),
    LENS: (("focal_length", "beam_diameter_at_lens", "beam_quality_m2", "defocus"), ()),
    WAIST: (("waist_diameter", "beam_quality_m2", "defocus"), ()),
    TIP: (("bore_diameter", "distance"), ("full_divergence",)),
}
_SHARED = ("beam_quality_m2", "defocus")
_NARROWEST = {LENS: "focal_length", WAIST: "waist_diameter", TIP: "bore_diameter"}


class Spot(NamedTuple):
    """A spot in SI units; ``values`` are the results on it."""

    form: str
    diameter_m: float
    values: Mapping[str, Result]


def form_of(spot: Mapping[str, object]) -> str:
    """Return which form the fields of a request's spot belong to, the first where they are mixed.

    A spot without any field that belongs to one form only counts as a stated diameter.
    """
    for form, (needed, optional) in FORMS.items():
        if any(name in spot for name in (*needed, *optional) if name not in _SHARED):
            return form
    return DIAMETER


def form_errors(spot: Mapping[str, object], required: str) -> dict[str, list[str]]:
    """Return {field of the spot: [text]} for what is missing or belongs to another form."""
    form = form_of(spot)
    needed, optional = FORMS[form]
    errors = {name: [required] for name in needed if name not in spot}
    for name in spot:
        if name not in (*needed, *optional):
            errors[name] = [f"does not belong to a spot stated by its {form}"]
    return errors


def _worked_out(function: Callable[..., float], **arguments: object) -> Result:
    return Result(function(**arguments), f"{function.__module__}.{function.__name__}")


def _stated(spot: Mapping[str, object]) -> dict[str, Result]:
    return {
        "spot_diameter": _worked_out(
            beam.spot_diameter_m,
            diameter_m=spot["diameter"],
            diameter_definition=spot["diameter_definition"],
        )
    }


def _around_waist(
    waist: Result, defocus_m: float, quality: Mapping[str, float]
) -> dict[str, Result]:
    """Return the results of a beam with this waist; ``quality`` is M2 and wavelength."""
    around = {"waist_diameter_m": waist.value_si, **quality}
    rayleigh = _worked_out(optics.rayleigh_range_m, **around)
    divergence = _worked_out(optics.half_divergence_rad, **around)
    return _from_range(waist, rayleigh, divergence, defocus_m)


def _from_range(
    waist: Result,
    rayleigh: Result,
    divergence: Result,
    defocus_m: float,
) -> dict[str, Result]:
    return {
        "spot_diameter": _worked_out(
            optics.diameter_at_defocus_m,
            waist_diameter_m=waist.value_si,
            rayleigh_range_m=rayleigh.value_si,
            defocus_m=defocus_m,
        ),
        "waist_diameter": waist,
        "rayleigh_range": rayleigh,
        "depth_of_focus": _worked_out(optics.depth_of_focus_m, rayleigh_range_m=rayleigh.value_si),
        "half_divergence": divergence,
    }


def _behind_lens(spot: Mapping[str, float], wavelength_m: float) -> dict[str, Result]:
    quality = {"beam_quality_m2": spot["beam_quality_m2"], "wavelength_m": wavelength_m}
    lens = {
        "beam_diameter_m": spot["beam_diameter_at_lens"],
        "focal_length_m": spot["focal_length"],
        **quality,
    }
    waist = _worked_out(optics.waist_diameter_behind_lens_m, **lens)
    values = _around_waist(waist, spot["defocus"], quality)
    values["waist_position"] = _worked_out(optics.waist_position_behind_lens_m, **lens)
    return values


def _from_tip(spot: Mapping[str, float], wavelength_m: float) -> dict[str, Result]:
    waist = _worked_out(optics.tip_waist_diameter_m, bore_diameter_m=spot["bore_diameter"])
    if "full_divergence" not in spot:
        lowest_mode = {"beam_quality_m2": 1.0, "wavelength_m": wavelength_m}
        return _around_waist(waist, spot["distance"], lowest_mode)
    full = {"full_divergence_rad": spot["full_divergence"]}
    rayleigh = _worked_out(
        optics.rayleigh_range_from_divergence_m, waist_diameter_m=waist.value_si, **full
    )
    divergence = _worked_out(optics.half_of_full_divergence_rad, **full)
    return _from_range(waist, rayleigh, divergence, spot["distance"])


def spot_from(spot: Mapping[str, object], *, wavelength_m: float) -> Spot:
    """Return the spot of a request whose fields are in SI units and fit one form."""
    form = form_of(spot)
    if form == DIAMETER:
        values = _stated(spot)
    elif form == LENS:
        values = _behind_lens(spot, wavelength_m)
    elif form == WAIST:
        quality = {"beam_quality_m2": spot["beam_quality_m2"], "wavelength_m": wavelength_m}
        values = _around_waist(Result(spot["waist_diameter"], "given"), spot["defocus"], quality)
    else:
        values = _from_tip(spot, wavelength_m)
    return Spot(form, values["spot_diameter"].value_si, values)


def too_steep(spot: Spot) -> dict[str, list[str]]:
    """Return {field of the spot: [text]} if the beam widens faster than the formulas hold for."""
    limit = number("HALF_DIVERGENCE_LIMIT")
    divergence = spot.values.get("half_divergence", Result(0.0, "")).value_si
    # 1e-9: a stated divergence at the end of its range is inside it, as for every quantity.
    if divergence <= limit * (1 + 1e-9):
        return {}
    text = (
        f"gives a half divergence of {format_number(divergence)} rad: the formulas hold up to "
        f"{format_number(limit)} rad"
    )
    return {_NARROWEST[spot.form]: [text]}
