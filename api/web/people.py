"""People as their administrator sees them: what was said of each, and by whom."""

import marshmallow as ma

from api.people import history
from api.storage.engine import write
from api.web import auth
from api.web.blueprint import Blueprint
from api.web.context import context

blueprint = Blueprint("people", __name__, description="Who works here")


class PersonHistorySchema(ma.Schema):
    """One person, and every change of what they are here, the latest first."""

    person = ma.fields.Dict(required=True)
    history = ma.fields.List(ma.fields.Dict(), required=True)


@blueprint.route("/people/<person_id>", methods=["GET"])
@blueprint.response(200, PersonHistorySchema)
@auth.rule(auth.desk("people.read"))
def get_person(person_id):
    """Read what was said of a person of the caller's location."""
    house, who = context(), auth.caller()
    with write(house.engine) as connection:
        return history.known_with_history(
            connection,
            location_id=who.location_id,
            person_id=person_id,
            actor_id=who.person_id,
            now=house.clock.now(),
        )
