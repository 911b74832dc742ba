"""Roll-outs at a desk: at a group what goes to whom, at a practice what it was offered."""

import marshmallow as ma

from api.errors import BadInput
from api.group import offered, rolling_out
from api.ids import new_id
from api.people import rights
from api.storage import documents, practices
from api.storage.engine import Connection, read
from api.storage.reach import EVERYWHERE
from api.sync import judge
from api.sync.desk_many import Command, append_all_as_desk
from api.web import auth, idempotency
from api.web.blueprint import Blueprint
from api.web.context import context

blueprint = Blueprint("rollouts", __name__, description="What a group rolls out to its practices")

_IDENT = ma.validate.Regexp(r"[A-Za-z0-9._:-]{1,64}\Z")


class RolloutAskedSchema(ma.Schema):
    """What is rolled out, and to whom."""

    kind = ma.fields.String(required=True, validate=ma.validate.OneOf(["list", "preset"]))
    source_id = ma.fields.String(required=True, validate=_IDENT)
    practices = ma.fields.List(
        ma.fields.String(validate=_IDENT),
        required=True,
        allow_none=True,
        validate=ma.validate.Length(1, 200),
        metadata={"description": "Which practices; null for all, also those that join later."},
    )
    effective_from = ma.fields.Date(load_default=None, allow_none=True)
    note = ma.fields.String(
        load_default=None, allow_none=True, validate=ma.validate.Length(max=2000)
    )


class RolloutMadeSchema(ma.Schema):
    """The roll-out that was made."""

    rollout_id = ma.fields.String(required=True)


class RolloutPlaceSchema(ma.Schema):
    """What became of a roll-out at one location of a practice."""

    location_id = ma.fields.String(required=True)
    name = ma.fields.String(required=True)
    state = ma.fields.String(
        required=True,
        allow_none=True,
        metadata={"description": "open, taken, declined or replaced; null before it is received."},
    )
    at = ma.fields.String(required=True, allow_none=True)
    by = ma.fields.String(required=True, allow_none=True)
    reason = ma.fields.String(required=True, allow_none=True)
    version = ma.fields.Integer(required=True, allow_none=True)


class RolloutPracticeSchema(ma.Schema):
    """One practice that a roll-out goes to."""

    practice_id = ma.fields.String(required=True)
    name = ma.fields.String(required=True)
    places = ma.fields.List(ma.fields.Nested(RolloutPlaceSchema), required=True)


class _SubjectSchema(ma.Schema):
    kind = ma.fields.String(required=True)
    source_id = ma.fields.String(required=True)
    version = ma.fields.Integer(required=True)
    title = ma.fields.String(required=True)
    list = ma.fields.Dict(required=True, allow_none=True)
    effective_from = ma.fields.String(required=True, allow_none=True)
    note = ma.fields.String(required=True, allow_none=True)
    made_at = ma.fields.String(required=True)


class RolloutSchema(_SubjectSchema):
    """A roll-out with what became of it."""

    rollout_id = ma.fields.String(required=True)
    made_by_name = ma.fields.String(required=True, allow_none=True)
    to_all = ma.fields.Boolean(required=True)
    practices = ma.fields.List(ma.fields.Nested(RolloutPracticeSchema), required=True)


class FollowedNameSchema(ma.Schema):
    """A practice that something may be rolled out to."""

    practice_id = ma.fields.String(required=True)
    name = ma.fields.String(required=True)


class RolloutsSchema(ma.Schema):
    """What this location rolled out, and whom it may roll out to."""

    rollouts = ma.fields.List(ma.fields.Nested(RolloutSchema), required=True)
    practices = ma.fields.List(ma.fields.Nested(FollowedNameSchema), required=True)


class OfferAnsweredSchema(ma.Schema):
    """What somebody at the practice did with an offer."""

    at = ma.fields.String(required=True)
    reason = ma.fields.String(required=True, allow_none=True)
    version = ma.fields.Integer(required=True, allow_none=True)
    subject_id = ma.fields.String(required=True, allow_none=True)


class OfferSchema(_SubjectSchema):
    """An offer, and what it would come to here."""

    offer_id = ma.fields.String(required=True)
    made_by = ma.fields.String(required=True)
    group_name = ma.fields.String(required=True)
    group_key = ma.fields.String(required=True)
    received_at = ma.fields.String(required=True)
    state = ma.fields.String(required=True)
    answered = ma.fields.Nested(OfferAnsweredSchema, required=True, allow_none=True)
    answered_by_name = ma.fields.String(required=True, allow_none=True)
    row = ma.fields.Dict(required=True, allow_none=True)
    subject_id = ma.fields.String(required=True, allow_none=True)
    settings = ma.fields.Dict(required=True, allow_none=True)
    preset = ma.fields.Dict(required=True, allow_none=True)
    errors = ma.fields.Dict(
        keys=ma.fields.String(), values=ma.fields.List(ma.fields.String()), required=True
    )


class OffersSchema(ma.Schema):
    """What the group offers this location."""

    offers = ma.fields.List(ma.fields.Nested(OfferSchema), required=True)


@blueprint.route("/rollouts", methods=["GET"])
@blueprint.response(200, RolloutsSchema)
@auth.rule(auth.desk("group.read"))
def get_rollouts():
    """Read what this location rolled out, and what became of it at each practice."""
    location_id = auth.caller().location_id
    # Of the practices only their names and what they say to a roll-out of ours.
    with read(context().engine, locations=EVERYWHERE) as connection:
        return {
            "rollouts": rolling_out.states(connection, location_id),
            "practices": [
                one for one in practices.every_one(connection) if one["revoked_at"] is None
            ],
        }


@blueprint.route("/rollouts", methods=["POST"], parameters=[idempotency.PARAMETER])
@blueprint.arguments(RolloutAskedSchema)
@blueprint.response(201, RolloutMadeSchema)
@auth.rule(auth.desk("group.roll_out"))
def post_rollout(body):
    """Roll out the version of a list or a preset that is in force here; each practice decides."""
    house, who = context(), auth.caller()
    day = body["effective_from"]
    if day is not None and body["kind"] == "preset":
        raise BadInput(
            "day_of_list", "A preset counts once it is taken over.", field="effective_from"
        )
    day = None if day is None else day.isoformat()
    note = (body["note"] or "").strip() or None

    def decide(connection: Connection) -> list[Command]:
        said = rolling_out.payload(
            connection,
            location_id=who.location_id,
            kind=body["kind"],
            source_id=body["source_id"],
            wanted=body["practices"],
            effective_from=day,
            note=note,
            may_publish=rights.may_publish,
        )
        rollout_id = new_id(house.clock.now(), house.random)
        return [Command(type="rollout.made", entity_id=rollout_id, payload=said)]

    with read(house.engine) as connection:
        place = documents.get(connection, who.location_id, "location", who.location_id)
    [entry] = append_all_as_desk(
        house.engine,
        house.clock,
        house.server_key,
        location_id=who.location_id,
        actor_id=who.person_id,
        idempotency_key=idempotency.key(),
        request=["rollouts", {**body, "effective_from": day}],
        count=1,
        decide=decide,
        projectors=house.projectors,
        zone=place["zone"],
        authorise=judge.permit_all,
        random=house.random,
    )
    return {"rollout_id": entry["body"]["entity_id"]}


@blueprint.route("/offers", methods=["GET"])
@blueprint.response(200, OffersSchema)
@auth.rule(auth.desk("group.read"))
def get_offers():
    """Read what the group offers this location, and what it would come to here."""
    who = auth.caller()
    with read(context().engine) as connection:
        return {
            "offers": offered.here(
                connection, who.location_id, rights.may_publish, person_id=who.person_id
            )
        }
