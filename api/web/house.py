"""GET house: the registers of the caller's location, for desks."""

import marshmallow as ma

from api.storage import documents
from api.storage.engine import read
from api.web import auth
from api.web.blueprint import Blueprint
from api.web.context import context

blueprint = Blueprint("house", __name__, description="Registers of the location")

KINDS = (
    "location",
    "person",
    "device",
    "handpiece",
    "handpiece_use",
    "procedure_kind",
    "list",
    "preset",
    "verification",
    "device_check",
    "device_service",
    "cleaning",
    "test_cut_reference",
    "test_cut",
    "room",
    "eyewear",
    "key",
    "meter",
    "inventory",
    "due_rule",
    "maintenance",
    "incident",
    "tablet",
    "emergency",
    "witness_alarm",
)


class HouseQuerySchema(ma.Schema):
    """Which register."""

    kind = ma.fields.String(required=True, validate=ma.validate.OneOf(KINDS))


class HouseSchema(ma.Schema):
    """The documents of one kind."""

    documents = ma.fields.List(ma.fields.Dict(), required=True)


@blueprint.route("/house", methods=["GET"])
@blueprint.arguments(HouseQuerySchema, location="query")
@blueprint.response(200, HouseSchema)
@auth.rule(auth.desk("house.read"))
def get_house(query):
    """Read one register of the caller's location."""
    with read(context().engine) as connection:
        found = documents.list(connection, auth.caller().location_id, query["kind"])
    return {"documents": found}
