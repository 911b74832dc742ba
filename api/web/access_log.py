"""The access log: looked through in pages, or taken as a file."""

from datetime import date

import marshmallow as ma
from flask import Response

from api.audit import access_log
from api.errors import NotAllowed
from api.people import rights
from api.storage import access, documents
from api.storage.engine import write
from api.web import auth
from api.web.blueprint import Blueprint, words
from api.web.context import context

blueprint = Blueprint("access-log", __name__, description="Who did what, when and where")

_MAY = auth.desk("log.read")
_A_DAY = ma.validate.Range(date(2000, 1, 1), date(2999, 12, 31))


class LookedForSchema(ma.Schema):
    """Which accesses. In a body, because addresses end up in logs and histories."""

    person_id = words(at_most=64)
    record_id = words(at_most=64)
    chart_number = words(at_most=100)
    action = ma.fields.String(validate=ma.validate.OneOf(sorted(access_log.GROUPS)))
    from_ = ma.fields.Date(data_key="from", validate=_A_DAY)
    to = ma.fields.Date(validate=_A_DAY)


class PageOfLogSchema(LookedForSchema):
    """Which accesses, and where to go on."""

    cursor = ma.fields.String(validate=ma.validate.Length(max=400))
    limit = ma.fields.Integer(
        strict=True,
        load_default=access_log.PAGE,
        validate=ma.validate.Range(1, access_log.LONGEST_PAGE),
    )


class AccessSchema(ma.Schema):
    """One access: who, what, when and where."""

    access_id = ma.fields.Integer(required=True)
    at = ma.fields.String(required=True)
    action = ma.fields.String(required=True)
    actor_id = ma.fields.String(allow_none=True, required=True)
    actor_name = ma.fields.String(allow_none=True, required=True)
    tablet_id = ma.fields.String(allow_none=True, required=True)
    tablet_label = ma.fields.String(allow_none=True, required=True)
    subject_kind = ma.fields.String(allow_none=True, required=True)
    subject_id = ma.fields.String(allow_none=True, required=True)
    subject_name = ma.fields.String(allow_none=True, required=True)
    detail = ma.fields.Dict(allow_none=True, required=True)


class AccessesSchema(ma.Schema):
    """A page of accesses, the newest first."""

    entries = ma.fields.List(ma.fields.Nested(AccessSchema), required=True)
    next_cursor = ma.fields.String(allow_none=True, required=True)


@blueprint.route("/access-log/search", methods=["POST"])
@blueprint.arguments(PageOfLogSchema)
@blueprint.response(200, AccessesSchema)
@auth.rule(_MAY)
def search_access_log(body):
    """List accesses of the caller's location; that is written down too."""
    with write(context().engine) as connection:
        found = access_log.page(
            connection,
            location_id=auth.caller().location_id,
            wanted=_wanted(connection, body),
            cursor=body.get("cursor"),
            limit=body["limit"],
            may_read_records=_may_read_records(),
        )
        _note(connection, "read", body, {})
    return found


@blueprint.route("/access-log/export", methods=["POST"])
@blueprint.arguments(LookedForSchema)
@blueprint.response(200, content_type="text/csv", description="The accesses, a row each")
@auth.rule(_MAY)
def export_access_log(body):
    """Get accesses as a file; that is written down too."""
    with write(context().engine) as connection:
        text, rows = access_log.as_csv(
            connection,
            location_id=auth.caller().location_id,
            wanted=_wanted(connection, body),
            may_read_records=_may_read_records(),
        )
        _note(connection, "export", body, {"rows": rows})
    response = Response(text, content_type="text/csv; charset=utf-8")
    response.headers["Content-Disposition"] = 'attachment; filename="access-log.csv"'
    return response


def _may_read_records() -> bool:
    return rights.allowed(auth.caller().roles, "record.read")


def _wanted(connection, body):
    location_id = auth.caller().location_id
    if "chart_number" in body and not _may_read_records():
        # Who keeps the house in order would learn from the answer who is a patient here.
        raise NotAllowed("not_allowed", "Your role does not include patients' charts.")
    location = documents.get(connection, location_id, "location", location_id)
    return access_log.wanted_of(
        connection,
        location_id=location_id,
        zone=location["zone"],
        person_id=body.get("person_id"),
        record_id=body.get("record_id"),
        chart_number=body.get("chart_number"),
        group=body.get("action"),
        from_day=body.get("from_"),
        to_day=body.get("to"),
    )


def _note(connection, action, body, detail):
    who = auth.caller()
    # The chart number itself is the patient's: only that one was asked for.
    asked = {
        name: str(value)
        for name, value in body.items()
        if name in ("person_id", "record_id", "action", "from_", "to")
    }
    if "chart_number" in body:
        asked["chart_number"] = "given"
    access.note(
        connection,
        location_id=who.location_id,
        at=context().clock.now(),
        action=action,
        actor_id=who.person_id,
        subject_kind="access_log",
        detail={**asked, **detail},
    )
