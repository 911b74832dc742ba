"""Tablets: enrol with a code, prove the key, get a token."""

import marshmallow as ma

from api.clock import rfc3339
from api.people import tablet_tokens, tablets
from api.storage import documents, readers
from api.storage.engine import write
from api.sync import house_tablets
from api.web import auth, limits
from api.web.blueprint import Blueprint, words
from api.web.context import context

blueprint = Blueprint("tablet", __name__, description="Enrolment and tokens of tablets")


class CertificateSchema(ma.Schema):
    """What the server vouches for, signed with its key."""

    text = words(required=True, at_most=2000)
    signature = words(required=True, at_most=200)


class EarlierSchema(ma.Schema):
    """The enrolment that this one goes on from, and the number its own events begin with."""

    certificate = ma.fields.Nested(CertificateSchema, required=True)
    next_seq = ma.fields.Integer(
        required=True, strict=True, validate=ma.validate.Range(1, 2**53 - 1)
    )


class EnrolSchema(ma.Schema):
    """What a new tablet says about itself."""

    code = words(required=True, at_most=64)
    public_key = words(required=True, at_most=400)
    label = words(required=True, at_most=80)
    before = ma.fields.Nested(EarlierSchema, allow_none=True, load_default=None)


class EnrolledSchema(ma.Schema):
    """What an enrolled tablet needs to know."""

    tablet_id = ma.fields.String(required=True)
    location_id = ma.fields.String(required=True)
    # As it was asked for, with a number where another tablet has that name.
    label = ma.fields.String(required=True)
    location_name = ma.fields.String(required=True)
    practice_name = ma.fields.String(required=True)
    zone = ma.fields.String(required=True)
    epoch = ma.fields.String(required=True)
    server_public_key = ma.fields.String(required=True)
    certificate = ma.fields.Nested(CertificateSchema, required=True)
    keep_key = ma.fields.String(required=True)
    server_time = ma.fields.String(required=True)


class ChallengeSchema(ma.Schema):
    """Which tablet wants to prove its key; its certificate, where the server has forgotten it."""

    tablet_id = words(required=True, at_most=64)
    certificate = ma.fields.Nested(CertificateSchema, load_default=None)


class NonceSchema(ma.Schema):
    """What the tablet has to sign."""

    nonce = ma.fields.String(required=True)


class ProofSchema(ma.Schema):
    """The nonce, signed by the tablet's key."""

    tablet_id = words(required=True, at_most=64)
    nonce = words(required=True, at_most=200)
    signature = words(required=True, at_most=200)
    certificate = ma.fields.Nested(CertificateSchema, load_default=None)
    label = words(at_most=80)


class TokenSchema(ma.Schema):
    """A token for the Authorization header."""

    token = ma.fields.String(required=True)
    expires_at = ma.fields.String(required=True)
    server_time = ma.fields.String(required=True)


@blueprint.route("/tablet/enrol", methods=["POST"])
@blueprint.arguments(EnrolSchema)
@blueprint.response(201, EnrolledSchema)
@auth.rule(auth.anyone(limits.ENROL))
def post_enrol(body):
    """Enrol a tablet with a code shown by an administrator."""
    house = context()
    # The tablet's row, the code's end and the event are one transaction: none without the others.
    before = body["before"] or {}
    with write(house.engine) as connection:
        enrolled = tablets.enrol(
            connection,
            code=body["code"],
            public_key=body["public_key"],
            label=body["label"],
            server_key=house.server_key,
            clock=house.clock,
            random=house.random,
            before=before.get("certificate"),
            first_seq=before.get("next_seq", 1),
        )
        location_id = enrolled["location_id"]
        location = documents.get(connection, location_id, "location", location_id)
        doing = house_tablets.Doing(
            connection=connection,
            clock=house.clock,
            server_key=house.server_key,
            projectors=house.projectors,
            random=house.random,
            location_id=location_id,
            actor_id=enrolled["enrolled_by"],
        )
        house_tablets.enrol(
            doing,
            tablet_id=enrolled["tablet_id"],
            label=enrolled["label"],
            replaces=enrolled["replaces"],
            first_seq=before.get("next_seq", 1),
        )
        epoch = readers.location_row(connection, location_id)["epoch"]
    return {
        "tablet_id": enrolled["tablet_id"],
        "location_id": location_id,
        "label": enrolled["label"],
        "location_name": location["name"],
        "practice_name": location["practice_name"],
        "zone": location["zone"],
        "epoch": epoch,
        "server_public_key": enrolled["server_public_key"],
        "certificate": enrolled["certificate"],
        "keep_key": enrolled["keep_key"],
        "server_time": rfc3339(house.clock.now()),
    }


@blueprint.route("/tablet/challenge", methods=["POST"])
@blueprint.arguments(ChallengeSchema)
@blueprint.response(200, NonceSchema)
@auth.rule(auth.anyone(limits.PROOF))
def post_challenge(body):
    """Get a nonce to sign; an unknown tablet gets one too, so that ids cannot be tried out."""
    house = context()
    return tablet_tokens.challenge(
        house.engine,
        tablet_id=body["tablet_id"],
        certificate=body["certificate"],
        server_key=house.server_key,
        clock=house.clock,
        random=house.random,
    )


@blueprint.route("/tablet/token", methods=["POST"])
@blueprint.arguments(ProofSchema)
@blueprint.response(200, TokenSchema)
@auth.rule(auth.anyone(limits.PROOF))
def post_token(body):
    """Exchange a signed nonce for a token."""
    house = context()
    given = tablet_tokens.give_token(
        house.engine,
        tablet_id=body["tablet_id"],
        nonce=body["nonce"],
        signature=body["signature"],
        certificate=body["certificate"],
        label=body.get("label"),
        server_key=house.server_key,
        clock=house.clock,
        random=house.random,
    )
    return {**given, "server_time": rfc3339(house.clock.now())}
