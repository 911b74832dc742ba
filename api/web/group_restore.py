"""What a practice that lost everything asks of the group: its own log, by a code and its key."""

import base64

from api.clock import rfc3339
from api.group import giving, words
from api.storage.engine import read, write
from api.web import auth, by_practice, limits
from api.web import group_schemas as schemas
from api.web.blueprint import Blueprint
from api.web.context import context

blueprint = Blueprint("group_restore", __name__, description="A practice gets its log back")

_SMALL = auth.anyone(limits.GROUP, limit_bytes=by_practice.SMALL_BYTES)


@blueprint.route("/group/restore", methods=["POST"])
@blueprint.arguments(schemas.GroupCodeSchema)
@blueprint.response(200, schemas.GroupSaidSchema)
@auth.rule(auth.anyone(limits.ENROL, limit_bytes=by_practice.SMALL_BYTES))
def post_restore(body):
    """Say what a code to restore leads to; no entry of a log."""
    house = context()
    with read(house.engine) as connection:
        offered = giving.offered(connection, body["code"], now=house.clock.now())
    return {"said": words.say(house.server_key, "offered", **offered)}


@blueprint.route("/group/restore/entries", methods=["POST"])
@by_practice.signed
@blueprint.arguments(schemas.GroupPageQuerySchema)
@blueprint.response(200, schemas.GroupPageSchema)
@auth.rule(_SMALL)
def post_restore_entries(body):
    """Give a practice entries of its own log back."""
    house, practice = context(), by_practice.practice()
    with write(house.engine) as connection:
        return giving.page(
            connection,
            practice,
            secret=body["code"],
            location_id=body["location_id"],
            after=body["after"],
            now=house.clock.now(),
        )


@blueprint.route("/group/restore/photographs", methods=["POST"])
@by_practice.signed
@blueprint.arguments(schemas.GroupPhotographsQuerySchema)
@blueprint.response(200, schemas.GroupPhotographsSchema)
@auth.rule(_SMALL)
def post_restore_photographs(body):
    """Say which photographs of a practice's own log are here."""
    house, practice = context(), by_practice.practice()
    with read(house.engine) as connection:
        found = giving.photographs(
            connection,
            practice,
            secret=body["code"],
            location_id=body["location_id"],
            after=body["after"],
            now=house.clock.now(),
        )
    return {"photographs": found}


@blueprint.route("/group/restore/photograph", methods=["POST"])
@by_practice.signed
@blueprint.arguments(schemas.GroupPhotographQuerySchema)
@blueprint.response(200, schemas.GroupPhotographSchema)
@auth.rule(_SMALL)
def post_restore_photograph(body):
    """Give a practice a photograph of its own back."""
    house, practice = context(), by_practice.practice()
    with read(house.engine) as connection:
        content = giving.photograph(
            connection,
            practice,
            secret=body["code"],
            location_id=body["location_id"],
            sha256=body["sha256"],
            now=house.clock.now(),
        )
    return {"content": base64.b64encode(content).decode("ascii")}


@blueprint.route("/group/restore/done", methods=["POST"])
@by_practice.signed
@blueprint.arguments(schemas.GroupCodeSchema)
@blueprint.response(200, schemas.GroupTimeSchema)
@auth.rule(_SMALL)
def post_restore_done(body):
    """Use up the code of a restore that has everything."""
    house, practice = context(), by_practice.practice()
    with write(house.engine) as connection:
        giving.done(connection, practice, body["code"], now=house.clock.now())
    return {"server_time": rfc3339(house.clock.now())}
