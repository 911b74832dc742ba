"""Presets in files, and what was used here before for a kind of procedure."""

import marshmallow as ma
from flask import Response

from api.errors import BadInput
from api.ids import new_id
from api.people import rights
from api.presets import exchange, files, service
from api.storage import documents
from api.storage.engine import Connection, read, write
from api.sync.desk_many import Command, append_all_as_desk
from api.web import auth, idempotency
from api.web.blueprint import Blueprint
from api.web.context import context

blueprint = Blueprint("presets", __name__, description="Presets in files, and their use")

_MEDIA_TYPE = {"json": "application/json", "csv": "text/csv; charset=utf-8"}


class ExportQuerySchema(ma.Schema):
    """Which kind of file."""

    format = ma.fields.String(required=True, validate=ma.validate.OneOf(files.FORMATS))


class ImportSchema(ma.Schema):
    """A file's text, and whether it is to be done or only looked at."""

    format = ma.fields.String(required=True, validate=ma.validate.OneOf(files.FORMATS))
    content = ma.fields.String(
        required=True, validate=ma.validate.Length(min=1, max=files.MOST_CHARACTERS)
    )
    commit = ma.fields.Boolean(load_default=False, truthy={True}, falsy={False})


class ImportedRowSchema(ma.Schema):
    """What one row of a file does."""

    row = ma.fields.Integer(required=True)
    name = ma.fields.String(required=True)
    outcome = ma.fields.String(
        required=True,
        validate=ma.validate.OneOf([exchange.NEW, exchange.SAME, exchange.NEXT, exchange.REFUSED]),
    )
    preset_id = ma.fields.String(allow_none=True)
    version = ma.fields.Integer(allow_none=True)
    event_id = ma.fields.String(allow_none=True)
    errors = ma.fields.Dict(
        keys=ma.fields.String(),
        values=ma.fields.List(ma.fields.String()),
        metadata={"description": "By column, what is wrong with it."},
    )


class ImportedSchema(ma.Schema):
    """What a file does, row by row."""

    rows = ma.fields.List(ma.fields.Nested(ImportedRowSchema), required=True)
    committed = ma.fields.Boolean(required=True)


class MeasureSchema(ma.Schema):
    """Single values, or their middle and range."""

    unit = ma.fields.String(required=True)
    records = ma.fields.Integer(required=True)
    values = ma.fields.List(ma.fields.Float(), required=True, allow_none=True)
    median = ma.fields.Float(required=True, allow_none=True)
    low = ma.fields.Float(required=True)
    high = ma.fields.Float(required=True)


class UsageGroupSchema(ma.Schema):
    """What was used with one laser and one tip."""

    device_id = ma.fields.String(required=True)
    device_label = ma.fields.String(allow_none=True)
    handpiece_id = ma.fields.String(required=True)
    handpiece_label = ma.fields.String(allow_none=True)
    records = ma.fields.Integer(required=True)
    passes = ma.fields.Integer(required=True)
    first_at = ma.fields.String(required=True)
    last_at = ma.fields.String(required=True)
    set = ma.fields.Dict(keys=ma.fields.String(), values=ma.fields.Nested(MeasureSchema))
    delivered = ma.fields.Dict(keys=ma.fields.String(), values=ma.fields.Nested(MeasureSchema))
    laser_on_time = ma.fields.Nested(MeasureSchema)


class UsageSchema(ma.Schema):
    """What was used here before; no advice."""

    procedure_kind_id = ma.fields.String(required=True)
    records = ma.fields.Integer(required=True)
    groups = ma.fields.List(ma.fields.Nested(UsageGroupSchema), required=True)


@blueprint.route("/presets/export", methods=["GET"])
@blueprint.arguments(ExportQuerySchema, location="query")
@blueprint.response(200, content_type="text/csv", description="The presets in force, as a file")
@auth.rule(auth.desk("house.read"))
def export_presets(query):
    """Get the presets in force as a file."""
    who = auth.caller()
    with write(context().engine) as connection:
        text = service.export(
            connection,
            location_id=who.location_id,
            form=query["format"],
            may_publish=rights.may_publish,
            actor_id=who.person_id,
            now=context().clock.now(),
        )
    response = Response(text, content_type=_MEDIA_TYPE[query["format"]])
    name = f"presets.{query['format']}"
    response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return response


@blueprint.route(
    "/presets/import",
    methods=["POST"],
    parameters=[{**idempotency.PARAMETER, "required": False, "description": "Needed to commit."}],
)
@blueprint.arguments(ImportSchema)
@blueprint.response(200, ImportedSchema)
@auth.rule(auth.desk("preset.write"))
def import_presets(body):
    """Look at a file of presets, or publish what it says: every row or none."""
    who = auth.caller()
    rows = files.read(body["content"], body["format"])
    first_row = 2 if body["format"] == "csv" else 1

    def plan(connection: Connection) -> list[exchange.Planned]:
        return service.plan(
            connection,
            location_id=who.location_id,
            rows=rows,
            may_publish=rights.may_publish,
            importer=who.person_id,
        )

    if not body["commit"]:
        with read(context().engine) as connection:
            planned = plan(connection)
        entries = [None] * len(rows)
    else:
        planned, entries = _commit(body, rows, plan)
    shown = [
        _shown(number, one, entry)
        for number, (one, entry) in enumerate(zip(planned, entries, strict=True), start=first_row)
    ]
    return {"rows": shown, "committed": body["commit"]}


def _commit(body, rows, plan):
    house, who = context(), auth.caller()
    planned: list[exchange.Planned] = []

    def decide(connection: Connection) -> list[Command | None]:
        planned[:] = plan(connection)
        refused = {
            f"rows.{place}.{column}": texts
            for place, one in enumerate(planned, start=1)
            for column, texts in one.errors.items()
        }
        if refused:
            raise BadInput("import_refused", "Nothing was published.", errors=refused)
        return [_command(one) for one in planned]

    with read(house.engine) as connection:
        location = documents.get(connection, who.location_id, "location", who.location_id)
    entries = append_all_as_desk(
        house.engine,
        house.clock,
        house.server_key,
        location_id=who.location_id,
        actor_id=who.person_id,
        idempotency_key=idempotency.key(),
        request=["presets.import", body["format"], body["content"]],
        count=len(rows),
        decide=decide,
        projectors=house.projectors,
        zone=location["zone"],
        authorise=house.authorise,
        random=house.random,
    )
    # Asked a second time nothing was decided: what the first answer did stands in its entries.
    return planned or [
        _as_before(row, entry) for row, entry in zip(rows, entries, strict=True)
    ], entries


def _command(one: exchange.Planned) -> Command | None:
    if one.payload is None:
        return None
    house = context()
    return Command(
        type="preset.published",
        entity_id=one.preset_id or new_id(house.clock.now(), house.random),
        payload=one.payload,
        base_version=one.base_version,
    )


def _as_before(row, entry) -> exchange.Planned:
    if entry is None:
        return exchange.Planned(name=row.get("name", ""), outcome=exchange.SAME)
    version = entry["payload"]["version"]
    return exchange.Planned(
        name=entry["payload"]["name"],
        outcome=exchange.NEW if version == 1 else exchange.NEXT,
        version=version,
    )


def _shown(number, one, entry):
    return {
        "row": number,
        "name": one.name,
        "outcome": one.outcome,
        "preset_id": entry["body"]["entity_id"] if entry else one.preset_id,
        "version": one.version,
        "event_id": entry["event_id"] if entry else None,
        "errors": one.errors,
    }


@blueprint.route("/procedures/<procedure_kind_id>/usage", methods=["GET"])
@blueprint.response(200, UsageSchema)
@auth.rule(auth.person("record.read"))
def get_usage(procedure_kind_id):
    """Read what the signed records of a kind of procedure used; it is no advice."""
    who = auth.caller()
    about = {"location_id": who.location_id, "procedure_kind_id": procedure_kind_id}
    with read(context().report_engine) as connection:
        found = service.used_before(connection, **about)
    with write(context().engine) as connection:
        service.note_usage(
            connection,
            **about,
            actor_id=who.person_id,
            tablet_id=who.tablet_id,
            now=context().clock.now(),
        )
    return found
