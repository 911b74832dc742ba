"""Reading an object field by field: ranges, choices and parts, with the words that refuse them."""

from collections.abc import Mapping
from functools import cache
from typing import Any, ClassVar

from marshmallow import RAISE, Schema, ValidationError, fields, validate

from api.dose.quantity import NotAQuantity, to_si_between

UNKNOWN = "is not a field of this request"
NULL = "must not be null"
OBJECT = "must be an object"
REQUIRED = "is required"


def one_of(choices: tuple[str, ...]) -> str:
    """Return the words for a field that takes one of these texts."""
    return "must be one of: " + ", ".join(choices)


class Quantity(fields.Field):
    """A quantity such as "4.5 W", read into SI units; ``limits`` is its range."""

    def __init__(self, limits: Mapping[str, object], *, required: bool = False) -> None:
        super().__init__(required=required, error_messages={"null": NULL, "required": REQUIRED})
        self.limits = limits

    def _deserialize(self, value: object, attr: object, data: object, **kwargs: object) -> float:
        try:
            return to_si_between(value, self.limits)
        except NotAQuantity as problem:
            raise ValidationError(str(problem)) from None


def choice(choices: tuple[str, ...], *, required: bool = False) -> fields.String:
    """Return a field that takes one of these texts."""
    words = one_of(choices)
    return fields.String(
        required=required,
        validate=validate.OneOf(choices, error=words),
        error_messages={"invalid": words, "null": NULL, "required": REQUIRED},
    )


def part(schema: type[Schema], *, required: bool = False) -> fields.Nested:
    """Return a field that is an object of its own."""
    return fields.Nested(
        schema, required=required, error_messages={"null": NULL, "required": REQUIRED}
    )


class Strict(Schema):
    """An object without any field that is not named."""

    class Meta:
        unknown = RAISE

    error_messages: ClassVar = {"unknown": UNKNOWN, "type": OBJECT}


@cache
def _fields(schema: type[Schema]) -> Mapping[str, tuple[fields.Field, type[Schema] | None]]:
    """Return the fields of a schema, each with the schema of its own where it is a part."""
    return {
        name: (field, field.nested if isinstance(field, fields.Nested) else None)
        for name, field in schema().fields.items()
    }


def read(schema: type[Schema], given: object) -> dict[str, Any]:
    """Return what an object states, by field, in the schema's order.

    It reads as ``schema().load`` would, without what that does for hooks, renamed attributes and
    partial objects, which no request has and which took longer than the reading.
    Raises ValidationError with the messages by field, nested as the request is.
    """
    if not isinstance(given, Mapping):
        raise ValidationError([OBJECT])
    expected = _fields(schema)
    data: dict[str, Any] = {}
    wrong: dict[str, object] = {name: [UNKNOWN] for name in given if name not in expected}
    for name, (field, part_schema) in expected.items():
        if name not in given:
            if field.required:
                wrong[name] = [REQUIRED]
            continue
        value = given[name]
        try:
            is_part = part_schema is not None and value is not None
            data[name] = read(part_schema, value) if is_part else field.deserialize(value)
        except ValidationError as problem:
            wrong[name] = problem.messages
    if wrong:
        raise ValidationError(wrong)
    return data
