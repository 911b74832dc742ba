"""The shape of a dose request: its fields, their ranges, and the words that refuse them.

Unknown fields, wrong dimensions and values out of range are errors at their field path, never a
guess.
"""

import re
from typing import ClassVar

from marshmallow import RAISE, Schema, ValidationError, fields, validate

from api.dose.beam import DIAMETER_DEFINITIONS
from api.dose.constants import table
from api.dose.emission import PULSE_SHAPES
from api.dose.quantity import NotAQuantity, to_si_within, uncertainty_within

MODES = ("continuous", "gated", "pulsed")
POWER_KINDS = ("average", "peak", "not stated")
POWERS = ("power", "average_power", "peak_power")
PULSES = ("pulse_energy", "pulse_duration", "repetition_rate", "pulse_period", "duty_cycle")
GATES = ("gate_on", "gate_off")
CHAIN = (
    "mirror_count", "mirror_reflectance", "lens_transmittance", "window_transmittance", "loss",
    "contamination_transmittance",
)  # fmt: skip
RATIO = ("verified_ratio", "verified_ratio_uncertainty")
PROPERTIES = (
    "water_fraction", "density", "specific_heat", "conductivity", "ablation_threshold",
    "ablation_heat",
)  # fmt: skip
# A count has no uncertainty.
EXACT = ("delivery.mirror_count",)
TISSUES = tuple(table()["tissues"])

UNKNOWN = "is not a field of this request"
NULL = "must not be null"
OBJECT = "must be an object"
REQUIRED = "is required"
TEXT = "must be a text"
NOT_WHOLE = "must be a whole number"
IS_EXACT = "is a count and has no uncertainty"
ABOVE_VALUE = "must not be larger than the value itself"
NO_PROPERTY = "needs a kind or a property"
NOT_STATED = "is not stated in this request"
STATED_TWICE = "is stated twice: see delivery.verified_ratio_uncertainty"
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


class WholeNumber(Quantity):
    """A pure number without a fraction."""

    def _deserialize(self, value: object, attr: object, data: object, **kwargs: object) -> float:
        number = super()._deserialize(value, attr, data, **kwargs)
        if number != int(number):
            raise ValidationError(NOT_WHOLE)
        return number


class Uncertainties(fields.Field):
    """{field path: standard uncertainty}, a pure number being relative."""

    def __init__(self) -> None:
        super().__init__(error_messages={"null": NULL})

    def _deserialize(
        self, value: object, attr: object, data: object, **kwargs: object
    ) -> dict[str, tuple[bool, float]]:
        if not isinstance(value, dict):
            raise ValidationError(OBJECT)
        read, errors = {}, {}
        for path, given in value.items():
            if path not in table()["quantities"] or path.endswith("_uncertainty"):
                errors[path] = [UNKNOWN]
                continue
            if path in EXACT:
                errors[path] = [IS_EXACT]
                continue
            try:
                read[path] = uncertainty_within(given, path)
            except NotAQuantity as problem:
                errors[path] = [str(problem)]
        if errors:
            raise ValidationError(errors)
        return read


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
    mirror_count = WholeNumber("delivery.mirror_count")
    mirror_reflectance = Quantity("delivery.mirror_reflectance")
    lens_transmittance = Quantity("delivery.lens_transmittance")
    window_transmittance = Quantity("delivery.window_transmittance")
    loss = Quantity("delivery.loss")
    contamination_transmittance = Quantity("delivery.contamination_transmittance")


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


class TissueSchema(_Strict):
    """A kind of tissue, properties of one, or a kind with some properties of its own."""

    kind = _choice(TISSUES)
    water_fraction = Quantity("tissue.water_fraction")
    density = Quantity("tissue.density")
    specific_heat = Quantity("tissue.specific_heat")
    conductivity = Quantity("tissue.conductivity")
    ablation_threshold = Quantity("tissue.ablation_threshold")
    ablation_heat = Quantity("tissue.ablation_heat")


class DoseRequestSchema(_Strict):
    """The whole request."""

    wavelength = Quantity("wavelength", required=True)
    emission = _part(EmissionSchema, required=True)
    delivery = _part(DeliverySchema)
    spot = _part(SpotSchema)
    motion = _part(MotionSchema)
    emission_time = Quantity("emission_time")
    tissue = _part(TissueSchema)
    uncertainty = Uncertainties()
