"""The bodies and answers between a practice and the group that follows it."""

import marshmallow as ma

from api.group import entries, joining
from api.web.blueprint import words as worded

_HEX = ma.validate.Regexp(r"[0-9a-f]{64}\Z")
_IDENT = ma.validate.Regexp(r"[A-Za-z0-9._:-]{1,64}\Z")
_POSITION = ma.validate.Range(0, 2**53)
# A roll-out in the group's signed word: an event and what is around it.
LONGEST_OFFER = 200_000


def _ident() -> ma.fields.String:
    return ma.fields.String(required=True, validate=_IDENT)


def _position() -> ma.fields.Integer:
    return ma.fields.Integer(required=True, strict=True, validate=_POSITION)


class GroupStatementSchema(ma.Schema):
    """A text and the signature over it."""

    text = worded(required=True, at_most=4000)
    signature = worded(required=True, at_most=100)


class GroupNonceSchema(ma.Schema):
    """What the group has to sign, so that its answer is of now."""

    nonce = worded(required=True, at_most=100)


class GroupIdentitySchema(ma.Schema):
    """Who the group is, in its own signed word {nonce, at}."""

    public_key = ma.fields.String(required=True)
    said = ma.fields.Nested(GroupStatementSchema, required=True)


class GroupJoinSchema(ma.Schema):
    """A practice that wants to be followed."""

    code = worded(required=True, at_most=40)
    name = worded(required=True, at_most=joining.LONGEST_NAME)
    public_key = worded(required=True, at_most=400)
    statement = ma.fields.Nested(GroupStatementSchema, required=True)


class GroupJoinedSchema(ma.Schema):
    """The practice's id here, and the group's certificate of it."""

    practice_id = ma.fields.String(required=True)
    certificate = ma.fields.Nested(GroupStatementSchema, required=True)


class GroupSealedSchema(ma.Schema):
    """The practice's key, sealed [base64]."""

    sealed_key = worded(required=True, at_most=8000)


class GroupTimeSchema(ma.Schema):
    """What time it is at the group."""

    server_time = ma.fields.String(required=True)


class GroupAskedSchema(ma.Schema):
    """Links of one location's log at positions of the practice's choice."""

    location_id = _ident()
    links = ma.fields.List(
        ma.fields.Tuple((_position(), ma.fields.String(validate=_HEX))),
        required=True,
        validate=ma.validate.Length(max=64),
    )


class GroupMeetSchema(ma.Schema):
    """The logs of a practice."""

    locations = ma.fields.List(
        ma.fields.Nested(GroupAskedSchema), required=True, validate=ma.validate.Length(1, 50)
    )


class GroupSaidSchema(ma.Schema):
    """The group's signed word."""

    said = ma.fields.Nested(GroupStatementSchema, required=True)


class GroupWriterSchema(ma.Schema):
    """One who writes in a log: a tablet, or the location's desks."""

    tablet_id = _ident()
    kind = ma.fields.String(required=True, validate=ma.validate.OneOf(["tablet", "desk"]))
    label = worded(required=True, at_most=400)
    public_key = worded(required=True, at_most=400)
    certificate = ma.fields.String(
        required=True, allow_none=True, validate=ma.validate.Length(max=4000)
    )
    enrolled_at = worded(required=True, at_most=40)
    revoked_at = ma.fields.String(
        required=True, allow_none=True, validate=ma.validate.Length(max=40)
    )
    replaces = ma.fields.String(required=True, allow_none=True, validate=_IDENT)
    first_seq = _position()
    unconfirmed = ma.fields.Boolean(required=True)


class GroupBatchSchema(ma.Schema):
    """Entries of one log, in order."""

    location_id = _ident()
    after = _position()
    previous_link = ma.fields.String(required=True, validate=_HEX)
    link = ma.fields.String(required=True, validate=_HEX)
    entries = ma.fields.List(
        ma.fields.Dict(), required=True, validate=ma.validate.Length(1, entries.MOST_ENTRIES)
    )
    writers = ma.fields.List(
        ma.fields.Nested(GroupWriterSchema), required=True, validate=ma.validate.Length(max=200)
    )
    head = ma.fields.Nested(GroupStatementSchema, required=True, allow_none=True)


class GroupHashesSchema(ma.Schema):
    """Photographs of a location, by their hashes."""

    location_id = _ident()
    photographs = ma.fields.List(
        ma.fields.String(validate=_HEX), required=True, validate=ma.validate.Length(1, 500)
    )


class GroupCodeSchema(ma.Schema):
    """A code to restore with."""

    code = worded(required=True, at_most=40)


class GroupPageQuerySchema(ma.Schema):
    """Which part of a log."""

    code = worded(required=True, at_most=40)
    location_id = _ident()
    after = _position()


class GroupPageSchema(ma.Schema):
    """Entries of a log, and who writes in it."""

    entries = ma.fields.List(ma.fields.Dict(), required=True)
    writers = ma.fields.List(ma.fields.String(), required=True)
    position = ma.fields.Integer(required=True)


class GroupPhotographsQuerySchema(ma.Schema):
    """Which photographs of a location: those after one, in the order of their hashes."""

    code = worded(required=True, at_most=40)
    location_id = _ident()
    after = ma.fields.String(
        required=True, allow_none=True, validate=_HEX, metadata={"description": "None: the first."}
    )


class GroupPhotographsSchema(ma.Schema):
    """Hashes of photographs, ordered; none where there are no more."""

    photographs = ma.fields.List(ma.fields.String(), required=True)


class GroupPhotographQuerySchema(ma.Schema):
    """Which photograph."""

    code = worded(required=True, at_most=40)
    location_id = _ident()
    sha256 = ma.fields.String(required=True, validate=_HEX)


class GroupPhotographSchema(ma.Schema):
    """A photograph's bytes [base64]."""

    content = ma.fields.String(required=True)


class GroupNothingSchema(ma.Schema):
    """Who asks has signed; there is nothing more to say."""


class GroupOfferQuerySchema(ma.Schema):
    """Which roll-out."""

    rollout_id = _ident()


class GroupLongStatementSchema(ma.Schema):
    """A text and the signature over it, where the text may be long."""

    text = worded(required=True, at_most=LONGEST_OFFER)
    signature = worded(required=True, at_most=100)


class GroupOfferedSchema(ma.Schema):
    """The group's signed word about what it rolls out."""

    said = ma.fields.Nested(GroupLongStatementSchema, required=True)
