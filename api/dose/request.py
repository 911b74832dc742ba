"""The request for a dose: its shape, and its reading into SI units.

Unknown fields, wrong dimensions and values out of range are errors at their field path, never a
guess. Fields of the contract that this engine does not work out are refused in words.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from marshmallow import RAISE, Schema, ValidationError, fields, validate

from api.dose.beam import DIAMETER_DEFINITIONS
from api.dose.emission import PULSE_SHAPES
from api.dose.quantity import NotAQuantity, to_si_within
from api.dose.spot import Spot, form_errors, spot_from, too_steep
from api.errors import BadInput

MODES = ("continuous", "gated", "pulsed")
POWER_KINDS = ("average", "peak", "not stated")
POWERS = ("power", "average_power", "peak_power")
PULSES = ("pulse_energy", "pulse_duration", "repetition_rate", "pulse_period", "duty_cycle")
GATES = ("gate_on", "gate_off")

UNKNOWN = "is not a field of this request"
NULL = "must not be null"
OBJECT = "must be an object"
REQUIRED = "is required"
TEXT = "must be a text"
NO_CHAIN = "this engine does not work out a delivery chain: give a verified ratio"
NO_TISSUE = "this engine does not work out effects in tissue"
NO_UNCERTAINTY = "this engine does not carry uncertainties of inputs"
DATE = "must be a date or a time such as 2026-11-25 or 2026-11-25T10:15:30.123+01:00"
_DATE = re.compile(
    r"[0-9]{4}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])"
    r"(T([01][0-9]|2[0-3]):[0-5][0-9](:[0-5][0-9](\.[0-9]{1,9})?)?"
    r"(Z|[+-]([01][0-9]|2[0-3]):[0-5][0-9]))?\Z"
)


def one_of(choices: tuple[str, ...]) -> str:
    """Return the words for a field that takes one of these texts."""
    return "must be one of: " + ", ".join(choices)


class Quantity(fields.Field):
    """A quantity such as "4.5 W", read into SI units; ``path`` names its range."""

    def __init__(self, path: str, **kwargs: object) -> None:
        super().__init__(error_messages={"null": NULL, "required": REQUIRED}, **kwargs)
        self.path = path

    def _deserialize(self, value: object, attr: object, data: object, **kwargs: object) -> float:
        try:
            return to_si_within(value, self.path)
        except NotAQuantity as problem:
            raise ValidationError(str(problem)) from None


class NotOffered(fields.Field):
    """A field of the contract that this engine refuses, with the reason."""

    def __init__(self, reason: str) -> None:
        super().__init__(error_messages={"null": reason})
        self.reason = reason

    def _deserialize(self, value: object, attr: object, data: object, **kwargs: object) -> None:
        raise ValidationError(self.reason)


def _choice(choices: tuple[str, ...], *, required: bool = False) -> fields.String:
    words = one_of(choices)
    return fields.String(
        required=required,
        validate=validate.OneOf(choices, error=words),
        error_messages={"invalid": words, "null": NULL, "required": REQUIRED},
    )


def _part(schema: type[Schema], *, required: bool = False) -> fields.Nested:
    return fields.Nested(
        schema, required=required, error_messages={"null": NULL, "required": REQUIRED}
    )


class _Strict(Schema):
    class Meta:
        unknown = RAISE

    error_messages: ClassVar = {"unknown": UNKNOWN, "type": OBJECT}


class EmissionSchema(_Strict):
    """What the panel shows."""

    mode = _choice(MODES, required=True)
    power_kind = _choice(POWER_KINDS)
    pulse_shape = _choice(PULSE_SHAPES)
    power = Quantity("emission.power")
    average_power = Quantity("emission.average_power")
    peak_power = Quantity("emission.peak_power")
    pulse_energy = Quantity("emission.pulse_energy")
    pulse_duration = Quantity("emission.pulse_duration")
    repetition_rate = Quantity("emission.repetition_rate")
    pulse_period = Quantity("emission.pulse_period")
    duty_cycle = Quantity("emission.duty_cycle")
    gate_on = Quantity("emission.gate_on")
    gate_off = Quantity("emission.gate_off")


class DeliverySchema(_Strict):
    """What of the power arrives."""

    verified_ratio = Quantity("delivery.verified_ratio")
    verified_ratio_uncertainty = Quantity("delivery.verified_ratio_uncertainty")
    verified_at = fields.String(
        validate=validate.Regexp(_DATE, error=DATE),
        error_messages={"invalid": DATE, "null": NULL},
    )
    mirror_count = NotOffered(NO_CHAIN)
    mirror_reflectance = NotOffered(NO_CHAIN)
    lens_transmittance = NotOffered(NO_CHAIN)
    window_transmittance = NotOffered(NO_CHAIN)
    loss = NotOffered(NO_CHAIN)
    contamination_transmittance = NotOffered(NO_CHAIN)


class SpotSchema(_Strict):
    """One of four ways to state a spot, see ``api/dose/spot.py``."""

    diameter = Quantity("spot.diameter")
    diameter_definition = _choice(DIAMETER_DEFINITIONS)
    focal_length = Quantity("spot.focal_length")
    beam_diameter_at_lens = Quantity("spot.beam_diameter_at_lens")
    beam_quality_m2 = Quantity("spot.beam_quality_m2")
    defocus = Quantity("spot.defocus")
    waist_diameter = Quantity("spot.waist_diameter")
    bore_diameter = Quantity("spot.bore_diameter")
    distance = Quantity("spot.distance")
    full_divergence = Quantity("spot.full_divergence")


class MotionSchema(_Strict):
    """How the spot moves."""

    speed = Quantity("motion.speed", required=True)


class DoseRequestSchema(_Strict):
    """The whole request."""

    wavelength = Quantity("wavelength", required=True)
    emission = _part(EmissionSchema, required=True)
    delivery = _part(DeliverySchema)
    spot = _part(SpotSchema)
    motion = _part(MotionSchema)
    emission_time = Quantity("emission_time")
    tissue = NotOffered(NO_TISSUE)
    uncertainty = NotOffered(NO_UNCERTAINTY)


@dataclass(frozen=True)
class DoseInput:
    """A dose request in SI units; ``emission`` holds the stated quantities by field name."""

    wavelength_m: float
    mode: str
    emission: Mapping[str, float]
    power_kind: str = "not stated"
    pulse_shape: str = "rectangular"
    verified_ratio: float | None = None
    verified_at: str | None = None
    verified_ratio_uncertainty: float | None = None
    spot: Spot | None = None
    speed_m_s: float | None = None
    emission_time_s: float | None = None

    @property
    def spot_diameter_m(self) -> float | None:
        """The 1/e2 diameter at the tissue, if a spot is stated."""
        return None if self.spot is None else self.spot.diameter_m


def _flat(messages: object, path: str = "") -> dict[str, list[str]]:
    """Return marshmallow's nested messages as {field path: [text]}."""
    if isinstance(messages, dict):
        result: dict[str, list[str]] = {}
        for key, value in messages.items():
            inner = path if key == "_schema" else f"{path}.{key}" if path else str(key)
            for name, texts in _flat(value, inner).items():
                result.setdefault(name, []).extend(texts)
        return result
    texts = messages if isinstance(messages, list) else [messages]
    return {path: [str(text) for text in texts]}


def refuse(errors: Mapping[str, list[str]]) -> BadInput:
    """Return the refusal of a request, with what is wrong by field path."""
    first = next(iter(sorted(errors)))
    return BadInput(
        "bad_request", f"{first} {errors[first][0]}" if first else errors[first][0], errors=errors
    )


def _misplaced(emission: Mapping[str, object]) -> dict[str, list[str]]:
    """Return the fields that do not belong to the emission's mode."""
    mode = emission["mode"]
    errors: dict[str, list[str]] = {}
    for name in GATES:
        if name in emission and mode != "gated":
            errors[f"emission.{name}"] = ["belongs to a gated emission only"]
    for name in PULSES:
        if name in emission and mode == "continuous":
            errors[f"emission.{name}"] = ["does not belong to a continuous emission"]
    if not any(name in emission for name in (*POWERS, *PULSES)):
        errors["emission"] = ["needs a power, an energy, a duration or a rate"]
    return errors


def _at_spot(errors: Mapping[str, list[str]]) -> dict[str, list[str]]:
    return {f"spot.{name}": texts for name, texts in errors.items()}


def parse(request: Mapping[str, object]) -> DoseInput:
    """Return a dose request in SI units.

    Raises BadInput (code ``bad_request``) with ``errors`` by field path.
    """
    try:
        data = DoseRequestSchema().load(request)
    except ValidationError as problem:
        raise refuse(_flat(problem.messages)) from None
    emission = data["emission"]
    delivery = data.get("delivery", {})
    spot = data.get("spot")
    errors = _misplaced(emission)
    if spot is not None:
        errors |= _at_spot(form_errors(spot, REQUIRED))
    if "verified_ratio" not in delivery:
        for name in ("verified_at", "verified_ratio_uncertainty"):
            if name in delivery:
                errors[f"delivery.{name}"] = ["has no meaning without a verified ratio"]
    if errors:
        raise refuse(errors)
    settled = None if spot is None else spot_from(spot, wavelength_m=data["wavelength"])
    if settled is not None and (steep := too_steep(settled)):
        raise refuse(_at_spot(steep))
    return DoseInput(
        wavelength_m=data["wavelength"],
        mode=emission["mode"],
        emission={n: emission[n] for n in (*POWERS, *PULSES, *GATES) if n in emission},
        power_kind=emission.get("power_kind", "not stated"),
        pulse_shape=emission.get("pulse_shape", "rectangular"),
        verified_ratio=delivery.get("verified_ratio"),
        verified_at=delivery.get("verified_at"),
        verified_ratio_uncertainty=delivery.get("verified_ratio_uncertainty"),
        spot=settled,
        speed_m_s=data.get("motion", {}).get("speed"),
        emission_time_s=data.get("emission_time"),
    )
