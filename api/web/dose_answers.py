"""The shape of the engine's answers, for the description of the interface.

The engine makes the answers; these schemas only describe them, and a test holds them to that.
"""

from marshmallow import Schema, fields

BAND = "A value, or a band with its two ends in `low` and `high`."
INTERVAL = (
    'By result: {"low", "high", "unit"}, two standard uncertainties to either side by first-order '
    'propagation, or "not stated" where an input of the delivery, the spot or the tissue has no '
    "stated uncertainty. Results that rest on none of those have no entry."
)


class ResultSchema(Schema):
    """One result, in the unit of the contract."""

    value = fields.Float()
    low = fields.Float()
    high = fields.Float()
    unit = fields.String(required=True, metadata={"description": "UCUM code"})
    formula = fields.String(
        metadata={"description": 'Dotted name of its function, "given", or "literature".'}
    )
    sources = fields.List(fields.String(), metadata={"description": "Keys of the bibliography."})
    note = fields.String()


class SidesSchema(Schema):
    """The dose by set power, and by what arrives of it."""

    set = fields.Dict(
        keys=fields.String(), values=fields.Nested(ResultSchema), metadata={"description": BAND}
    )
    delivered = fields.Dict(
        keys=fields.String(),
        allow_none=True,
        metadata={
            "description": 'As `set`, with `basis` ("verified" or "design") and `verified_at`; '
            "null without a verified ratio and without a chain."
        },
    )


class IntervalsSchema(Schema):
    """Intervals of the results of both sides."""

    coverage_factor = fields.Float()
    set = fields.Dict(keys=fields.String(), metadata={"description": INTERVAL})
    delivered = fields.Dict(keys=fields.String(), allow_none=True)


class NoteSchema(Schema):
    """What a person has to know beside the numbers."""

    code = fields.String()
    text = fields.String()
    sources = fields.List(fields.String())


class DoseAnswerSchema(Schema):
    """The answer to a dose request."""

    engine = fields.String(required=True)
    dose = fields.Nested(SidesSchema, required=True)
    absent = fields.Dict(
        keys=fields.String(),
        values=fields.String(),
        metadata={"description": "Why each missing result of the set dose is missing."},
    )
    contradictions = fields.List(fields.Dict(keys=fields.String()))
    warnings = fields.List(fields.Nested(NoteSchema))
    intervals = fields.Nested(IntervalsSchema, required=True)


class FormulaSchema(Schema):
    """How a formula is known, and when it holds."""

    status = fields.String(required=True)
    valid = fields.List(
        fields.String(), metadata={"description": "Codes of the conditions under which it holds."}
    )
    constants = fields.List(fields.String(), metadata={"description": "Names of constants in it."})


class ConstantSchema(Schema):
    """A constant; a whole table has no value."""

    value = fields.Float()
    unit = fields.String()
    what = fields.String()
    source = fields.String(required=True)
    status = fields.String(required=True)
    range = fields.List(fields.Float())


class SourceSchema(Schema):
    """An entry of the bibliography."""

    status = fields.String(required=True)
    text = fields.String(required=True)


class ProvenanceSchema(Schema):
    """What numbers rest on: formulas by their dotted name, constants and sources by their key."""

    statuses = fields.List(fields.String(), required=True)
    formulas = fields.Dict(keys=fields.String(), values=fields.Nested(FormulaSchema), required=True)
    constants = fields.Dict(
        keys=fields.String(), values=fields.Nested(ConstantSchema), required=True
    )
    bibliography = fields.Dict(
        keys=fields.String(), values=fields.Nested(SourceSchema), required=True
    )


class SeriesSchema(Schema):
    """Values of a curve."""

    values = fields.List(fields.Float(), required=True)
    unit = fields.String(required=True)


class HeatResultsSchema(Schema):
    """Curves over time and, at the end, over depth below the present surface."""

    time = fields.Nested(SeriesSchema)
    surface_temperature = fields.Nested(SeriesSchema)
    residual_time = fields.Nested(
        SeriesSchema, metadata={"description": "Just before each pulse after the first."}
    )
    residual_temperature = fields.Nested(SeriesSchema)
    depth = fields.Nested(SeriesSchema)
    temperature = fields.Nested(SeriesSchema)
    damage = fields.Nested(SeriesSchema, metadata={"description": "The damage integral."})
    removed_depth = fields.Nested(ResultSchema)
    damage_depth = fields.Nested(
        ResultSchema, metadata={"description": "To which the damage integral is 1 or more."}
    )
    energy_balance_error = fields.Nested(ResultSchema)


class HeatAnswerSchema(Schema):
    """The answer to a heat request."""

    engine = fields.String(required=True)
    basis = fields.String(metadata={"description": '"set", "verified" or "design"'})
    irradiance = fields.Nested(ResultSchema)
    valid_until = fields.Nested(
        ResultSchema, metadata={"description": "w^2 / (4 kappa): later is outside validity."}
    )
    resolution = fields.String(
        metadata={"description": '"fine", or coarser: "fewer steps", "mean power"'}
    )
    steps = fields.Integer()
    constants = fields.Dict(keys=fields.String(), values=fields.Nested(ResultSchema))
    results = fields.Nested(HeatResultsSchema, required=True)
    warnings = fields.List(fields.Nested(NoteSchema))


def answer_of(schema: type[Schema], words: str) -> dict:
    """Return the description of an answer that the engine makes, for ``Blueprint.doc``."""
    content = {"application/json": {"schema": schema}}
    return {"200": {"description": words, "content": content}}
