"""The exposed cases of a laser: as a page, as a table and on paper."""

import marshmallow as ma
from flask import Response

from api.devices import exposed_cases
from api.handover import exposed_csv
from api.people import places, rights
from api.storage import access, documents
from api.storage.engine import read, write
from api.web import auth
from api.web.blueprint import Blueprint
from api.web.context import context

blueprint = Blueprint("exposed", __name__, description="Cases that a failed laser concerns")

_MAY = auth.desk("exposed.read")
_AND = "record.read"


class ExposedSchema(ma.Schema):
    """The laser, and its exposed cases by start."""

    device = ma.fields.Dict(required=True)
    cases = ma.fields.List(ma.fields.Dict(), required=True)


@blueprint.route("/devices/<device_id>/exposed", methods=["GET"])
@blueprint.response(200, ExposedSchema)
@auth.rule(_MAY)
def get_exposed(device_id):
    """Say which cases of a laser are exposed; that is written down."""
    return _found(device_id, "list")


@blueprint.route("/devices/<device_id>/exposed.csv", methods=["GET"])
@blueprint.response(200, content_type="text/csv", description="The cases, a row for each reason")
@auth.rule(_MAY)
def get_exposed_csv(device_id):
    """Get the exposed cases as a table; that is written down."""
    text = exposed_csv.as_csv(_found(device_id, "export"))
    return _file(text, "text/csv; charset=utf-8", "exposed-cases.csv")


@blueprint.route("/devices/<device_id>/exposed.pdf", methods=["GET"])
@blueprint.response(200, content_type="application/pdf", description="The cases on paper")
@auth.rule(_MAY)
def get_exposed_pdf(device_id):
    """Get the exposed cases on paper; that is written down."""
    # A fifth of what the whole program takes to import, and a server that was killed has to be back
    # soon: it is fetched by whoever asks for the paper.
    from api.handover import exposed_pdf

    house, who = context(), auth.caller()
    found = _found(device_id, "export_pdf")
    with read(house.engine) as connection:
        location = documents.get(connection, who.location_id, "location", who.location_id) or {}
        person = documents.get(connection, who.location_id, "person", who.person_id) or {}
    facts = {
        "practice_name": location.get("practice_name"),
        "location_name": location.get("name"),
        "zone": location.get("zone") or "UTC",
        "made_by": person.get("display_name"),
    }
    paper = exposed_pdf.render(found, facts, house.clock.now())
    return _file(paper, "application/pdf", "exposed-cases.pdf")


def _found(device_id, action):
    house, who = context(), auth.caller()
    auth.demand(who, _AND)
    now = house.clock.now()
    elsewhere = [
        one["location_id"]
        for one in places.places_of(house.engine, who.person_id, now)
        if one["location_id"] != who.location_id
        and all(rights.allowed(one["roles"], each) for each in ("exposed.read", _AND))
    ]
    locations = (who.location_id, *elsewhere)
    # Years of records are read for it: nobody who writes waits for that.
    with read(house.engine, locations=locations) as connection:
        found = exposed_cases.find(
            connection, device_id=device_id, here=who.location_id, elsewhere=elsewhere
        )
    with write(house.engine, locations=locations) as connection:
        for location_id in locations:
            there = [
                one["record_id"] for one in found["cases"] if one["location_id"] == location_id
            ]
            if there or location_id == who.location_id:
                access.note(
                    connection,
                    location_id=location_id,
                    at=now,
                    action=action,
                    actor_id=who.person_id,
                    subject_kind="record",
                    subjects=there,
                    detail={"device": device_id, "exposed": len(there)},
                )
    return found


def _file(content, content_type, name):
    response = Response(content, content_type=content_type)
    # No name of a patient or a laser in a file name: it ends up in download folders and mail.
    response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return response
