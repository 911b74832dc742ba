"""Certificates of maintenance and calibrations: put under the hash of their bytes, got by it."""

import marshmallow as ma
from flask import Response

from api.files import papers
from api.people import rights
from api.registers import certificates
from api.storage.engine import read, write
from api.web import auth, handing_in, headers
from api.web.blueprint import Blueprint
from api.web.context import context

blueprint = Blueprint("certificates", __name__, description="Certificates of lasers and meters")

# What kind of file it is, its bytes say: a stated kind would have to be doubted anyway.
TAKES = "application/octet-stream"
_FILE = {"schema": {"type": "string", "format": "binary"}}
_ENDINGS = {papers.PDF: "pdf", papers.JPEG: "jpg", papers.PNG: "png"}
_WRITE = "device.write"


class CertificateKeptSchema(ma.Schema):
    """What was kept."""

    sha256 = ma.fields.String(required=True)
    media_type = ma.fields.String(required=True)
    size_bytes = ma.fields.Integer(required=True)
    new = ma.fields.Boolean(required=True)


class CertificateHeldSchema(ma.Schema):
    """A certificate whose bytes are here; ``named`` says whether any entry names it."""

    sha256 = ma.fields.String(required=True)
    media_type = ma.fields.String(required=True)
    size_bytes = ma.fields.Integer(required=True)
    received_at = ma.fields.String(required=True)
    actor_id = ma.fields.String(required=True, allow_none=True)
    tablet_id = ma.fields.String(required=True, allow_none=True)
    named = ma.fields.Boolean(required=True)


class CertificateListSchema(ma.Schema):
    """Whose bytes are here."""

    certificates = ma.fields.List(ma.fields.Nested(CertificateHeldSchema), required=True)


@blueprint.route("/certificates/<sha256>", methods=["PUT"])
@blueprint.doc(requestBody={"required": True, "content": {TAKES: _FILE}})
@blueprint.response(200, CertificateKeptSchema)
@auth.rule(auth.handed_in(takes=TAKES, limit_bytes=certificates.LIMIT_BYTES, right_at_desk=_WRITE))
def put_certificate(sha256):
    """Keep a PDF, JPEG or PNG; putting it again changes nothing.

    At a desk it comes before the entry that names it, from whoever may write that one. A tablet
    hands it in by itself, after its entry, as it does with photographs.
    """
    house, who = context(), auth.caller()
    if who.way == "tablet":
        handing_in.check_revoked(who)
    content = handing_in.whole_body(
        limit_bytes=certificates.LIMIT_BYTES, code="certificate_broken_off"
    )
    with write(house.engine) as connection:
        return certificates.keep(
            connection,
            location_id=who.location_id,
            sha256=sha256,
            content=content,
            actor_id=who.person_id,
            tablet_id=who.tablet_id,
            now=house.clock.now(),
        )


@blueprint.route("/certificates/<sha256>", methods=["GET"])
@blueprint.response(200, content_type=papers.PDF, description="The certificate")
@blueprint.alt_response(200, content_type=papers.JPEG, description="The certificate")
@blueprint.alt_response(200, content_type=papers.PNG, description="The certificate")
@auth.rule(auth.person("house.read"))
def get_certificate(sha256):
    """Get a certificate as a file to be saved; one that nothing names yet whoever may write."""
    house, who = context(), auth.caller()
    with write(house.engine) as connection:
        found = certificates.fetch(
            connection,
            location_id=who.location_id,
            sha256=sha256,
            actor_id=who.person_id,
            tablet_id=who.tablet_id,
            unnamed_too=rights.allowed(who.roles, _WRITE),
            put_aside_too=rights.allowed(who.roles, "aside.read"),
            now=house.clock.now(),
        )
    response = Response(found["content"], content_type=found["media_type"])
    name = f"certificate-{sha256[:8]}.{_ENDINGS[found['media_type']]}"
    response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    # Whatever a reader makes of it: it runs nothing, and belongs to no origin.
    response.headers["Content-Security-Policy"] = headers.SANDBOX
    return response


@blueprint.route("/certificates", methods=["GET"])
@blueprint.response(200, CertificateListSchema)
@auth.rule(auth.person("house.read"))
def get_certificates():
    """Say of which certificates the bytes are here, and to whoever may write which are unused."""
    who = auth.caller()
    with read(context().engine) as connection:
        found = certificates.listed(
            connection, who.location_id, unnamed_too=rights.allowed(who.roles, _WRITE)
        )
    return {"certificates": found}
