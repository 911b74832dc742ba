"""Who is signed in where: one's own sessions, and all of a location's for its administrator."""

import marshmallow as ma
from flask import Response

from api.errors import NotFound
from api.people import emergencies, homes, sessions
from api.storage import documents
from api.storage.engine import Connection, read, write
from api.web import auth
from api.web.blueprint import Blueprint
from api.web.context import context

blueprint = Blueprint("sessions", __name__, description="Who is signed in where")


class OpenSessionSchema(ma.Schema):
    """One session: at a desk in some browser, or on a tablet."""

    session_id = ma.fields.String(required=True)
    person_id = ma.fields.String(required=True)
    # Of others: what they are called, and of a guest in an emergency where they work.
    person_name = ma.fields.String(allow_none=True)
    works_at = ma.fields.String(allow_none=True)
    kind = ma.fields.String(required=True)
    tablet_label = ma.fields.String(required=True, allow_none=True)
    agent = ma.fields.String(required=True, allow_none=True)
    # Of one's own at another location of the practice: which one.
    location_name = ma.fields.String()
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
    """List one's own sessions; at a desk also those at one's other locations."""
    house, who = context(), auth.caller()
    found = []
    with read(house.engine, locations=_where()) as connection:
        for there in _where():
            location = documents.get(connection, there, "location", there) or {}
            away = {} if there == who.location_id else {"location_name": location.get("name")}
            mine = sessions.of_person(
                connection,
                there,
                who.person_id,
                here=auth.session_token(),
                now=house.clock.now(),
            )
            found += [{**one, **away} for one in mine]
    return {"sessions": sorted(found, key=lambda one: one["used_at"], reverse=True)}


@blueprint.route("/sessions", methods=["DELETE"])
@blueprint.response(204)
@auth.rule(auth.PERSON)
def delete_others():
    """End all of one's own sessions but the one that asks."""
    house, who = context(), auth.caller()
    with write(house.engine, locations=_where()) as connection:
        for there in _where():
            sessions.end_others(
                connection,
                location_id=there,
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
    house, who = context(), auth.caller()
    *others, last = _where()
    with write(house.engine, locations=(*others, last)) as connection:
        for there in (*others, last):
            try:
                sessions.end(
                    connection,
                    location_id=there,
                    session_id=session_id,
                    person_id=who.person_id,
                    actor_id=who.person_id,
                    now=house.clock.now(),
                )
                break
            except NotFound:
                if there == last:
                    raise
    return Response(status=204)


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
        named = {one: _called(connection, one) for one in {row["person_id"] for row in found}}
    return {"sessions": [{**one, **named[one["person_id"]]} for one in found]}


def _called(connection: Connection, person_id: str) -> dict[str, str | None]:
    """Return what somebody here is called: one of this location, or a guest in an emergency."""
    location_id = auth.caller().location_id
    known = documents.get(connection, location_id, "person", person_id)
    if known is None:
        known = emergencies.called(connection, location_id, person_id)
    return {"person_name": known.get("display_name"), "works_at": known.get("works_at")}


@blueprint.route("/location/sessions/<session_id>", methods=["DELETE"])
@blueprint.response(204)
@auth.rule(auth.desk("session.end"))
def delete_location(session_id):
    """End anybody's session at this location."""
    house, who = context(), auth.caller()
    with write(house.engine) as connection:
        sessions.end(
            connection,
            location_id=who.location_id,
            session_id=session_id,
            person_id=None,
            actor_id=who.person_id,
            now=house.clock.now(),
        )
    return Response(status=204)


def _where() -> tuple[str, ...]:
    """Return where the caller's own sessions may be; a tablet shows those of its location."""
    who = auth.caller()
    if who.way != "desk":
        return (who.location_id,)
    return homes.home_of(context().engine, who.person_id, here=who.location_id).reach
