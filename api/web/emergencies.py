"""POST emergencies: opening patients' records to somebody whose role does not."""

import marshmallow as ma

from api.clock import rfc3339
from api.errors import Conflict
from api.ids import new_id
from api.people import emergencies, rights, work
from api.storage.engine import read
from api.sync import desk
from api.web import auth, idempotency
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


@blueprint.route("/emergencies", methods=["POST"], parameters=[idempotency.PARAMETER])
@blueprint.arguments(EmergencySchema)
@blueprint.response(201, OpenedSchema)
@auth.rule(auth.desk("emergency.open"))
def post_emergency(body):
    """Open records for an hour; whoever answers for the practice is told at once."""
    house, who = context(), auth.caller()
    key, now = idempotency.key(), house.clock.now()
    asked = emergencies.WRITE if body["write"] else emergencies.READ
    if all(rights.allowed(who.roles, each) for each in asked):
        raise Conflict("emergency_needless", "Your role includes this already.")
    emergency_id = new_id(now, house.random)
    with read(house.engine) as connection:
        zone = work.zone_of(connection, who.location_id).key
        still = [
            one
            for one in emergencies.open_now(connection, who.location_id, who.person_id, now)
            if set(asked) <= set(one["rights"])
        ]
    if still:
        # Asked twice, it is not opened for longer.
        return {name: still[0][name] for name in ("emergency_id", "rights", "until")}
    opened = {"rights": list(asked), "until": rfc3339(now + emergencies.LIFE)}
    desk.append_as_desk(
        house.engine,
        house.clock,
        house.server_key,
        location_id=who.location_id,
        actor_id=who.person_id,
        type="emergency.opened",
        entity_id=emergency_id,
        payload={"person_id": who.person_id, "reason": body["reason"], **opened},
        idempotency_key=key,
        projectors=house.projectors,
        zone=zone,
        random=house.random,
    )
    return {"emergency_id": emergency_id, **opened}
