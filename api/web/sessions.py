"""Who is signed in where: one's own sessions, and all of a location's for its administrator."""

import marshmallow as ma
from flask import Response

from api.people import sessions
from api.storage.engine import read, write
from api.web import auth
from api.web.blueprint import Blueprint
from api.web.context import context

blueprint = Blueprint("sessions", __name__, description="Who is signed in where")


class OpenSessionSchema(ma.Schema):
    """One session: at a desk in some browser, or on a tablet."""

    session_id = ma.fields.String(required=True)
    person_id = ma.fields.String(required=True)
    kind = ma.fields.String(required=True)
    tablet_label = ma.fields.String(required=True, allow_none=True)
    agent = ma.fields.String(required=True, allow_none=True)
    began_at = ma.fields.String(required=True)
    used_at = ma.fields.String(required=True)
    expires_at = ma.fields.String(required=True)
    here = ma.fields.Boolean(required=True)


class OpenSessionsSchema(ma.Schema):
    """Sessions that are open now, used last first."""

    sessions = ma.fields.List(ma.fields.Nested(OpenSessionSchema), required=True)


@blueprint.route("/sessions", methods=["GET"])
@blueprint.response(200, OpenSessionsSchema)
@auth.rule(auth.PERSON)
def get_own():
    """List one's own sessions."""
    house, who = context(), auth.caller()
    with read(house.engine) as connection:
        found = sessions.of_person(
            connection,
            who.location_id,
            who.person_id,
            here=auth.session_token(),
            now=house.clock.now(),
        )
    return {"sessions": found}


@blueprint.route("/sessions", methods=["DELETE"])
@blueprint.response(204)
@auth.rule(auth.PERSON)
def delete_others():
    """End all of one's own sessions but the one that asks."""
    house, who = context(), auth.caller()
    with write(house.engine) as connection:
        sessions.end_others(
            connection,
            location_id=who.location_id,
            person_id=who.person_id,
            here=auth.session_token(),
            now=house.clock.now(),
        )
    return Response(status=204)


@blueprint.route("/sessions/<session_id>", methods=["DELETE"])
@blueprint.response(204)
@auth.rule(auth.PERSON)
def delete_own(session_id):
    """End one of one's own sessions."""
    return _end(session_id, person_id=auth.caller().person_id)


@blueprint.route("/location/sessions", methods=["GET"])
@blueprint.response(200, OpenSessionsSchema)
@auth.rule(auth.desk("session.end"))
def get_location():
    """List everybody's sessions at this location."""
    house, who = context(), auth.caller()
    with read(house.engine) as connection:
        found = sessions.of_location(
            connection, who.location_id, here=auth.session_token(), now=house.clock.now()
        )
    return {"sessions": found}


@blueprint.route("/location/sessions/<session_id>", methods=["DELETE"])
@blueprint.response(204)
@auth.rule(auth.desk("session.end"))
def delete_location(session_id):
    """End anybody's session at this location."""
    return _end(session_id, person_id=None)


def _end(session_id: str, *, person_id: str | None) -> Response:
    house, who = context(), auth.caller()
    with write(house.engine) as connection:
        sessions.end(
            connection,
            location_id=who.location_id,
            session_id=session_id,
            person_id=person_id,
            actor_id=who.person_id,
            now=house.clock.now(),
        )
    return Response(status=204)
