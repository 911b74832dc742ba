"""Tablets: enrol with a code, prove the key, get a token."""

import marshmallow as ma

from api.clock import rfc3339
from api.people import tablets
from api.storage import documents, readers
from api.storage.engine import write
from api.sync import desk
from api.web import auth
from api.web.blueprint import Blueprint, words
from api.web.context import context

blueprint = Blueprint("tablet", __name__, description="Enrolment and tokens of tablets")


class EnrolSchema(ma.Schema):
    """What a new tablet says about itself."""

    code = words(required=True, at_most=64)
    public_key = words(required=True, at_most=400)
    label = words(required=True, at_most=80)


class CertificateSchema(ma.Schema):
    """What the server vouches for, signed with its key."""

    text = ma.fields.String(required=True)
    signature = ma.fields.String(required=True)


class EnrolledSchema(ma.Schema):
    """What an enrolled tablet needs to know."""

    tablet_id = ma.fields.String(required=True)
    location_id = ma.fields.String(required=True)
    location_name = ma.fields.String(required=True)
    practice_name = ma.fields.String(required=True)
    zone = ma.fields.String(required=True)
    epoch = ma.fields.String(required=True)
    server_public_key = ma.fields.String(required=True)
    certificate = ma.fields.Nested(CertificateSchema, required=True)
    keep_key = ma.fields.String(required=True)
    server_time = ma.fields.String(required=True)


class ChallengeSchema(ma.Schema):
    """Which tablet wants to prove its key."""

    tablet_id = words(required=True, at_most=64)


class NonceSchema(ma.Schema):
    """What the tablet has to sign."""

    nonce = ma.fields.String(required=True)


class ProofSchema(ma.Schema):
    """The nonce, signed by the tablet's key."""

    tablet_id = words(required=True, at_most=64)
    nonce = words(required=True, at_most=200)
    signature = words(required=True, at_most=200)


class TokenSchema(ma.Schema):
    """A token for the Authorization header."""

    token = ma.fields.String(required=True)
    expires_at = ma.fields.String(required=True)
    server_time = ma.fields.String(required=True)


@blueprint.route("/tablet/enrol", methods=["POST"])
@blueprint.arguments(EnrolSchema)
@blueprint.response(201, EnrolledSchema)
@auth.rule(auth.ANYONE)
def post_enrol(body):
    """Enrol a tablet with a code shown by an administrator."""
    house = context()
    # The tablet's row, the code's end and the event are one transaction: none without the others.
    with write(house.engine) as connection:
        enrolled = tablets.enrol(
            connection,
            code=body["code"],
            public_key=body["public_key"],
            label=body["label"],
            server_key=house.server_key,
            clock=house.clock,
            random=house.random,
        )
        location_id = enrolled["location_id"]
        location = documents.get(connection, location_id, "location", location_id)
        desk.append_in(
            connection,
            house.clock,
            house.server_key,
            location_id=location_id,
            actor_id=enrolled["enrolled_by"],
            type="tablet.enrolled",
            entity_id=enrolled["tablet_id"],
            payload={"label": enrolled["label"]},
            projectors=house.projectors,
            zone=location["zone"],
            random=house.random,
        )
        epoch = readers.location_row(connection, location_id)["epoch"]
    return {
        "tablet_id": enrolled["tablet_id"],
        "location_id": location_id,
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
@auth.rule(auth.ANYONE)
def post_challenge(body):
    """Get a nonce to sign; an unknown tablet gets one too, so that ids cannot be tried out."""
    house = context()
    return tablets.challenge(
        house.engine, tablet_id=body["tablet_id"], clock=house.clock, random=house.random
    )


@blueprint.route("/tablet/token", methods=["POST"])
@blueprint.arguments(ProofSchema)
@blueprint.response(200, TokenSchema)
@auth.rule(auth.ANYONE)
def post_token(body):
    """Exchange a signed nonce for a token."""
    house = context()
    given = tablets.give_token(
        house.engine,
        tablet_id=body["tablet_id"],
        nonce=body["nonce"],
        signature=body["signature"],
        clock=house.clock,
        random=house.random,
    )
    return {**given, "server_time": rfc3339(house.clock.now())}
