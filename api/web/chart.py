"""The front desk's work at the chart: what waits to be placed or removed, and what is released."""

import marshmallow as ma

from api.people import rights
from api.records import lists, release
from api.storage.engine import write
from api.web import auth
from api.web.blueprint import Blueprint, words
from api.web.context import context
from api.web.records import MovedSchema, SummarySchema, who_reads

blueprint = Blueprint("chart", __name__, description="Records on their way into the chart")


class ChangeSchema(ma.Schema):
    """What made a later version than the one that is in the chart."""

    kind = ma.fields.String(required=True)
    version = ma.fields.Integer(required=True)
    at = ma.fields.String(required=True)
    by_name = ma.fields.String(allow_none=True)
    reason = ma.fields.String(allow_none=True)


class WaitingSchema(SummarySchema):
    """A record that waits for its place in the chart."""

    waiting_since = ma.fields.String(allow_none=True)
    changes = ma.fields.List(ma.fields.Nested(ChangeSchema), required=True)


class PaperSchema(MovedSchema):
    """A paper that lies in a chart where it no longer belongs."""

    record_id = ma.fields.String(required=True)
    event_id = ma.fields.String(required=True)
    kind = ma.fields.String(required=True)
    second_identifier = ma.fields.String(allow_none=True)
    procedure_text = ma.fields.String(allow_none=True)
    site = ma.fields.String(allow_none=True)
    started_at = ma.fields.String(allow_none=True)


class QueueSchema(ma.Schema):
    """What waits, oldest first."""

    records = ma.fields.List(ma.fields.Nested(WaitingSchema), required=True)
    to_remove = ma.fields.List(ma.fields.Nested(PaperSchema), required=True)


class ReleaseSchema(ma.Schema):
    """Which records, to whom, and why."""

    record_ids = ma.fields.List(
        words(required=True, at_most=64), required=True, validate=ma.validate.Length(1, 200)
    )
    to = words(required=True, at_most=200)
    reason = words(required=True, at_most=500)


class ReleasedRecordSchema(ma.Schema):
    """A record whose paper may now be given away."""

    record_id = ma.fields.String(required=True)
    version = ma.fields.Integer(required=True)


class ReleasedSchema(ma.Schema):
    """What was released."""

    records = ma.fields.List(ma.fields.Nested(ReleasedRecordSchema), required=True)


@blueprint.route("/chart-queue", methods=["GET"])
@blueprint.response(200, QueueSchema)
@auth.rule(auth.person("record.read"))
def get_chart_queue():
    """List what is to be put into charts, or taken out of them."""
    may_place = rights.allowed(auth.caller().roles, "record.place")
    with write(context().engine) as connection:
        return lists.chart_queue(**who_reads(connection), may_place=may_place)


@blueprint.route("/records/release", methods=["POST"])
@blueprint.arguments(ReleaseSchema)
@blueprint.response(200, ReleasedSchema)
@auth.rule(auth.desk("record.release"))
def post_release(body):
    """Release records of one patient; to whom and why is written down for each."""
    with write(context().engine) as connection:
        return {"records": release.release(**who_reads(connection), **body)}
