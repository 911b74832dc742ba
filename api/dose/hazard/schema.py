"""The shape of a hazard request: its fields, their ranges, and the words that refuse them."""

from marshmallow import fields

from api.dose.hazard.constants import table
from api.dose.hazard.editions import EDITIONS
from api.dose.hazard.eyewear import GLASS, PLASTIC
from api.dose.hazard.limits import TARGETS
from api.dose.reading import NULL, Quantity, Strict, choice, part

DEFINITIONS = ("63 %", "1/e2")
WINDOWS = ("5 s", "10 s")
BOOLEAN = "must be true or false"


class YesNo(fields.Boolean):
    """True or false, and no number that Python takes for one."""

    def _deserialize(self, value: object, attr: object, data: object, **kwargs: object) -> bool:
        if not isinstance(value, bool):
            raise self.make_error("invalid")
        return value


def _quantity(path: str, *, required: bool = False) -> Quantity:
    return Quantity(table()["quantities"][path], required=required)


class HazardEmissionSchema(Strict):
    """A power, a train of pulses, or one pulse: the laser's greatest output."""

    power = _quantity("emission.power")
    pulse_energy = _quantity("emission.pulse_energy")
    pulse_duration = _quantity("emission.pulse_duration")
    repetition_rate = _quantity("emission.repetition_rate")


class BeamSchema(Strict):
    """The beam where an eye can be, and how it spreads; both by one definition."""

    diameter = _quantity("beam.diameter")
    diameter_definition = choice(DEFINITIONS)
    full_divergence = _quantity("beam.full_divergence")


class LensSchema(Strict):
    """A focusing handpiece."""

    focal_length = _quantity("lens.focal_length", required=True)
    beam_diameter = _quantity("lens.beam_diameter", required=True)
    diameter_definition = choice(DEFINITIONS, required=True)


class TipSchema(Strict):
    """A waveguide or rigid tip, 1/e2."""

    diameter = _quantity("tip.diameter", required=True)
    full_divergence = _quantity("tip.full_divergence", required=True)


class ReflectionSchema(Strict):
    """A surface that scatters the beam."""

    reflectance = _quantity("reflection.reflectance")
    angle = _quantity("reflection.angle")


class SkinSchema(Strict):
    """Skin that is exposed."""

    exposed_area = _quantity("skin.exposed_area", required=True)


class EyewearSchema(Strict):
    """How eyewear is judged; the editions of its standard differ."""

    material = choice((GLASS, PLASTIC))
    beam_size_factor = YesNo(error_messages={"invalid": BOOLEAN, "null": NULL})
    accumulation_window = choice(WINDOWS)


class HazardRequestSchema(Strict):
    """What can leave a laser, and who may stand where."""

    wavelength = _quantity("wavelength", required=True)
    exposure_time = _quantity("exposure_time")
    target = choice(TARGETS)
    edition = choice(EDITIONS)
    emission = part(HazardEmissionSchema, required=True)
    beam = part(BeamSchema)
    lens = part(LensSchema)
    tip = part(TipSchema)
    reflection = part(ReflectionSchema)
    skin = part(SkinSchema)
    eyewear = part(EyewearSchema)
