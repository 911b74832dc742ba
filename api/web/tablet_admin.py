"""Tablets at the administrator's desk: who they are, a code for a new one, shutting one out."""

import marshmallow as ma
from flask import request

from api.clock import rfc3339
from api.people import enrol_link, tablet_list, tablets
from api.storage.engine import read, write
from api.sync import house_tablets
from api.web import auth
from api.web.blueprint import Blueprint, words
from api.web.context import context

blueprint = Blueprint("tablet-admin", __name__, description="Tablets, for administrators")

_MAY = auth.desk("tablet.write")


class ListedTabletSchema(ma.Schema):
    """One tablet."""

    tablet_id = ma.fields.String(required=True)
    label = ma.fields.String(required=True)
    enrolled_at = ma.fields.String(required=True)
    enrolled_by = ma.fields.String(allow_none=True, required=True)
    last_seen_at = ma.fields.String(allow_none=True, required=True)
    waiting = ma.fields.Integer(allow_none=True, required=True)
    quarantined = ma.fields.Integer(required=True)
    revoked_at = ma.fields.String(allow_none=True, required=True)
    revoked_by = ma.fields.String(allow_none=True, required=True)
    revoked_because = ma.fields.String(allow_none=True, required=True)
    forked_at = ma.fields.String(allow_none=True, required=True)
    unconfirmed = ma.fields.Boolean(required=True)
    replaces = ma.fields.String(allow_none=True, required=True)


class TabletsSchema(ma.Schema):
    """The tablets of the location."""

    tablets = ma.fields.List(ma.fields.Nested(ListedTabletSchema), required=True)


class QrSchema(ma.Schema):
    """A QR code to draw: an SVG path in a square of ``modules`` units, stroked one unit wide."""

    modules = ma.fields.Integer(required=True)
    path = ma.fields.String(required=True)


class CodeSchema(ma.Schema):
    """A one-time code, the address that carries it behind its ``#``, and that as a QR code."""

    code = ma.fields.String(required=True)
    expires_at = ma.fields.String(required=True)
    server_time = ma.fields.String(required=True)
    address = ma.fields.String(required=True)
    qr = ma.fields.Nested(QrSchema, required=True)


class LabelSchema(ma.Schema):
    """How people call a tablet."""

    label = words(required=True, at_most=tablets.LONGEST_LABEL)


class ReasonSchema(ma.Schema):
    """Why a tablet is shut out."""

    reason = words(required=True, at_most=500)


class DoneSchema(ma.Schema):
    """The event that says so, and where it stands in the log."""

    event_id = ma.fields.String(required=True)
    position = ma.fields.Integer(required=True)


@blueprint.route("/tablets", methods=["GET"])
@blueprint.response(200, TabletsSchema)
@auth.rule(_MAY)
def get_tablets():
    """List the tablets of the caller's location."""
    with read(context().engine) as connection:
        return {"tablets": tablet_list.listed(connection, location_id=auth.caller().location_id)}


@blueprint.route("/tablets/codes", methods=["POST"])
@blueprint.response(201, CodeSchema)
@auth.rule(_MAY)
def post_code():
    """Make a one-time code; it is shown once, and only its hash is kept."""
    house, who = context(), auth.caller()
    with write(house.engine) as connection:
        made = tablets.make_code(
            connection,
            location_id=who.location_id,
            made_by=who.person_id,
            clock=house.clock,
            random=house.random,
        )
    address = enrol_link.address(request.host_url, made["code"])
    return {
        **made,
        "server_time": rfc3339(house.clock.now()),
        "address": address,
        "qr": enrol_link.qr(address),
    }


@blueprint.route("/tablets/<tablet_id>/rename", methods=["POST"])
@blueprint.arguments(LabelSchema)
@blueprint.response(200, DoneSchema)
@auth.rule(_MAY)
def post_rename(body, tablet_id):
    """Give a tablet another name."""
    with write(context().engine) as connection:
        return house_tablets.rename(_doing(connection), tablet_id=tablet_id, label=body["label"])


@blueprint.route("/tablets/<tablet_id>/revoke", methods=["POST"])
@blueprint.arguments(ReasonSchema)
@blueprint.response(200, DoneSchema)
@auth.rule(_MAY)
def post_revoke(body, tablet_id):
    """Shut a tablet out, at once: it may only hand in what it still holds."""
    with write(context().engine) as connection:
        return house_tablets.revoke(_doing(connection), tablet_id=tablet_id, reason=body["reason"])


@blueprint.route("/tablets/<tablet_id>/confirm", methods=["POST"])
@blueprint.response(200, DoneSchema)
@auth.rule(_MAY)
def post_confirm(tablet_id):
    """Take in a tablet that the server knew by its certificate only."""
    with write(context().engine) as connection:
        return house_tablets.confirm(_doing(connection), tablet_id=tablet_id)


def _doing(connection):
    house, who = context(), auth.caller()
    return house_tablets.Doing(
        connection=connection,
        clock=house.clock,
        server_key=house.server_key,
        projectors=house.projectors,
        random=house.random,
        location_id=who.location_id,
        actor_id=who.person_id,
    )
