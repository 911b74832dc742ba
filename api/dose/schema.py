"""The shape of a dose request: its fields, their ranges, and the words that refuse them.

Unknown fields, wrong dimensions and values out of range are errors at their field path, never a
guess.
"""

import re

from marshmallow import ValidationError, fields, validate

from api.dose.beam import DIAMETER_DEFINITIONS
from api.dose.constants import table
from api.dose.emission import PULSE_SHAPES
from api.dose.quantity import NotAQuantity, uncertainty_within
from api.dose.reading import NULL, OBJECT, UNKNOWN, Quantity, Strict, choice, part

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


def _quantity(path: str, *, required: bool = False) -> Quantity:
    return Quantity(table()["quantities"][path], required=required)


class WholeNumber(Quantity):
    """A pure number without a fraction."""

    def of(self, value: object) -> float:
        """Return what is a whole number; raises ValidationError."""
        number = super().of(value)
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


class EmissionSchema(Strict):
    """What the panel shows."""

    mode = choice(MODES, required=True)
    power_kind = choice(POWER_KINDS)
    pulse_shape = choice(PULSE_SHAPES)
    power = _quantity("emission.power")
    average_power = _quantity("emission.average_power")
    peak_power = _quantity("emission.peak_power")
    pulse_energy = _quantity("emission.pulse_energy")
    pulse_duration = _quantity("emission.pulse_duration")
    repetition_rate = _quantity("emission.repetition_rate")
    pulse_period = _quantity("emission.pulse_period")
    duty_cycle = _quantity("emission.duty_cycle")
    gate_on = _quantity("emission.gate_on")
    gate_off = _quantity("emission.gate_off")


class DeliverySchema(Strict):
    """What of the power arrives."""

    verified_ratio = _quantity("delivery.verified_ratio")
    verified_ratio_uncertainty = _quantity("delivery.verified_ratio_uncertainty")
    verified_at = fields.String(
        validate=validate.Regexp(_DATE, error=DATE),
        error_messages={"invalid": DATE, "null": NULL},
    )
    mirror_count = WholeNumber(table()["quantities"]["delivery.mirror_count"])
    mirror_reflectance = _quantity("delivery.mirror_reflectance")
    lens_transmittance = _quantity("delivery.lens_transmittance")
    window_transmittance = _quantity("delivery.window_transmittance")
    loss = _quantity("delivery.loss")
    contamination_transmittance = _quantity("delivery.contamination_transmittance")


class SpotSchema(Strict):
    """One of four ways to state a spot, see ``api/dose/spot.py``."""

    diameter = _quantity("spot.diameter")
    diameter_definition = choice(DIAMETER_DEFINITIONS)
    focal_length = _quantity("spot.focal_length")
    beam_diameter_at_lens = _quantity("spot.beam_diameter_at_lens")
    beam_quality_m2 = _quantity("spot.beam_quality_m2")
    defocus = _quantity("spot.defocus")
    waist_diameter = _quantity("spot.waist_diameter")
    bore_diameter = _quantity("spot.bore_diameter")
    distance = _quantity("spot.distance")
    full_divergence = _quantity("spot.full_divergence")


class MotionSchema(Strict):
    """How the spot moves."""

    speed = _quantity("motion.speed", required=True)


class TissueSchema(Strict):
    """A kind of tissue, properties of one, or a kind with some properties of its own."""

    kind = choice(TISSUES)
    water_fraction = _quantity("tissue.water_fraction")
    density = _quantity("tissue.density")
    specific_heat = _quantity("tissue.specific_heat")
    conductivity = _quantity("tissue.conductivity")
    ablation_threshold = _quantity("tissue.ablation_threshold")
    ablation_heat = _quantity("tissue.ablation_heat")


class DoseRequestSchema(Strict):
    """The whole request."""

    wavelength = _quantity("wavelength", required=True)
    emission = part(EmissionSchema, required=True)
    delivery = part(DeliverySchema)
    spot = part(SpotSchema)
    motion = part(MotionSchema)
    emission_time = _quantity("emission_time")
    tissue = part(TissueSchema)
    uncertainty = Uncertainties()


class HeatRequestSchema(DoseRequestSchema):
    """A dose request, and how long the simulation lasts."""

    duration = _quantity("duration", required=True)
