"""Photographs: put under the hash of their bytes, and got by it."""

import marshmallow as ma
from flask import Response, request

from api.clock import parse_rfc3339
from api.errors import BadInput, NotAllowed
from api.people import rights
from api.records import attachments
from api.storage.engine import write
from api.sync.push import REVOKED_MAY_PUSH
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
    _check_revoked(tablet)
    # One byte more than is allowed, so that what is too long is seen and not cut.
    content = request.stream.read(attachments.LIMIT_BYTES + 1)
    if len(content) != (request.content_length or 0):
        raise BadInput("attachment_broken_off", "Not all of the photograph arrived.")
    with write(house.engine) as connection:
        return attachments.keep(
            connection,
            location_id=tablet.location_id,
            sha256=sha256,
            content=content,
            tablet_id=tablet.tablet_id,
            now=house.clock.now(),
        )


def _check_revoked(tablet: auth.Caller) -> None:
    """Refuse what comes from a tablet after it may hand nothing in any more."""
    revoked_at = tablet.tablet["revoked_at"]
    now = context().clock.now()
    if revoked_at is not None and now - parse_rfc3339(revoked_at) > REVOKED_MAY_PUSH:
        raise NotAllowed("tablet_revoked", "This tablet was revoked.")


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
