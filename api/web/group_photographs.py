"""What a practice asks of the group that follows it about the photographs of its records."""

from flask import request

from api.group import keeping_photographs
from api.records import attachments
from api.web import auth, by_practice, group_house, limits
from api.web import group_schemas as schemas
from api.web.blueprint import Blueprint

blueprint = Blueprint("group_photographs", __name__, description="Photographs go to the group")

_JPEG = {"schema": {"type": "string", "format": "binary"}}


@blueprint.route("/group/photographs", methods=["POST"])
@by_practice.signed
@blueprint.arguments(schemas.GroupHashesSchema)
@blueprint.response(200, schemas.GroupOfferedSchema)
@auth.rule(auth.anyone(limits.GROUP))
def post_photographs(body):
    """Say which of these photographs are not here yet."""
    said = keeping_photographs.missing(
        group_house.get(),
        by_practice.practice()["practice_id"],
        body["location_id"],
        body["photographs"],
    )
    return {"said": said}


@blueprint.route("/group/photographs/<location_id>/<sha256>", methods=["POST"])
@blueprint.doc(requestBody={"required": True, "content": {attachments.MEDIA_TYPE: _JPEG}})
@by_practice.signed
@blueprint.response(200, schemas.GroupSaidSchema)
@auth.rule(
    auth.anyone(limits.GROUP, takes=attachments.MEDIA_TYPE, limit_bytes=attachments.LIMIT_BYTES)
)
def post_photograph(location_id, sha256):
    """Keep one photograph that an entry here names; the same one again changes nothing."""
    said = keeping_photographs.keep(
        group_house.get(),
        by_practice.practice()["practice_id"],
        location_id,
        sha256,
        # The very bytes over which the signature was.
        request.get_data(cache=True),
    )
    return {"said": said}
