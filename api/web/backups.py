"""Whether there is a backup to go back to, for whoever answers for the practice."""

from datetime import UTC, timedelta

import marshmallow as ma

from api.backup.making import LATE_AFTER
from api.clock import parse_rfc3339, rfc3339
from api.storage import backups, documents, readers
from api.storage.engine import read
from api.web import auth
from api.web.blueprint import Blueprint
from api.web.context import context

blueprint = Blueprint("backups", __name__, description="Backups, and what came back after one")

_SHOWN = 20


class TrySchema(ma.Schema):
    """One try to make a backup."""

    backup_id = ma.fields.String(required=True)
    made_at = ma.fields.String(required=True)
    verified_at = ma.fields.String(allow_none=True, required=True)
    position = ma.fields.Integer(allow_none=True, required=True)
    problem = ma.fields.String(allow_none=True, required=True)


class ReturningTabletSchema(ma.Schema):
    """How much of what a tablet said it would hand in again has come."""

    tablet_id = ma.fields.String(required=True)
    label = ma.fields.String(allow_none=True, required=True)
    named = ma.fields.Integer(required=True)
    came = ma.fields.Integer(required=True)


class RestoredSchema(ma.Schema):
    """The last restore, and what came back since."""

    at = ma.fields.String(required=True)
    backup_made_at = ma.fields.String(required=True)
    who = ma.fields.String(required=True)
    why = ma.fields.String(required=True)
    returning = ma.fields.List(ma.fields.Nested(ReturningTabletSchema), required=True)


class BackupsSchema(ma.Schema):
    """The last verified backup and its age, the tries before, and the last restore."""

    last_verified = ma.fields.String(allow_none=True, required=True)
    age_s = ma.fields.Integer(allow_none=True, required=True)
    late = ma.fields.Boolean(required=True)
    outside = ma.fields.Integer(
        required=True, metadata={"description": "Entries of the log in no verified backup."}
    )
    tries = ma.fields.List(ma.fields.Nested(TrySchema), required=True)
    restored = ma.fields.Nested(RestoredSchema, allow_none=True, required=True)
    server_time = ma.fields.String(required=True)


@blueprint.route("/backups", methods=["GET"])
@blueprint.response(200, BackupsSchema)
@auth.rule(auth.desk("backup.read"))
def get_backups():
    """Say when the location's log was last inside a verified backup."""
    house, location_id = context(), auth.caller().location_id
    now = house.clock.now()
    with read(house.engine) as connection:
        location = readers.location_row(connection, location_id)
        last = backups.last_verified(connection, location_id, now=now)
        inside = backups.durable_position(connection, location_id) or 0
        tries = backups.latest(connection, location_id, limit=_SHOWN)
        place = documents.get(connection, location_id, "location", location_id) or {}
        returning = backups.returning(connection, location_id, epoch=location["epoch"])
    restored = place.get("restored")
    age = None if last is None else max(now - parse_rfc3339(last), timedelta(0))
    return {
        "last_verified": last,
        "age_s": None if age is None else int(age.total_seconds()),
        "late": age is None or age > LATE_AFTER,
        "outside": location["position"] - inside,
        "tries": tries,
        "restored": None
        if restored is None
        else {
            **{name: restored[name] for name in ("at", "backup_made_at", "who", "why")},
            "returning": returning,
        },
        "server_time": rfc3339(now.astimezone(UTC)),
    }
