"""What a practice asks of the group server that follows it; see the modules of ``api.group``.

Each request but the first two is signed by the practice's own key over its path, its time and its
body, and answered in the group's signed word where it matters. No cookie and no token.
"""

import base64
import binascii

import marshmallow as ma
from flask import request

from api.clock import rfc3339
from api.errors import BadInput, NotSignedIn
from api.events import signing
from api.group import entries, giving, joining, taking, words
from api.storage.engine import read, write
from api.web import auth, limits
from api.web.blueprint import Blueprint
from api.web.blueprint import words as worded
from api.web.context import context

blueprint = Blueprint("group", __name__, description="A practice at the group that follows it")

_HEX = ma.validate.Regexp(r"[0-9a-f]{64}\Z")
_IDENT = ma.validate.Regexp(r"[A-Za-z0-9._:-]{1,64}\Z")
_POSITION = ma.validate.Range(0, 2**53)
_IN = auth.anyone(limits.GROUP)


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


@blueprint.route("/group/identity", methods=["POST"])
@blueprint.arguments(GroupNonceSchema)
@blueprint.response(200, GroupIdentitySchema)
@auth.rule(_IN)
def post_identity(body):
    """Prove which key this server has, and say what time it is here."""
    house = context()
    said = words.say(
        house.server_key, "identity", nonce=body["nonce"], at=rfc3339(house.clock.now())
    )
    return {"public_key": signing.public_key_text(house.server_key), "said": said}


@blueprint.route("/group/join", methods=["POST"])
@blueprint.arguments(GroupJoinSchema)
@blueprint.response(201, GroupJoinedSchema)
@auth.rule(auth.anyone(limits.ENROL))
def post_join(body):
    """Follow the practice that a one-time code was made for."""
    house = context()
    with write(house.engine) as connection:
        return joining.join(
            connection,
            house.clock,
            house.random,
            house.server_key,
            secret=body["code"],
            statement=body["statement"],
            public_key=body["public_key"],
            name=body["name"],
        )


@blueprint.route("/group/key", methods=["POST"])
@blueprint.arguments(GroupSealedSchema)
@blueprint.response(200, GroupTimeSchema)
@auth.rule(_IN)
def post_key(body):
    """Keep the practice's own key for it, sealed."""
    house, practice = context(), _practice()
    try:
        sealed = base64.b64decode(body["sealed_key"], validate=True)
    except (binascii.Error, ValueError):
        raise BadInput("key_unreadable", "This is no sealed key.", field="sealed_key") from None
    with write(house.engine) as connection:
        joining.keep_key(connection, practice["practice_id"], sealed)
    return {"server_time": rfc3339(house.clock.now())}


@blueprint.route("/group/meet", methods=["POST"])
@blueprint.arguments(GroupMeetSchema)
@blueprint.response(200, GroupSaidSchema)
@auth.rule(_IN)
def post_meet(body):
    """Say up to where the logs here are the practice's own."""
    house, practice = context(), _practice()
    met = taking.meet(_house(), practice["practice_id"], body["locations"])
    said = words.say(
        house.server_key,
        "met",
        practice_id=practice["practice_id"],
        at=rfc3339(house.clock.now()),
        locations=met,
    )
    return {"said": said}


@blueprint.route("/group/entries", methods=["POST"])
@blueprint.arguments(GroupBatchSchema)
@blueprint.response(200, GroupSaidSchema)
@auth.rule(_IN)
def post_entries(body):
    """Take entries of a log in, and acknowledge them in the group's signed word."""
    practice = _practice()
    return {"said": taking.take(_house(), practice["practice_id"], body)}


@blueprint.route("/group/restore", methods=["POST"])
@blueprint.arguments(GroupCodeSchema)
@blueprint.response(200, GroupSaidSchema)
@auth.rule(auth.anyone(limits.ENROL))
def post_restore(body):
    """Say what a code to restore leads to; no entry of a log."""
    house = context()
    with read(house.engine) as connection:
        offered = giving.offered(connection, body["code"], now=house.clock.now())
    return {"said": words.say(house.server_key, "offered", **offered)}


@blueprint.route("/group/restore/entries", methods=["POST"])
@blueprint.arguments(GroupPageQuerySchema)
@blueprint.response(200, GroupPageSchema)
@auth.rule(_IN)
def post_restore_entries(body):
    """Give a practice entries of its own log back."""
    house, practice = context(), _practice()
    with write(house.engine) as connection:
        return giving.page(
            connection,
            practice,
            secret=body["code"],
            location_id=body["location_id"],
            after=body["after"],
            now=house.clock.now(),
        )


@blueprint.route("/group/restore/done", methods=["POST"])
@blueprint.arguments(GroupCodeSchema)
@blueprint.response(200, GroupTimeSchema)
@auth.rule(_IN)
def post_restore_done(body):
    """Use up the code of a restore that has everything."""
    house, practice = context(), _practice()
    with write(house.engine) as connection:
        giving.done(connection, practice, body["code"], now=house.clock.now())
    return {"server_time": rfc3339(house.clock.now())}


def _practice() -> dict:
    house, headers = context(), request.headers
    names = ("Dosebook-Practice", "Dosebook-At", "Dosebook-Signature")
    practice_id, at, signature = (headers.get(name, "") for name in names)
    if not practice_id:
        raise NotSignedIn("practice_unknown", "This practice is not followed here.")
    with read(house.engine) as connection:
        return joining.known(
            connection,
            house.server_key,
            practice_id=practice_id,
            path=request.path,
            at=at,
            body=request.get_data(cache=True),
            signature=signature,
            now=house.clock.now(),
        )


def _house() -> taking.House:
    house = context()
    return taking.House(
        engine=house.engine,
        clock=house.clock,
        random=house.random,
        server_key=house.server_key,
        projectors=house.projectors,
    )
