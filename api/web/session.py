"""Sign-in of people: a PIN on a tablet, a password at a desk."""

import marshmallow as ma
from flask import Response, jsonify, request

from api.people import certificates, rights, tablets, work
from api.people import service as people
from api.storage import documents
from api.storage.engine import read
from api.web import auth
from api.web.blueprint import Blueprint, words
from api.web.context import context

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


class SignedInSchema(ma.Schema):
    """Who signed in, and where."""

    person = ma.fields.Dict(required=True)
    location_id = ma.fields.String(required=True)
    expires_at = ma.fields.String(required=True)


class SessionSchema(ma.Schema):
    """Who is signed in at this desk."""

    person = ma.fields.Dict(required=True)
    roles = ma.fields.List(ma.fields.String(), required=True)
    rights = ma.fields.List(ma.fields.String(), required=True)
    location = ma.fields.Dict(required=True)
    expires_at = ma.fields.String(required=True)


@blueprint.route("/session/pin", methods=["POST"])
@blueprint.arguments(PinSchema)
@blueprint.response(200, PersonTokenSchema)
@auth.rule(auth.TABLET)
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
    """Sign in at a desk; the answer sets the session's cookie."""
    house = context()
    known = people.sign_in_with_password(
        house.engine,
        sign_in=body["sign_in"],
        password=body["password"],
        clock=house.clock,
        random=house.random,
    )
    response = jsonify({name: known[name] for name in ("person", "location_id", "expires_at")})
    auth.set_cookie(response, known["token"])
    return response


@blueprint.route("/session", methods=["GET"])
@blueprint.response(200, SessionSchema)
@auth.rule(auth.DESK)
def get_session():
    """Say who is signed in at this desk."""
    who = auth.caller()
    with read(context().engine) as connection:
        location = documents.get(connection, who.location_id, "location", who.location_id)
    return {
        "person": who.person,
        "roles": list(who.roles),
        "rights": rights.rights_of(who.roles),
        "location": location,
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
