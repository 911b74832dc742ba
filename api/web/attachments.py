"""Photographs: put under the hash of their bytes, and got by it."""

import marshmallow as ma
from flask import Response, request

from api.errors import BadInput
from api.records import attachments
from api.storage.engine import write
from api.web import auth
from api.web.blueprint import Blueprint
from api.web.context import context

blueprint = Blueprint("attachments", __name__, description="Photographs of procedures")

_JPEG = {"schema": {"type": "string", "format": "binary"}}


class KeptSchema(ma.Schema):
    """What was kept."""

    sha256 = ma.fields.String(required=True)
    size_bytes = ma.fields.Integer(required=True)
    width_px = ma.fields.Integer(required=True)
    height_px = ma.fields.Integer(required=True)
    new = ma.fields.Boolean(required=True)


def _who() -> dict:
    who = auth.caller()
    return {
        "location_id": who.location_id,
        "actor_id": who.person_id,
        "tablet_id": who.tablet_id,
        "now": context().clock.now(),
    }


@blueprint.route("/attachments/<sha256>", methods=["PUT"])
@blueprint.doc(requestBody={"required": True, "content": {attachments.MEDIA_TYPE: _JPEG}})
@blueprint.response(200, KeptSchema)
@auth.rule(
    auth.on_tablet(
        "record.write", takes=attachments.MEDIA_TYPE, limit_bytes=attachments.LIMIT_BYTES
    )
)
def put_attachment(sha256):
    """Keep a photograph; putting it again changes nothing."""
    # One byte more than is allowed, so that what is too long is seen and not cut.
    content = request.stream.read(attachments.LIMIT_BYTES + 1)
    if len(content) != (request.content_length or 0):
        raise BadInput("attachment_broken_off", "Not all of the photograph arrived.")
    with write(context().engine) as connection:
        return attachments.keep(connection, sha256=sha256, content=content, **_who())


@blueprint.route("/attachments/<sha256>", methods=["GET"])
@blueprint.response(200, content_type=attachments.MEDIA_TYPE, description="The photograph")
@auth.rule(auth.person("record.read"))
def get_attachment(sha256):
    """Get a photograph."""
    with write(context().engine) as connection:
        found = attachments.fetch(connection, sha256=sha256, **_who())
    return Response(found["content"], content_type=found["media_type"])
