"""Reading an object field by field: ranges, choices and parts, with the words that refuse them."""

from collections.abc import Callable, Mapping
from functools import cache, partial
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
        super().__init__(required=required, error_messages={"null": NULL})
        self.limits = limits

    def of(self, value: object) -> float:
        """Return what is not null in SI units; raises ValidationError."""
        try:
            return to_si_between(value, self.limits)
        except NotAQuantity as problem:
            raise ValidationError(str(problem)) from None


class Choice(fields.String):
    """One of these texts."""

    def __init__(self, choices: tuple[str, ...], *, required: bool = False) -> None:
        self.choices, self.words = choices, one_of(choices)
        # What validates here is what the interface's description lists; `of` refuses.
        described = validate.OneOf(choices)
        super().__init__(required=required, validate=described, error_messages={"null": NULL})

    def of(self, value: object) -> str:
        """Return what is one of them; raises ValidationError."""
        if value not in self.choices:
            raise ValidationError(self.words)
        return value


def choice(choices: tuple[str, ...], *, required: bool = False) -> Choice:
    """Return a field that takes one of these texts."""
    return Choice(choices, required=required)


def part(schema: type[Schema], *, required: bool = False) -> fields.Nested:
    """Return a field that is an object of its own."""
    return fields.Nested(schema, required=required, error_messages={"null": NULL})


class Strict(Schema):
    """An object without any field that is not named."""

    class Meta:
        unknown = RAISE

    error_messages: ClassVar = {"unknown": UNKNOWN, "type": OBJECT}


@cache
def _readers(schema: type[Schema]) -> Mapping[str, tuple[fields.Field, Callable[[Any], Any]]]:
    """Return the fields of a schema, each with what reads it where it is not null."""

    def reader(field: fields.Field) -> Callable[[Any], Any]:
        if isinstance(field, fields.Nested):
            return partial(read, field.nested)
        return field.of if isinstance(field, Quantity | Choice) else field.deserialize

    return {name: (field, reader(field)) for name, field in schema().fields.items()}


def read(schema: type[Schema], given: object) -> dict[str, Any]:
    """Return what an object states, by field, in the schema's order.

    It reads as ``schema().load`` would, without what that and ``Field.deserialize`` do for hooks,
    renamed attributes and partial objects, which no request has and which took longer than the
    reading.
    Raises ValidationError with the messages by field, nested as the request is.
    """
    if not isinstance(given, Mapping):
        raise ValidationError([OBJECT])
    expected = _readers(schema)
    data: dict[str, Any] = {}
    wrong: dict[str, object] = {name: [UNKNOWN] for name in given if name not in expected}
    for name, (field, reader) in expected.items():
        if name not in given:
            if field.required:
                wrong[name] = [REQUIRED]
            continue
        value = given[name]
        try:
            data[name] = field.deserialize(None) if value is None else reader(value)
        except ValidationError as problem:
            wrong[name] = problem.messages
    if wrong:
        raise ValidationError(wrong)
    return data
