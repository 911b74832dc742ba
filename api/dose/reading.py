"""Reading an object field by field: ranges, choices and parts, with the words that refuse them."""

from collections.abc import Mapping
from typing import ClassVar

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
