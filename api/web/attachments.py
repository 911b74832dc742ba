"""Photographs: put under the hash of their bytes, and got by it."""

import marshmallow as ma
from flask import Response

from api.people import rights
from api.records import attachments
from api.storage.engine import write
from api.web import auth, handing_in
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


@blueprint.route("/attachments/<sha256>", methods=["PUT"])
@blueprint.doc(requestBody={"required": True, "content": {attachments.MEDIA_TYPE: _JPEG}})
@blueprint.response(200, KeptSchema)
@auth.rule(auth.handed_in(takes=attachments.MEDIA_TYPE, limit_bytes=attachments.LIMIT_BYTES))
def put_attachment(sha256):
    """Keep a photograph that an entry here names; putting it again changes nothing.

    As its entries are, it is handed in by the tablet alone, also while that is locked, and for a
    while after that was revoked.
    """
    house, tablet = context(), auth.caller()
    handing_in.check_revoked(tablet)
    content = handing_in.whole_body(
        limit_bytes=attachments.LIMIT_BYTES, code="attachment_broken_off"
    )
    with write(house.engine) as connection:
        return attachments.keep(
            connection,
            location_id=tablet.location_id,
            sha256=sha256,
            content=content,
            tablet_id=tablet.tablet_id,
            now=house.clock.now(),
        )


@blueprint.route("/attachments/<sha256>", methods=["GET"])
@blueprint.response(200, content_type=attachments.MEDIA_TYPE, description="The photograph")
@auth.rule(auth.person("record.read"))
def get_attachment(sha256):
    """Get a photograph; one of an entry that was put aside whoever looks into that."""
    house, who = context(), auth.caller()
    with write(house.engine) as connection:
        found = attachments.fetch(
            connection,
            location_id=who.location_id,
            sha256=sha256,
            actor_id=who.person_id,
            tablet_id=who.tablet_id,
            put_aside_too=rights.allowed(who.roles, "aside.read"),
            now=house.clock.now(),
        )
    return Response(found["content"], content_type=found["media_type"])
