"""A hazard request in SI units, checked as a whole. Every diameter and divergence is 63 % here."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from marshmallow import ValidationError

from api.dose.constants import number as dose_number
from api.dose.hazard.editions import ICNIRP_2013
from api.dose.hazard.eyewear import GLASS
from api.dose.hazard.limits import EYE
from api.dose.hazard.schema import HazardRequestSchema
from api.dose.reading import REQUIRED, read
from api.dose.request import flat, refuse


@dataclass(frozen=True, kw_only=True)
class HazardInput:
    """A hazard request in SI units.

    Either ``power_w``, or ``pulse_energy_j`` with ``pulse_duration_s`` and, for a train, its
    ``repetition_rate_hz``; ``average_power_w`` is there for a power and for a train. Diameters and
    divergences are 63 %, except those of a tip (1/e2). ``beam_diameter_m`` is 0 where the beam's
    size is not known.
    """

    wavelength_m: float
    exposure_time_s: float
    target: str
    edition: str
    power_w: float | None
    pulse_energy_j: float | None
    pulse_duration_s: float | None
    repetition_rate_hz: float | None
    beam_diameter_m: float
    beam_divergence_rad: float | None
    lens_focal_length_m: float | None
    lens_beam_diameter_m: float | None
    tip_diameter_m: float | None
    tip_divergence_rad: float | None
    reflectance: float
    reflection_angle_rad: float
    exposed_area_m2: float | None
    material: str
    with_beam_size_factor: bool
    accumulation_window_s: float | None

    @property
    def is_train(self) -> bool:
        """Whether pulses repeat."""
        return self.repetition_rate_hz is not None

    @property
    def average_power_w(self) -> float | None:
        """The power over the exposure; None for a single pulse."""
        if self.power_w is not None:
            return self.power_w
        if self.pulse_energy_j is None or self.repetition_rate_hz is None:
            return None
        return self.pulse_energy_j * self.repetition_rate_hz


def _unfit(data: Mapping[str, Any]) -> dict[str, list[str]]:
    """Return what is wrong with parts whose fields can each be read."""
    emission, errors = data["emission"], {}
    pulses = [name for name in emission if name != "power"]
    if "power" in emission:
        for name in pulses:
            errors[f"emission.{name}"] = ["does not go with a power: give the pulse energy instead"]
    elif "pulse_energy" not in emission:
        errors["emission"] = ["needs a power or a pulse energy"]
    elif "pulse_duration" not in emission:
        errors["emission.pulse_duration"] = [REQUIRED]
    if errors:
        return errors
    single = "power" not in emission and "repetition_rate" not in emission
    duration, time = emission.get("pulse_duration"), data.get("exposure_time")
    if single and time is not None and time != duration:
        errors["exposure_time"] = ["of a single pulse is its duration: leave it out"]
    if not single and time is None:
        errors["exposure_time"] = [REQUIRED]
    if not single and duration is not None:
        if duration * emission["repetition_rate"] > 1 + 1e-9:
            errors["emission.pulse_duration"] = ["is longer than the pulse period"]
        elif time is not None and time < duration:
            errors["exposure_time"] = ["is shorter than a pulse"]
    beam = data.get("beam", {})
    stated = beam.get("diameter", 0) > 0 or "full_divergence" in beam
    if stated and "diameter_definition" not in beam:
        errors["beam.diameter_definition"] = [REQUIRED]
    return errors


def _to_63(value: float, definition: str | None) -> float:
    """Return a 63 % diameter or divergence of one that may be 1/e2."""
    return value / dose_number("INVERSE_E2_PER_INVERSE_E") if definition == "1/e2" else value


def parse(request: Mapping[str, object]) -> HazardInput:
    """Return a hazard request in SI units.

    Raises BadInput (code ``bad_request``) with ``errors`` by field path.
    """
    try:
        data = read(HazardRequestSchema, request)
    except ValidationError as problem:
        raise refuse(flat(problem.messages)) from None
    if errors := _unfit(data):
        raise refuse(errors)
    emission, beam = data["emission"], data.get("beam", {})
    lens, tip = data.get("lens", {}), data.get("tip", {})
    reflection, eyewear = data.get("reflection", {}), data.get("eyewear", {})
    window = eyewear.get("accumulation_window")
    divergence = beam.get("full_divergence")
    definition = beam.get("diameter_definition")
    return HazardInput(
        wavelength_m=data["wavelength"],
        exposure_time_s=data.get("exposure_time", emission.get("pulse_duration")),
        target=data.get("target", EYE),
        edition=data.get("edition", ICNIRP_2013),
        power_w=emission.get("power"),
        pulse_energy_j=emission.get("pulse_energy"),
        pulse_duration_s=emission.get("pulse_duration"),
        repetition_rate_hz=emission.get("repetition_rate"),
        beam_diameter_m=_to_63(beam.get("diameter", 0.0), definition),
        beam_divergence_rad=None if divergence is None else _to_63(divergence, definition),
        lens_focal_length_m=lens.get("focal_length"),
        lens_beam_diameter_m=(
            _to_63(lens["beam_diameter"], lens["diameter_definition"]) if lens else None
        ),
        tip_diameter_m=tip.get("diameter"),
        tip_divergence_rad=tip.get("full_divergence"),
        reflectance=reflection.get("reflectance", 1.0),
        reflection_angle_rad=reflection.get("angle", 0.0),
        exposed_area_m2=data.get("skin", {}).get("exposed_area"),
        material=eyewear.get("material", GLASS),
        with_beam_size_factor=eyewear.get("beam_size_factor", False),
        accumulation_window_s=None if window is None else float(window.split()[0]),
    )
