"""Registering here who already works at another location that one looks after as well."""

import marshmallow as ma

from api.errors import Conflict
from api.ids import new_id
from api.people import changes, elsewhere, work
from api.people.work import working_here
from api.storage.engine import EVERYWHERE, read
from api.sync import desk_many
from api.web import auth, idempotency
from api.web.blueprint import Blueprint, words
from api.web.context import context
from api.web.places import PlaceSchema

blueprint = Blueprint("people-elsewhere", __name__, description="People of one's other locations")

# Of a location that one does not look after as an administrator, nobody is found or taken.
_MAY = auth.desk("location.write")


class KnownElsewhereSchema(ma.Schema):
    """Somebody who works at another location, and what would come along."""

    person_id = ma.fields.String(required=True)
    display_name = ma.fields.String(required=True)
    initials = ma.fields.String(required=True)
    credential = ma.fields.String(required=True, allow_none=True)
    credentials = ma.fields.Integer(required=True)
    locations = ma.fields.List(ma.fields.Nested(PlaceSchema), required=True)


class PeopleElsewhereSchema(ma.Schema):
    """All of them, by name."""

    people = ma.fields.List(ma.fields.Nested(KnownElsewhereSchema), required=True)


class JoinSchema(ma.Schema):
    """Who the person is to be here, and whether their credentials are noted here too."""

    display_name = words(required=True, at_most=200)
    initials = words(required=True, at_most=8)
    roles = ma.fields.List(words(required=True, at_most=64), required=True)
    credential = ma.fields.String(
        load_default=None, allow_none=True, validate=ma.validate.Length(min=1, max=200)
    )
    auditor_until = ma.fields.Date(load_default=None, allow_none=True)
    with_credentials = ma.fields.Boolean(load_default=False)


class JoinedSchema(ma.Schema):
    """Who works here from now on, under the id they have elsewhere."""

    person_id = ma.fields.String(required=True)


@blueprint.route("/people-elsewhere", methods=["GET"])
@blueprint.response(200, PeopleElsewhereSchema)
@auth.rule(_MAY)
def get_people_elsewhere():
    """List who works at one's other locations and not here."""
    house, who = context(), auth.caller()
    with read(house.engine, locations=EVERYWHERE) as connection:
        found = elsewhere.people(
            connection, here=who.location_id, actor_id=who.person_id, now=house.clock.now()
        )
    return {"people": found}


@blueprint.route(
    "/people-elsewhere/<person_id>", methods=["POST"], parameters=[idempotency.PARAMETER]
)
@blueprint.arguments(JoinSchema)
@blueprint.response(201, JoinedSchema)
@auth.rule(_MAY)
def post_person_elsewhere(body, person_id):
    """Register somebody of another location here; the same key does it once."""
    house, who = context(), auth.caller()
    now, key = house.clock.now(), idempotency.key()
    with read(house.engine, locations=EVERYWHERE) as connection:
        known = elsewhere.document_of(
            connection,
            here=who.location_id,
            actor_id=who.person_id,
            person_id=person_id,
            now=now,
        )
        zone = work.zone_of(connection, who.location_id).key
    until = body["auditor_until"]
    said = {
        **{name: body[name] for name in ("display_name", "initials", "roles", "credential")},
        "licence_expires": None,
        "auditor_until": until and until.isoformat(),
    }
    wanted = elsewhere.credentials_of(known) if body["with_credentials"] else []

    def decide(connection):
        before = working_here(connection, who.location_id, person_id)
        if before is not None:
            raise Conflict("works_here", "This person works here already.")
        person = work.person_document(connection, who.location_id, person_id) or {}
        noted = elsewhere.credentials_of(person)
        more = [
            desk_many.Command(
                type="credential.noted",
                entity_id=person_id,
                payload={"credential_id": new_id(now, house.random), "device_id": None, **one},
            )
            for one in wanted
            if one not in noted
        ]
        first = desk_many.Command(type="person.registered", entity_id=person_id, payload=said)
        return [first, *more, *[None] * (elsewhere.MOST_CREDENTIALS - len(more))]

    def authorise(connection, location_id, actor_id, type, made_at):
        if type == "person.registered":
            changes.check(
                connection,
                location_id=location_id,
                actor_id=actor_id,
                type=type,
                person_id=person_id,
                payload=said,
                now=made_at,
            )
        return house.authorise(connection, location_id, actor_id, type, made_at)

    desk_many.append_all_as_desk(
        house.engine,
        house.clock,
        house.server_key,
        location_id=who.location_id,
        actor_id=who.person_id,
        idempotency_key=key,
        request=["people-elsewhere", person_id, said, body["with_credentials"]],
        count=1 + elsewhere.MOST_CREDENTIALS,
        decide=decide,
        projectors=house.projectors,
        zone=zone,
        authorise=authorise,
        random=house.random,
    )
    return {"person_id": person_id}
