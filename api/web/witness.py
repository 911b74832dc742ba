"""The alarm of a tablet whose log is not the server's, and what it says of it with each pull."""

import marshmallow as ma

from api.sync import witness
from api.sync.house_tablets import Doing
from api.web import auth
from api.web.blueprint import Blueprint, words
from api.web.context import context

blueprint = Blueprint("witness", __name__, description="Tablets as witnesses of the log")


class AlarmSchema(ma.Schema):
    """Where the log does not fit, what the tablet had there, and what the server gave."""

    position = ma.fields.Integer(required=True, strict=True, validate=ma.validate.Range(0, 2**53))
    expected = words(required=True, at_most=200)
    found = words(required=True, at_most=200)


class HeardSchema(ma.Schema):
    """Whether this is the first that was heard of it."""

    new = ma.fields.Boolean(required=True)


@blueprint.route("/sync/alarm", methods=["POST"])
@blueprint.arguments(AlarmSchema)
@blueprint.response(200, HeardSchema)
@auth.rule(auth.TABLET)
def post_alarm(body):
    """Hear that a tablet's log is not the server's; who looks after tablets is told at a desk."""
    who = auth.caller()
    return {
        "new": witness.raise_alarm(
            context().engine, _doing(who.location_id), tablet_id=who.tablet_id, **body
        )
    }


def heed(tablet: auth.Caller, query: dict, epoch: str) -> None:
    """Keep what a pull says of the log, where it says anything."""
    if "seen_position" not in query or "seen_link" not in query:
        return
    witness.heed(
        context().engine,
        _doing(tablet.location_id),
        tablet_id=tablet.tablet_id,
        epoch=epoch,
        position=query["seen_position"],
        link=bytes.fromhex(query["seen_link"]),
    )


def _doing(location_id: str) -> Doing:
    house = context()
    return Doing(
        connection=None,
        clock=house.clock,
        server_key=house.server_key,
        projectors=house.projectors,
        random=house.random,
        location_id=location_id,
        actor_id=None,
    )
