"""How far behind the group is, for whoever answers for the practice; and whom a group follows."""

from datetime import UTC

import marshmallow as ma

from api.clock import rfc3339
from api.group import joining, link, status, words
from api.storage import followed
from api.storage.engine import read
from api.storage.reach import EVERYWHERE
from api.web import auth
from api.web.blueprint import Blueprint
from api.web.context import context

blueprint = Blueprint("replication", __name__, description="How far behind the group is")


class BehindSchema(ma.Schema):
    """What of this location's log is not yet at the group."""

    address = ma.fields.String(required=True)
    key = ma.fields.String(required=True)
    joined_at = ma.fields.String(required=True)
    key_left = ma.fields.Boolean(
        required=True,
        metadata={"description": "Whether the practice's own key, sealed, is at the group."},
    )
    log_position = ma.fields.Integer(required=True)
    position = ma.fields.Integer(required=True)
    waiting = ma.fields.Integer(required=True)
    waiting_since = ma.fields.String(required=True, allow_none=True)
    contact_at = ma.fields.String(required=True, allow_none=True)
    tried_at = ma.fields.String(required=True, allow_none=True)
    problem = ma.fields.String(required=True, allow_none=True)
    problem_since = ma.fields.String(required=True, allow_none=True)
    late = ma.fields.Boolean(required=True)
    photographs_waiting = ma.fields.Integer(
        required=True, metadata={"description": "How many photographs are not at the group yet."}
    )
    photographs_since = ma.fields.String(required=True, allow_none=True)


class FollowedLogSchema(ma.Schema):
    """One history of a location of a practice."""

    location_id = ma.fields.String(required=True)
    state = ma.fields.String(required=True)
    position = ma.fields.Integer(required=True)
    from_position = ma.fields.Integer(required=True)
    received_at = ma.fields.String(required=True, allow_none=True)


class FollowedSchema(ma.Schema):
    """A practice that this server follows."""

    practice_id = ma.fields.String(required=True)
    name = ma.fields.String(required=True)
    key = ma.fields.String(required=True)
    contact_at = ma.fields.String(required=True, allow_none=True)
    revoked_at = ma.fields.String(required=True, allow_none=True)
    logs = ma.fields.List(ma.fields.Nested(FollowedLogSchema), required=True)


class ReplicationSchema(ma.Schema):
    """The group that follows this practice, and the practices that this server follows."""

    group = ma.fields.Nested(BehindSchema, required=True, allow_none=True)
    practices = ma.fields.List(ma.fields.Nested(FollowedSchema), required=True)
    server_time = ma.fields.String(required=True)


@blueprint.route("/replication", methods=["GET"])
@blueprint.response(200, ReplicationSchema)
@auth.rule(auth.desk("group.read"))
def get_replication():
    """Say how much of the location's log is not yet at the group, and why."""
    house, location_id = context(), auth.caller().location_id
    now = house.clock.now()
    to = link.get(house.settings)
    with read(house.engine) as connection:
        behind = status.of_location(connection, location_id, link=to, now=now)
        own = followed.get(connection, location_id) is None
    practices = []
    if own:
        # Names of practices and where their logs end; what a log says is its location's.
        with read(house.engine, locations=EVERYWHERE) as connection:
            practices = joining.listed(connection)
    return {
        "group": behind
        and {
            **behind,
            "address": to.address,
            "key": words.fingerprint(to.group_key),
            "joined_at": to.joined_at,
            "key_left": to.key_left is not None,
        },
        "practices": [_shown(one) for one in practices],
        "server_time": rfc3339(now.astimezone(UTC)),
    }


def _shown(practice: dict) -> dict:
    names = ("practice_id", "name", "key", "contact_at", "revoked_at")
    logs = ("location_id", "state", "position", "from_position", "received_at")
    return {
        **{name: practice[name] for name in names},
        "logs": [{name: log[name] for name in logs} for log in practice["logs"]],
    }
