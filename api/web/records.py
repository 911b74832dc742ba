"""Records to read, their renderings, and the queue of those not yet in the chart."""

import marshmallow as ma
from flask import Response

from api.records import service
from api.storage.engine import write
from api.web import auth
from api.web.blueprint import Blueprint
from api.web.context import context

blueprint = Blueprint("records", __name__, description="Procedure records")


class RecordsQuerySchema(ma.Schema):
    """Which records."""

    status = ma.fields.String(validate=ma.validate.OneOf(["draft", "ended", "signed", "amended"]))
    from_ = ma.fields.Date(data_key="from")
    to = ma.fields.Date()


class SearchSchema(RecordsQuerySchema):
    """Which records, and words to look for in them."""

    q = ma.fields.String(validate=ma.validate.Length(max=100))


class SummarySchema(ma.Schema):
    """A record in a list."""

    record_id = ma.fields.String(required=True)
    status = ma.fields.String(required=True)
    chart_number = ma.fields.String(allow_none=True)
    second_identifier = ma.fields.String(allow_none=True)
    procedure_text = ma.fields.String(allow_none=True)
    site = ma.fields.String(allow_none=True)
    operator_name = ma.fields.String(allow_none=True)
    device_label = ma.fields.String(allow_none=True)
    started_at = ma.fields.String(allow_none=True)
    ended_at = ma.fields.String(allow_none=True)
    signed_at = ma.fields.String(allow_none=True)
    passes = ma.fields.Integer()
    placed_at = ma.fields.String(allow_none=True)
    position = ma.fields.Integer()
    flags = ma.fields.List(ma.fields.String())


class WaitingSchema(SummarySchema):
    """A record that waits for its place in the chart."""

    waiting_since = ma.fields.String(allow_none=True)


class RecordsSchema(ma.Schema):
    """Records, newest first."""

    records = ma.fields.List(ma.fields.Nested(SummarySchema), required=True)


class QueueSchema(ma.Schema):
    """Records waiting, oldest first."""

    records = ma.fields.List(ma.fields.Nested(WaitingSchema), required=True)


class TextSchema(ma.Schema):
    """The stored text of a record, and its hash."""

    text = ma.fields.String(required=True)
    sha256 = ma.fields.String(required=True)


def _who(connection):
    """Return what every reading of records is told: the connection, where, who and when."""
    who = auth.caller()
    return {
        "connection": connection,
        "location_id": who.location_id,
        "actor_id": who.person_id,
        "tablet_id": who.tablet_id,
        "now": context().clock.now(),
    }


@blueprint.route("/records", methods=["GET"])
@blueprint.arguments(RecordsQuerySchema, location="query")
@blueprint.response(200, RecordsSchema)
@auth.rule(auth.person("record.read"))
def get_records(query):
    """List records, latest start first."""
    return _list(query)


# A chart number is looked for in a body, because addresses end up in logs and histories.
@blueprint.route("/records/search", methods=["POST"])
@blueprint.arguments(SearchSchema)
@blueprint.response(200, RecordsSchema)
@auth.rule(auth.person("record.read"))
def search_records(wanted):
    """List the records that contain the words, latest start first."""
    return _list(wanted)


def _list(wanted):
    with write(context().engine) as connection:
        found = service.list_records(
            **_who(connection),
            status=wanted.get("status"),
            from_day=wanted.get("from_"),
            to_day=wanted.get("to"),
            q=wanted.get("q"),
        )
    return {"records": found}


@blueprint.route("/records/<record_id>", methods=["GET"])
@blueprint.response(200, description="The record document, with the people it names")
@auth.rule(auth.person("record.read"))
def get_record(record_id):
    """Read one record."""
    with write(context().engine) as connection:
        return service.detail(**_who(connection), record_id=record_id)


@blueprint.route("/records/<record_id>/pdf", methods=["GET"])
@blueprint.response(200, content_type="application/pdf", description="The stored PDF")
@auth.rule(auth.person("record.read"))
def get_pdf(record_id):
    """Get the PDF made when the record was signed."""
    with write(context().engine) as connection:
        stored = service.rendering(**_who(connection), record_id=record_id, kind="pdf")
    response = Response(stored["content"], content_type="application/pdf")
    # No name of a patient in a file name: it ends up in download folders and mail.
    name = f"record-{stored['record_id']}-v{stored['version']}.pdf"
    response.headers["Content-Disposition"] = f'inline; filename="{name}"'
    response.headers["Dosebook-SHA256"] = stored["sha256"]
    return response


@blueprint.route("/records/<record_id>/text", methods=["GET"])
@blueprint.response(200, TextSchema)
@auth.rule(auth.person("record.read"))
def get_text(record_id):
    """Get the text made when the record was signed."""
    with write(context().engine) as connection:
        stored = service.rendering(**_who(connection), record_id=record_id, kind="text")
    return {"text": stored["content"].decode("utf-8"), "sha256": stored["sha256"]}


@blueprint.route("/chart-queue", methods=["GET"])
@blueprint.response(200, QueueSchema)
@auth.rule(auth.person("record.read"))
def get_chart_queue():
    """List the signed records that are not in the chart yet, oldest first."""
    with write(context().engine) as connection:
        return {"records": service.chart_queue(**_who(connection))}
