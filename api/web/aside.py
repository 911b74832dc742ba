"""What was put aside: looking into it, and releasing or rejecting it."""

import marshmallow as ma

from api.errors import BadInput
from api.people import rights
from api.storage import access, aside
from api.storage.engine import again, read, write
from api.sync import aside as settling
from api.sync import aside_list
from api.sync.house_tablets import Doing
from api.web import auth
from api.web.blueprint import Blueprint, words
from api.web.context import context

blueprint = Blueprint("aside", __name__, description="What was put aside")

_PAGE = 100
_MOST_AT_ONCE = 200


class AsideQuerySchema(ma.Schema):
    """Which entries, and where to go on."""

    before = ma.fields.Integer(validate=ma.validate.Range(1, 2**53))
    tablet_id = words(at_most=64)
    state = ma.fields.String(
        load_default="waiting", validate=ma.validate.OneOf(["waiting", "decided"])
    )


class PatientSchema(ma.Schema):
    """Under which number a record stands, or would stand."""

    chart_number = ma.fields.String(required=True)
    second_identifier = ma.fields.String(allow_none=True, required=True)


class DecidedSchema(ma.Schema):
    """What was decided about an entry."""

    status = ma.fields.String(required=True)
    at = ma.fields.String(required=True)
    by = ma.fields.String(allow_none=True, required=True)
    reason = ma.fields.String(allow_none=True, required=True)


class AsideEntrySchema(ma.Schema):
    """One entry: what it is, why it was put aside, and whether it can be released."""

    position = ma.fields.Integer(required=True)
    event_id = ma.fields.String(required=True)
    corrects = ma.fields.String(allow_none=True, required=True)
    received_at = ma.fields.String(required=True)
    reason = ma.fields.String(allow_none=True, required=True)
    tablet_id = ma.fields.String(required=True)
    tablet_label = ma.fields.String(allow_none=True, required=True)
    type = ma.fields.String(allow_none=True, required=True)
    subject = ma.fields.String(allow_none=True, required=True)
    entity_id = ma.fields.String(allow_none=True, required=True)
    actor_id = ma.fields.String(allow_none=True, required=True)
    occurred_at = ma.fields.String(allow_none=True, required=True)
    name = ma.fields.String(allow_none=True, required=True)
    patient = ma.fields.Nested(PatientSchema, allow_none=True, required=True)
    said = ma.fields.Dict(allow_none=True, required=True)
    # Its hash, by which it is got.
    photograph = ma.fields.String(allow_none=True, required=True)
    obstacle = ma.fields.String(allow_none=True, required=True)
    may_settle = ma.fields.Boolean(required=True)
    decided = ma.fields.Nested(DecidedSchema, allow_none=True, required=True)


class AsideSchema(ma.Schema):
    """A page, how many wait in all, and where the next page goes on."""

    entries = ma.fields.List(ma.fields.Nested(AsideEntrySchema), required=True)
    next_before = ma.fields.Integer(allow_none=True, required=True)
    waiting = ma.fields.Integer(required=True)


class SettleSchema(ma.Schema):
    """Which entries, what is decided about them, and why."""

    positions = ma.fields.List(
        ma.fields.Integer(strict=True, validate=ma.validate.Range(1, 2**53)),
        required=True,
        validate=ma.validate.Length(1, _MOST_AT_ONCE),
    )
    decision = ma.fields.String(
        required=True, validate=ma.validate.OneOf([settling.RELEASE, settling.REJECT])
    )
    reason = words(required=True, at_most=1000)


class SettledEntrySchema(ma.Schema):
    """The event that says what was decided, and where it stands in the log."""

    event_id = ma.fields.String(required=True)
    position = ma.fields.Integer(required=True)


class SettledSchema(ma.Schema):
    """One for each entry, in the order asked."""

    settled = ma.fields.List(ma.fields.Nested(SettledEntrySchema), required=True)


@blueprint.route("/aside", methods=["GET"])
@blueprint.arguments(AsideQuerySchema, location="query")
@blueprint.response(200, AsideSchema)
@auth.rule(auth.desk("aside.read"))
def get_aside(query):
    """List what was put aside; what an entry says only to whoever may read records."""
    house, who = context(), auth.caller()
    with write(house.engine) as connection:
        looking = aside_list.Looking(
            connection=connection,
            location_id=who.location_id,
            roles=who.roles,
            sees_patients=rights.allowed(who.roles, "record.read"),
            authorise=house.authorise,
        )
        entries, following = aside_list.listed(
            looking,
            before=query.get("before"),
            tablet_id=query.get("tablet_id"),
            waiting=query["state"] == "waiting",
            limit=_PAGE,
        )
        access.note(
            connection,
            location_id=who.location_id,
            at=house.clock.now(),
            action="read",
            actor_id=who.person_id,
            subject_kind="aside",
            subjects={one["entity_id"] for one in entries if one["patient"]},
            detail={"quarantine": True},
        )
        waiting = aside.count_waiting(connection, who.location_id)
    return {"entries": entries, "next_before": following, "waiting": waiting}


@blueprint.route("/aside", methods=["POST"])
@blueprint.arguments(SettleSchema)
@blueprint.response(200, SettledSchema)
@auth.rule(auth.desk("aside.read"))
def post_aside(body):
    """Release or reject entries, all of them or none; asked again it does nothing more."""
    house, who = context(), auth.caller()
    if not body["reason"].strip():
        raise BadInput("reason_missing", "Please say why.", field="reason")
    positions = list(dict.fromkeys(body["positions"]))
    with read(house.engine) as connection:
        wanted = settling.rights_for(connection, who.location_id, positions)
    for right in wanted:
        auth.demand(who, right)

    def settle(connection):
        doing = Doing(
            connection=connection,
            clock=house.clock,
            server_key=house.server_key,
            projectors=house.projectors,
            random=house.random,
            location_id=who.location_id,
            actor_id=who.person_id,
        )
        settling.hold(doing)
        # In the order of the log: a version is judged by the one before it.
        return {
            position: settling.settle(
                doing,
                position=position,
                decision=body["decision"],
                reason=body["reason"].strip(),
                authorise=house.authorise,
            )
            for position in sorted(positions)
        }

    done = again(house.engine, settle)
    return {"settled": [done[position] for position in positions]}
