"""Working at one location of the practice or another, at a desk."""

import marshmallow as ma
from flask import jsonify, request

from api.people import places
from api.web import agents, auth
from api.web.blueprint import Blueprint, words
from api.web.context import context

blueprint = Blueprint("places", __name__, description="Locations where one works")


class PlaceSchema(ma.Schema):
    """A location and the roles that one has there."""

    location_id = ma.fields.String(required=True)
    name = ma.fields.String(required=True, allow_none=True)
    roles = ma.fields.List(ma.fields.String(), required=True)


class PlacesSchema(ma.Schema):
    """All of them, and which one it is now."""

    here = ma.fields.String(required=True)
    locations = ma.fields.List(ma.fields.Nested(PlaceSchema), required=True)


class ChosenSchema(ma.Schema):
    """Where to go on."""

    location_id = words(required=True, at_most=64)


@blueprint.route("/session/locations", methods=["GET"])
@blueprint.response(200, PlacesSchema)
@auth.rule(auth.DESK)
def get_own_locations():
    """Say at which locations one works."""
    house, who = context(), auth.caller()
    found = places.places_of(house.engine, who.person_id, house.clock.now())
    return {"here": who.location_id, "locations": found}


@blueprint.route("/session/location", methods=["POST"])
@blueprint.arguments(ChosenSchema)
@blueprint.response(200, PlacesSchema)
@auth.rule(auth.DESK)
def post_own_location(body):
    """Go on at another location; the session there takes the place of this one."""
    house, who = context(), auth.caller()
    token = places.go_to(
        house.engine,
        person_id=who.person_id,
        from_id=who.location_id,
        to_id=body["location_id"],
        token=request.cookies[auth.cookie_name()],
        expires_at=who.expires_at,
        clock=house.clock,
        random=house.random,
        agent=agents.of_request(),
    )
    found = places.places_of(house.engine, who.person_id, house.clock.now())
    response = jsonify({"here": body["location_id"], "locations": found})
    auth.set_cookie(response, token)
    return response
