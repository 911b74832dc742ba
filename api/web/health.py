"""GET health and GET openapi.json."""

from importlib.metadata import version

import marshmallow as ma
from flask import current_app

from api.backup import making
from api.errors import BadInput, DomainError
from api.group import link, status
from api.storage import readers
from api.storage.engine import Connection, DBAPIError, read
from api.web import auth
from api.web.blueprint import Blueprint
from api.web.context import context

blueprint = Blueprint("health", __name__, description="Is the server ready")


class HealthSchema(ma.Schema):
    """How the server is."""

    status = ma.fields.String(required=True)
    version = ma.fields.String(required=True)
    database = ma.fields.String(required=True)
    log_position = ma.fields.Integer(
        required=True, metadata={"description": "Sum over the locations."}
    )
    backup_age_s = ma.fields.Integer(
        required=True,
        allow_none=True,
        metadata={"description": "Of the last verified backup; null where a location has none."},
    )
    backup_late = ma.fields.Boolean(required=True)
    group_waiting = ma.fields.Integer(
        required=True,
        allow_none=True,
        metadata={"description": "Entries not yet at the group; null where none follows."},
    )
    group_photographs_waiting = ma.fields.Integer(
        required=True,
        allow_none=True,
        metadata={"description": "Photographs not yet at the group; null where none follows."},
    )
    group_late = ma.fields.Boolean(required=True)


@blueprint.route("/health", methods=["GET"])
@blueprint.response(200, HealthSchema)
@auth.rule(auth.ANYONE)
def get_health():
    """Say whether the server is ready, and how long its logs are."""
    house = context()
    engine = house.engine
    try:
        position = readers.log_position(engine)
        age = making.age_of_oldest(engine, house.clock.now())
        with read(engine) as connection:
            behind = _behind(connection, house)
    except DBAPIError as problem:
        # No file, no tables, locked, disk full: not ready in any case, and why is not told.
        raise DomainError("not_ready", "The database is not ready.") from problem
    return {
        "status": "ok",
        "version": version("dosebook"),
        "database": engine.dialect.name,
        "log_position": position,
        "backup_age_s": None if age is None else max(0, int(age.total_seconds())),
        "backup_late": age is None or age > making.LATE_AFTER,
        "group_waiting": behind and behind["waiting"],
        "group_photographs_waiting": behind and behind["photographs_waiting"],
        "group_late": behind is not None and behind["late"],
    }


def _behind(connection: Connection, house) -> dict | None:
    try:
        to = link.get(house.settings)
    except BadInput:
        # Nothing is replicated, and somebody has to look; the server itself is ready all the same.
        return {"waiting": None, "photographs_waiting": None, "late": True}
    return status.whole(connection, link=to, now=house.clock.now())


@blueprint.route("/openapi.json", methods=["GET"])
@auth.rule(auth.ANYONE)
def get_openapi():
    """Describe the interface (OpenAPI 3)."""
    return current_app.extensions["dosebook-api"].described()
