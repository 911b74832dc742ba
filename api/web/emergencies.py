"""Opening patients' records in an emergency to somebody whose role does not, here or elsewhere."""

import marshmallow as ma
from flask import jsonify, request

from api.clock import rfc3339
from api.errors import Conflict, NotFound
from api.ids import new_id
from api.people import emergencies, places, rights, work
from api.storage import documents
from api.storage.engine import read
from api.storage.reach import within
from api.sync import desk
from api.web import agents, auth, idempotency
from api.web.blueprint import Blueprint, words
from api.web.context import context

blueprint = Blueprint("emergencies", __name__, description="Access in an emergency")


class EmergencySchema(ma.Schema):
    """Why, and whether something has to be recorded as well."""

    reason = words(required=True, at_most=1000)
    write = ma.fields.Boolean(load_default=False)


class OpenedSchema(ma.Schema):
    """What is open now, and until when."""

    emergency_id = ma.fields.String(required=True)
    rights = ma.fields.List(ma.fields.String(), required=True)
    until = ma.fields.String(required=True)


class OtherPlaceSchema(ma.Schema):
    """A location of the practice at which one does not work."""

    location_id = ma.fields.String(required=True)
    name = ma.fields.String(required=True, allow_none=True)


class OtherPlacesSchema(ma.Schema):
    """All of them: whoever needs a record there has to be able to say where."""

    locations = ma.fields.List(ma.fields.Nested(OtherPlaceSchema), required=True)


class EmergencyElsewhereSchema(ma.Schema):
    """Where, and why."""

    location_id = words(required=True, at_most=64)
    reason = words(required=True, at_most=1000)


@blueprint.route("/emergencies", methods=["POST"], parameters=[idempotency.PARAMETER])
@blueprint.arguments(EmergencySchema)
@blueprint.response(201, OpenedSchema)
@auth.rule(auth.desk("emergency.open"))
def post_emergency(body):
    """Open records for an hour; whoever answers for the practice is told at once."""
    who = auth.caller()
    asked = emergencies.WRITE if body["write"] else emergencies.READ
    if all(rights.allowed(who.roles, each) for each in asked):
        raise Conflict("emergency_needless", "Your role includes this already.")
    return _open(who.location_id, asked, {"reason": body["reason"]})


@blueprint.route("/emergencies/locations", methods=["GET"])
@blueprint.response(200, OtherPlacesSchema)
@auth.rule(auth.desk("emergency.elsewhere"))
def get_other_locations():
    """Say at which locations of the practice one does not work."""
    house, who = context(), auth.caller()
    return {"locations": places.others(house.engine, who.person_id)}


@blueprint.route("/emergencies/elsewhere", methods=["POST"], parameters=[idempotency.PARAMETER])
@blueprint.arguments(EmergencyElsewhereSchema)
@blueprint.response(201, OpenedSchema)
@auth.rule(auth.desk("emergency.elsewhere"))
def post_emergency_elsewhere(body):
    """Go, for an hour, to a location where one does not work, and read its records.

    The session there takes the place of this one; nothing but reading is open to it.
    """
    house, who, there = context(), auth.caller(), body["location_id"]
    if all(one["location_id"] != there for one in places.others(house.engine, who.person_id)):
        if there in {one["location_id"] for one in _own_places()}:
            raise Conflict("works_there", "You work there: go there, and open it there.")
        raise NotFound("location_unknown", "There is no such location.")
    with read(house.engine) as connection:
        here = documents.get(connection, who.location_id, "location", who.location_id) or {}
    who_it_is = {
        "display_name": who.person["display_name"],
        "initials": who.person["initials"],
        "works_at": here.get("name"),
    }
    with within(there):
        opened = _open(there, emergencies.READ, {"reason": body["reason"], **who_it_is})
    token = places.change_over(
        house.engine,
        person_id=who.person_id,
        from_id=who.location_id,
        to_id=there,
        token=request.cookies[auth.cookie_name()],
        expires_at=who.expires_at,
        clock=house.clock,
        random=house.random,
        agent=agents.of_request(),
        remember=False,
    )
    response = jsonify(opened)
    response.status_code = 201
    auth.set_cookie(response, token)
    return response


def _own_places() -> list[dict]:
    return places.places_of(context().engine, auth.caller().person_id, context().clock.now())


def _open(location_id: str, asked: tuple[str, ...], said: dict) -> dict:
    """Append that it was opened at a location; what is open still is not opened for longer."""
    house, who = context(), auth.caller()
    key, now = idempotency.key(), house.clock.now()
    emergency_id = new_id(now, house.random)
    with read(house.engine) as connection:
        zone = work.zone_of(connection, location_id).key
        still = [
            one
            for one in emergencies.open_now(connection, location_id, who.person_id, now)
            if set(asked) <= set(one["rights"])
        ]
    if still:
        return {name: still[0][name] for name in ("emergency_id", "rights", "until")}
    opened = {"rights": list(asked), "until": rfc3339(now + emergencies.LIFE)}
    desk.append_as_desk(
        house.engine,
        house.clock,
        house.server_key,
        location_id=location_id,
        actor_id=who.person_id,
        type="emergency.opened",
        entity_id=emergency_id,
        payload={"person_id": who.person_id, **said, **opened},
        idempotency_key=key,
        projectors=house.projectors,
        zone=zone,
        random=house.random,
    )
    return {"emergency_id": emergency_id, **opened}
