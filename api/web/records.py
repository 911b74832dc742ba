"""Records to find and to read, and their renderings."""

import marshmallow as ma
from flask import Response

from api.audit import proof_page
from api.people import rights
from api.records import lists, service
from api.storage.engine import write
from api.storage.record_index import Wanted
from api.web import auth
from api.web.blueprint import Blueprint, words
from api.web.context import context

blueprint = Blueprint("records", __name__, description="Procedure records")


class RecordsQuerySchema(ma.Schema):
    """Which records, and which page of them."""

    status = ma.fields.String(
        validate=ma.validate.OneOf(["draft", "ended", "signed", "amended", "void"])
    )
    from_ = ma.fields.Date(data_key="from")
    to = ma.fields.Date()
    operator_id = words(at_most=64)
    device_id = words(at_most=64)
    flagged = ma.fields.Boolean()
    waits_for_chart = ma.fields.Boolean()
    cursor = words(at_most=400)
    limit = ma.fields.Integer(
        load_default=lists.PAGE, validate=ma.validate.Range(min=1, max=lists.LONGEST_PAGE)
    )


class SearchSchema(RecordsQuerySchema):
    """Which records, and words to look for in them."""

    q = ma.fields.String(validate=ma.validate.Length(max=100))
    procedure = words(at_most=500)


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
    version = ma.fields.Integer()
    placed_at = ma.fields.String(allow_none=True)
    placed_version = ma.fields.Integer(allow_none=True)
    position = ma.fields.Integer()
    flags = ma.fields.List(ma.fields.String())


class MovedSchema(ma.Schema):
    """What is left under a chart number that a record was moved from; never where it went."""

    chart_number = ma.fields.String(allow_none=True)
    at = ma.fields.String(required=True)
    by_id = ma.fields.String(allow_none=True)
    by_name = ma.fields.String(allow_none=True)
    reason = ma.fields.String(allow_none=True)


class RecordsSchema(ma.Schema):
    """A page of records, newest first."""

    records = ma.fields.List(ma.fields.Nested(SummarySchema), required=True)
    next_cursor = ma.fields.String(allow_none=True, required=True)
    total = ma.fields.Integer(required=True)
    moved = ma.fields.List(ma.fields.Nested(MovedSchema), required=True)


class ProofQuerySchema(ma.Schema):
    """What a paper says of itself: its version, and how the link of its entry begins."""

    version = ma.fields.Integer(validate=ma.validate.Range(1, 10**6))
    link = ma.fields.String(validate=ma.validate.Regexp(r"[0-9a-f]{16,64}\Z"))


class ProvedPaperSchema(ma.Schema):
    """Whether the record has the version that a paper names, and that version the paper's link."""

    version = ma.fields.Integer(required=True)
    newest = ma.fields.Integer(required=True)
    known = ma.fields.Boolean(required=True)
    fits = ma.fields.Boolean(required=True)
    position = ma.fields.Integer(required=True, allow_none=True)


class RecordProofSchema(ma.Schema):
    """A record's proof as a file for `dosebook log check-proof`, and what checking it found."""

    result = ma.fields.Dict(required=True)
    proof = ma.fields.Dict(required=True)
    paper = ma.fields.Nested(ProvedPaperSchema, required=True, allow_none=True)


class TextSchema(ma.Schema):
    """The stored text of a record, and its hash."""

    text = ma.fields.String(required=True)
    sha256 = ma.fields.String(required=True)


def who_reads(connection):
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


def _may_see_moves() -> bool:
    roles = auth.caller().roles
    return any(rights.allowed(roles, each) for each in ("record.place", "record.sign"))


def _list(asked):
    days = {"from_day": asked.get("from_"), "to_day": asked.get("to")}
    same = ("status", "operator_id", "device_id", "procedure", "flagged", "waits_for_chart", "q")
    wanted = Wanted(
        **{name: str(day) for name, day in days.items() if day},
        **{name: asked[name] for name in same if name in asked},
    )
    with write(context().engine) as connection:
        return lists.search(
            **who_reads(connection),
            wanted=wanted,
            cursor=asked.get("cursor"),
            limit=asked["limit"],
        )


@blueprint.route("/records/<record_id>", methods=["GET"])
@blueprint.response(200, description="The record document, with the people it names")
@auth.rule(auth.person("record.read"))
def get_record(record_id):
    """Read one record."""
    with write(context().engine) as connection:
        return service.detail(
            **who_reads(connection), record_id=record_id, may_see_moves=_may_see_moves()
        )


@blueprint.route("/records/<record_id>/pdf", methods=["GET"])
@blueprint.response(200, content_type="application/pdf", description="The stored PDF")
@auth.rule(auth.person("record.read"))
def get_pdf(record_id):
    """Get the PDF made when the record was signed."""
    with write(context().engine) as connection:
        stored = service.rendering(**who_reads(connection), record_id=record_id, kind="pdf")
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
        stored = service.rendering(**who_reads(connection), record_id=record_id, kind="text")
    return {"text": stored["content"].decode("utf-8"), "sha256": stored["sha256"]}


@blueprint.route("/records/<record_id>/proof", methods=["GET"])
@blueprint.arguments(ProofQuerySchema, location="query")
@blueprint.response(200, RecordProofSchema)
@auth.rule(auth.person("record.read"))
def get_proof(query, record_id):
    """Prove where a record stands in the log, and hold it beside what a paper says of itself."""
    house = context()
    with write(house.engine) as connection:
        return proof_page.shown(
            server_key=house.server_key,
            clock=house.clock,
            **who_reads(connection),
            record_id=record_id,
            **query,
        )
