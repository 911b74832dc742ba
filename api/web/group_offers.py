"""What a practice asks of its group about what is rolled out to it."""

from api.clock import rfc3339
from api.events import signing
from api.group import rolling_out, words
from api.storage.engine import read
from api.web import auth, by_practice, limits
from api.web import group_schemas as schemas
from api.web.blueprint import Blueprint
from api.web.context import context

blueprint = Blueprint("group_offers", __name__, description="What a group rolls out to a practice")

_SMALL = auth.anyone(limits.GROUP, limit_bytes=by_practice.SMALL_BYTES)


@blueprint.route("/group/offers", methods=["POST"])
@by_practice.signed
@blueprint.arguments(schemas.GroupNothingSchema)
@blueprint.response(200, schemas.GroupOfferedSchema)
@auth.rule(_SMALL)
def post_offers(_body):
    """Say which roll-outs go to the practice, of each list and each preset the newest."""
    house, practice = context(), by_practice.practice()
    with read(house.engine) as connection:
        found = rolling_out.for_practice(connection, practice["practice_id"])
    said = words.say(
        house.server_key,
        "offers",
        practice_id=practice["practice_id"],
        at=rfc3339(house.clock.now()),
        rollout_ids=[one["rollout_id"] for one in found],
    )
    return {"said": said}


@blueprint.route("/group/offer", methods=["POST"])
@by_practice.signed
@blueprint.arguments(schemas.GroupOfferQuerySchema)
@blueprint.response(200, schemas.GroupOfferedSchema)
@auth.rule(_SMALL)
def post_offer(body):
    """Give the practice one roll-out, by value, in the group's signed word."""
    house, practice = context(), by_practice.practice()
    with read(house.engine) as connection:
        one = rolling_out.offer(
            connection,
            practice["practice_id"],
            body["rollout_id"],
            group_key=words.fingerprint(signing.public_key_text(house.server_key)),
        )
    said = words.say(
        house.server_key,
        "offer",
        practice_id=practice["practice_id"],
        at=rfc3339(house.clock.now()),
        **one,
    )
    return {"said": said}
