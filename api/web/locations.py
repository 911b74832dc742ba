"""The locations of the practice that one looks after, and opening another one."""

import marshmallow as ma

from api.people import elsewhere
from api.storage.engine import EVERYWHERE, read
from api.sync import locations
from api.web import auth, idempotency
from api.web.blueprint import Blueprint, words
from api.web.context import context

blueprint = Blueprint("locations", __name__, description="Locations of the practice")

_MAY = auth.desk("location.write")


class LocationSchema(ma.Schema):
    """A location, and since when it has a log of its own."""

    location_id = ma.fields.String(required=True)
    name = ma.fields.String(required=True, allow_none=True)
    zone = ma.fields.String(required=True, allow_none=True)
    opened_at = ma.fields.String(required=True)


class LocationsSchema(ma.Schema):
    """Those whose administrator one is."""

    locations = ma.fields.List(ma.fields.Nested(LocationSchema), required=True)


class NewLocationSchema(ma.Schema):
    """What it is called, and which time zone its clocks show."""

    name = words(required=True, at_most=200)
    zone = words(required=True, at_most=64)


@blueprint.route("/locations", methods=["GET"])
@blueprint.response(200, LocationsSchema)
@auth.rule(_MAY)
def get_locations():
    """List the locations whose administrator one is."""
    return {"locations": _mine()}


@blueprint.route("/locations", methods=["POST"], parameters=[idempotency.PARAMETER])
@blueprint.arguments(NewLocationSchema)
@blueprint.response(201, LocationSchema)
@auth.rule(_MAY)
def post_location(body):
    """Open a location; whoever opens it is its first administrator. The same key opens one."""
    house, who = context(), auth.caller()
    opened = locations.open_another(
        house.engine,
        house.clock,
        house.server_key,
        here=who.location_id,
        opener=who.person,
        name=body["name"],
        zone=body["zone"],
        idempotency_key=idempotency.key(),
        projectors=house.projectors,
        random=house.random,
    )
    [made] = [one for one in _mine() if one["location_id"] == opened]
    return made


def _mine() -> list[dict]:
    house = context()
    with read(house.engine, locations=EVERYWHERE) as connection:
        return elsewhere.kept_by(connection, auth.caller().person_id, house.clock.now())
