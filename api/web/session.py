"""Sign-in of people: a PIN on a tablet, a password at a desk."""

import marshmallow as ma
from flask import Response, jsonify, request

from api.people import certificates, emergencies, places, rights, second_step, tablets, work
from api.people import service as people
from api.storage import documents
from api.storage.engine import read
from api.web import agents, auth, relying_party
from api.web.blueprint import Blueprint, words
from api.web.context import context
from api.web.places import PlaceSchema
from api.web.second_factors import means, passkeys_here

blueprint = Blueprint("session", __name__, description="Who is signed in")


class PinSchema(ma.Schema):
    """Who, and their PIN."""

    person_id = words(required=True, at_most=64)
    pin = words(required=True, at_most=32)


class PasswordSchema(ma.Schema):
    """A sign-in name and its password."""

    sign_in = words(required=True, at_most=200)
    password = words(required=True, at_most=1024)


class PersonTokenSchema(ma.Schema):
    """A token for the Dosebook-Person header, and the tablet's keys to wrap by the PIN.

    ``view_key`` is null for whoever may not read records. As long as ``secrets_changed_at`` stays
    what it was, so did the PIN.
    """

    person_token = ma.fields.String(required=True)
    keep_key = ma.fields.String(required=True)
    view_key = ma.fields.String(required=True, allow_none=True)
    secrets_changed_at = ma.fields.String(required=True)
    expires_at = ma.fields.String(required=True)
    person = ma.fields.Dict(required=True)


class StepSchema(ma.Schema):
    """The second step that is asked for, and the ways to go it."""

    token = ma.fields.String(required=True)
    ways = ma.fields.List(ma.fields.String(), required=True)
    expires_at = ma.fields.String(required=True)
    passkeys_here = ma.fields.Boolean(required=True)


class SignedInSchema(ma.Schema):
    """Who signed in, and where; or, for whoever has a second factor, what is asked next."""

    person = ma.fields.Dict()
    location_id = ma.fields.String()
    expires_at = ma.fields.String()
    step = ma.fields.Nested(StepSchema)


class StepTokenSchema(ma.Schema):
    """The sign-in that goes on."""

    token = words(required=True, at_most=64)


class ShownFactorSchema(StepTokenSchema):
    """A second factor: a code for the ways totp and recovery, a credential for passkey."""

    way = ma.fields.String(
        required=True, validate=ma.validate.OneOf(("totp", "passkey", "recovery"))
    )
    code = words(at_most=32)
    credential = ma.fields.Dict()


class SessionSchema(ma.Schema):
    """Who is signed in at this desk."""

    person = ma.fields.Dict(required=True)
    roles = ma.fields.List(ma.fields.String(), required=True)
    rights = ma.fields.List(ma.fields.String(), required=True)
    # What an emergency opens besides, and until when.
    emergency = ma.fields.Dict(required=True, allow_none=True)
    location = ma.fields.Dict(required=True)
    # Where one works, of which this is one, except in an emergency.
    locations = ma.fields.List(ma.fields.Nested(PlaceSchema), required=True)
    # Whether the practice has others, which an emergency may lead to.
    others = ma.fields.Boolean(required=True)
    expires_at = ma.fields.String(required=True)


@blueprint.route("/session/pin", methods=["POST"])
@blueprint.arguments(PinSchema)
@blueprint.response(200, PersonTokenSchema)
@auth.rule(auth.TABLET_SIGN_IN)
def post_pin(body):
    """Sign in on a tablet with a PIN."""
    house, tablet = context(), auth.caller()
    signed_in = people.sign_in_with_pin(
        house.engine,
        location_id=tablet.location_id,
        tablet_id=tablet.tablet_id,
        person_id=body["person_id"],
        pin=body["pin"],
        clock=house.clock,
        random=house.random,
    )
    with read(house.engine) as connection:
        roles = work.roles_at(
            connection, tablet.location_id, signed_in["person"], house.clock.now()
        )
    reads = rights.allowed(roles, "record.read")
    # Enrolled again, a tablet still reads what it sealed before.
    first_id = certificates.first_id(tablet.tablet["certificate"], tablet.tablet_id)
    mine = (house.server_key, first_id)
    return {
        **signed_in,
        "keep_key": tablets.keep_key(*mine),
        "view_key": tablets.view_key(*mine) if reads else None,
    }


@blueprint.route("/session/password", methods=["POST"])
@blueprint.arguments(PasswordSchema)
@blueprint.response(200, SignedInSchema)
@auth.rule(auth.DESK_SIGN_IN)
def post_password(body):
    """Sign in at a desk; the answer sets the session's cookie, or asks for the second factor."""
    house = context()
    known = people.sign_in_with_password(
        house.engine,
        sign_in=body["sign_in"],
        password=body["password"],
        clock=house.clock,
        random=house.random,
        agent=agents.of_request(),
    )
    if "step" in known:
        return {"step": {**known["step"], **passkeys_here()}}
    return _opened(known)


@blueprint.route("/session/factor/passkey", methods=["POST"])
@blueprint.arguments(StepTokenSchema)
@blueprint.response(200)
@auth.rule(auth.DESK_SIGN_IN)
def post_factor_passkey(body):
    """Ask for what a passkey is to sign, for the browser's `credentials.get`."""
    house = context()
    return second_step.passkey_options(
        house.engine,
        relying_party.here(),
        token=body["token"],
        **means(),
    )


@blueprint.route("/session/factor", methods=["POST"])
@blueprint.arguments(ShownFactorSchema)
@blueprint.response(200, SignedInSchema)
@auth.rule(auth.DESK_SIGN_IN)
def post_factor(body):
    """Show the second factor; the answer sets the session's cookie."""
    house = context()
    return _opened(
        second_step.finish(
            house.engine,
            house.server_key,
            relying_party.here(),
            token=body["token"],
            way=body["way"],
            code=body.get("code"),
            credential=body.get("credential"),
            agent=agents.of_request(),
            **means(),
        )
    )


def _opened(known):
    response = jsonify({name: known[name] for name in ("person", "location_id", "expires_at")})
    auth.set_cookie(response, known["token"])
    return response


@blueprint.route("/session", methods=["GET"])
@blueprint.response(200, SessionSchema)
@auth.rule(auth.DESK)
def get_session():
    """Say who is signed in at this desk."""
    house, who = context(), auth.caller()
    with read(house.engine) as connection:
        location = documents.get(connection, who.location_id, "location", who.location_id)
        opened = [
            {name: one[name] for name in ("rights", "until")}
            for one in emergencies.open_now(
                connection, who.location_id, who.person_id, house.clock.now()
            )
        ]
    held = rights.rights_of(who.roles)
    return {
        "person": who.person,
        "roles": list(who.roles),
        "rights": sorted({*held, *(each for one in opened for each in one["rights"])}),
        "emergency": opened[0] if opened else None,
        "location": location,
        "locations": places.places_of(house.engine, who.person_id, house.clock.now()),
        "others": bool(places.others(house.engine, who.person_id)),
        "expires_at": who.expires_at,
    }


@blueprint.route("/session", methods=["DELETE"])
@blueprint.response(204)
@auth.rule(auth.DESK)
def delete_session():
    """Sign out at this desk."""
    house = context()
    people.sign_out(house.engine, token=request.cookies[auth.cookie_name()], clock=house.clock)
    response = Response(status=204)
    auth.clear_cookie(response)
    return response
