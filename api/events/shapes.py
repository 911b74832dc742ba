"""The small pieces that the payload schemas are built of."""

import re
import unicodedata
from datetime import date

from marshmallow import INCLUDE, Schema, ValidationError, fields, validate

from api.clock import parse_rfc3339

# The same number grammar as a dose request, so that a quantity in the log can always be read.
_NUMBER = r"[+-]?[0-9]+(\.[0-9]+)?([eE][+-]?[0-9]+)?"
_DECIMAL = re.compile(_NUMBER)
_QUANTITY = re.compile(_NUMBER + r" ?[^\s0-9][^0-9]{0,30}[0-9]?")
_SECONDS = re.compile(r"([0-9]+(\.[0-9]+)?([eE][+-]?[0-9]+)?) s")
# Controls, what turns the direction of writing or is not seen, halves of signs, ends of lines.
_UNSEEN = frozenset({"Cc", "Cf", "Cs", "Zl", "Zp"})
_HASH = re.compile(r"[0-9a-f]{64}")
LONGEST_NOTE = 8000


class Payload(Schema):
    """What every payload shares: fields that this version does not know are kept."""

    class Meta:
        unknown = INCLUDE


class StrictText(fields.String):
    """Text, and only text: a number is not turned into one."""

    def _deserialize(self, value: object, attr: str | None, data: object, **kwargs: object) -> str:
        if not isinstance(value, str):
            raise ValidationError("Must be text.")
        return value


class WholeNumber(fields.Field):
    """A JSON integer; a float or a text is refused, since it would not be kept digit by digit."""

    def _deserialize(self, value: object, attr: str | None, data: object, **kwargs: object) -> int:
        if isinstance(value, bool) or not isinstance(value, int):
            raise ValidationError("Must be a whole number.")
        return value


class YesOrNo(fields.Field):
    """JSON true or false."""

    def _deserialize(self, value: object, attr: str | None, data: object, **kwargs: object) -> bool:
        if not isinstance(value, bool):
            raise ValidationError("Must be true or false.")
        return value


class TextTree(fields.Field):
    """An object whose leaves are texts, whole numbers, true, false or null, never floats."""

    def _deserialize(self, value: object, attr: str | None, data: object, **kwargs: object) -> dict:
        if not isinstance(value, dict):
            raise ValidationError("Must be an object.")
        if has_float(value):
            raise ValidationError("Numbers must be decimal texts or whole numbers.")
        return value


def has_float(value: object) -> bool:
    """Say whether a float stands anywhere in a JSON value."""
    if isinstance(value, dict):
        return any(map(has_float, value.values()))
    if isinstance(value, list):
        return any(map(has_float, value))
    return isinstance(value, float)


def _whole(pattern: re.Pattern[str], message: str):
    def check(value: str) -> None:
        if len(value) > 40 or not pattern.fullmatch(value):
            raise ValidationError(message)

    return check


def _is_time(value: str) -> None:
    try:
        parse_rfc3339(value)
    except ValueError:
        raise ValidationError("Must be an RFC 3339 time with its offset.") from None


def _is_date(value: str) -> None:
    try:
        date.fromisoformat(value)
    except ValueError:
        raise ValidationError("Must be a date, YYYY-MM-DD.") from None


def _is_hash(value: str) -> None:
    if not _HASH.fullmatch(value):
        raise ValidationError("Must be a SHA-256 in lower-case hex.")


def _field(kind: type[fields.Field], optional: bool, **more: object) -> fields.Field:
    # An optional value may be null or left out: both say "not known".
    return kind(required=not optional, allow_none=optional, **more)


def text(*, optional: bool = False, longest: int = 400) -> fields.Field:
    """A text; one that must be there must say something."""
    shortest = 0 if optional else 1
    return _field(StrictText, optional, validate=validate.Length(shortest, longest))


def _is_file_name(value: str) -> None:
    plain = not any(sign in "/\\" or unicodedata.category(sign) in _UNSEEN for sign in value)
    if not plain or value != value.strip() or not value.strip("."):
        raise ValidationError("Must be the name of a file alone, on one line.")


def file_name(*, longest: int = 120) -> fields.Field:
    """The name of a file: no way to it, and nothing in it that is not seen."""
    return _field(StrictText, False, validate=[validate.Length(1, longest), _is_file_name])


def ident(*, optional: bool = False) -> fields.Field:
    """An identifier: a UUID or a short slug."""
    return _field(StrictText, optional, validate=validate.Regexp(r"[A-Za-z0-9._:-]{1,64}\Z"))


def one_of(*choices: str, optional: bool = False) -> fields.Field:
    """One word of a closed list."""
    return _field(StrictText, optional, validate=validate.OneOf(choices))


def quantity(*, optional: bool = False) -> fields.Field:
    """A number and a unit as one text, such as "4.5 W"."""
    check = _whole(_QUANTITY, 'Must be a quantity such as "4.5 W".')
    return _field(StrictText, optional, validate=check)


def seconds(*, optional: bool = False) -> fields.Field:
    """A time in seconds as text, such as "12.4 s"; the log needs no other unit for it."""
    return _field(StrictText, optional, validate=_whole(_SECONDS, 'Must be such as "12.4 s".'))


def decimal(*, optional: bool = False) -> fields.Field:
    """A pure number as decimal text."""
    return _field(StrictText, optional, validate=_whole(_DECIMAL, "Must be a decimal text."))


def whole(*, optional: bool = False, least: int = 0, most: int = 2**53 - 1) -> fields.Field:
    """A whole number."""
    return _field(WholeNumber, optional, validate=validate.Range(min=least, max=most))


def yes_or_no(*, optional: bool = False) -> fields.Field:
    """True or false."""
    return _field(YesOrNo, optional)


def moment(*, optional: bool = False) -> fields.Field:
    """An RFC 3339 time with its offset."""
    return _field(StrictText, optional, validate=_is_time)


def day(*, optional: bool = False) -> fields.Field:
    """A date."""
    return _field(StrictText, optional, validate=_is_date)


def sha256_hex() -> fields.Field:
    """A SHA-256 in lower-case hex."""
    return _field(StrictText, False, validate=_is_hash)


def tree(*, optional: bool = False) -> fields.Field:
    """An object that the log keeps as it is, provided it holds no floats."""
    return _field(TextTree, optional)


def many(
    item: fields.Field | type[Schema], *, least: int = 0, most: int = 200, optional: bool = False
) -> fields.Field:
    """A list of ``item``."""
    inner = fields.Nested(item) if isinstance(item, type) else item
    size = validate.Length(least, most)
    return fields.List(inner, required=not optional, allow_none=optional, validate=size)


def part(schema: type[Schema], *, optional: bool = False) -> fields.Field:
    """A nested object."""
    return fields.Nested(schema, required=not optional, allow_none=optional)
