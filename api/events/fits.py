"""Whether a payload fits its schema, asked without the machinery that says what is wrong.

A push asks this of each event, and nearly all of them fit. Only a payload that does not is read by
its schema, which finds the words. What may stand in a field is decided by the schema's own
validators here too; where a schema has anything that is not known here, nothing fits and it is
asked itself.
"""

from collections.abc import Callable

from marshmallow import INCLUDE, Schema, ValidationError, fields

from api.events import shapes

Fits = Callable[[object], bool]


def compiled(schema: Schema) -> Fits:
    """Return what says of a JSON value whether ``schema`` would find nothing wrong with it."""
    plain = schema.unknown == INCLUDE and not (schema.many or schema.partial)
    if not plain or any(schema._hooks.values()):
        return _never
    asked = [
        (name, _field(field), field.required, field.allow_none)
        for name, field in schema.fields.items()
    ]

    def fits(value: object) -> bool:
        if not isinstance(value, dict):
            return False
        there = 0
        for name, inner, required, may_be_null in asked:
            if name not in value:
                if required:
                    return False
                continue
            there += 1
            said = value[name]
            if not (may_be_null if said is None else inner(said)):
                return False
        # A dot in a name that is not known means a path to the schema.
        return there == len(value) or not any("." in name for name in value.keys() - schema.fields)

    return fits


def _never(_value: object) -> bool:
    return False


def _field(field: fields.Field) -> Fits:
    shape = _shape(field)
    validators = tuple(field.validators)

    def fits(value: object) -> bool:
        if not shape(value):
            return False
        try:
            for validator in validators:
                validator(value)
        except ValidationError:
            return False
        return True

    return fits if validators else shape


def _shape(field: fields.Field) -> Fits:
    if isinstance(field, fields.Nested):
        return compiled(field.schema)
    if isinstance(field, fields.List):
        inner, may_be_null = _field(field.inner), field.inner.allow_none
        return lambda value: (
            isinstance(value, list)
            and all(may_be_null if each is None else inner(each) for each in value)
        )
    return _SHAPES.get(type(field), _never)


_SHAPES: dict[type[fields.Field], Fits] = {
    shapes.StrictText: lambda value: isinstance(value, str),
    shapes.WholeNumber: lambda value: isinstance(value, int) and not isinstance(value, bool),
    shapes.YesOrNo: lambda value: isinstance(value, bool),
    shapes.TextTree: lambda value: isinstance(value, dict) and not shapes.has_float(value),
}
