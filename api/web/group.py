"""What a practice asks of the group server that follows it; see the modules of ``api.group``.

Each request but the first two is signed by the practice's own key over its path, its time and its
body, and answered in the group's signed word where it matters. No cookie and no token.
"""

import base64
import binascii

from api.clock import rfc3339
from api.errors import BadInput
from api.events import signing
from api.group import joining, meeting, taking, words
from api.storage.engine import write
from api.web import auth, by_practice, group_house, limits
from api.web import group_schemas as schemas
from api.web.blueprint import Blueprint
from api.web.context import context

blueprint = Blueprint("group", __name__, description="A practice at the group that follows it")

_IN = auth.anyone(limits.GROUP)
_SMALL = auth.anyone(limits.GROUP, limit_bytes=by_practice.SMALL_BYTES)


@blueprint.route("/group/identity", methods=["POST"])
@blueprint.arguments(schemas.GroupNonceSchema)
@blueprint.response(200, schemas.GroupIdentitySchema)
@auth.rule(_SMALL)
def post_identity(body):
    """Prove which key this server has, and say what time it is here."""
    house = context()
    said = words.say(
        house.server_key, "identity", nonce=body["nonce"], at=rfc3339(house.clock.now())
    )
    return {"public_key": signing.public_key_text(house.server_key), "said": said}


@blueprint.route("/group/join", methods=["POST"])
@blueprint.arguments(schemas.GroupJoinSchema)
@blueprint.response(201, schemas.GroupJoinedSchema)
@auth.rule(auth.anyone(limits.ENROL, limit_bytes=by_practice.SMALL_BYTES))
def post_join(body):
    """Follow the practice that a one-time code was made for."""
    house = context()
    with write(house.engine) as connection:
        return joining.join(
            connection,
            house.clock,
            house.random,
            house.server_key,
            secret=body["code"],
            statement=body["statement"],
            public_key=body["public_key"],
            name=body["name"],
        )


@blueprint.route("/group/key", methods=["POST"])
@by_practice.signed
@blueprint.arguments(schemas.GroupSealedSchema)
@blueprint.response(200, schemas.GroupTimeSchema)
@auth.rule(_SMALL)
def post_key(body):
    """Keep the practice's own key for it, sealed."""
    house, practice = context(), by_practice.practice()
    try:
        sealed = base64.b64decode(body["sealed_key"], validate=True)
    except (binascii.Error, ValueError):
        raise BadInput("key_unreadable", "This is no sealed key.", field="sealed_key") from None
    with write(house.engine) as connection:
        joining.keep_key(connection, practice["practice_id"], sealed)
    return {"server_time": rfc3339(house.clock.now())}


@blueprint.route("/group/meet", methods=["POST"])
@by_practice.signed
@blueprint.arguments(schemas.GroupMeetSchema)
@blueprint.response(200, schemas.GroupSaidSchema)
@auth.rule(_IN)
def post_meet(body):
    """Say up to where the logs here are the practice's own."""
    house, practice = context(), by_practice.practice()
    met = meeting.meet(group_house.get(), practice["practice_id"], body["locations"])
    said = words.say(
        house.server_key,
        "met",
        practice_id=practice["practice_id"],
        at=rfc3339(house.clock.now()),
        locations=met,
    )
    return {"said": said}


@blueprint.route("/group/entries", methods=["POST"])
@by_practice.signed
@blueprint.arguments(schemas.GroupBatchSchema)
@blueprint.response(200, schemas.GroupSaidSchema)
@auth.rule(_IN)
def post_entries(body):
    """Take entries of a log in, and acknowledge them in the group's signed word."""
    practice = by_practice.practice()
    return {"said": taking.take(group_house.get(), practice["practice_id"], body)}
