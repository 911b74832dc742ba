"""One-time links: made by an administrator, used by the person they are for."""

import marshmallow as ma

from api.errors import NotAllowed, NotFound
from api.people import links, visits
from api.people.work import working_here
from api.storage.engine import EVERYWHERE, read, write
from api.web import auth, relying_party
from api.web.blueprint import Blueprint, words
from api.web.context import context
from api.web.second_factors import (
    BegunPasskeySchema,
    BegunTotpSchema,
    CodesSchema,
    PasskeySchema,
    TotpSchema,
    means,
    passkeys_here,
)

blueprint = Blueprint("links", __name__, description="One-time links to set secrets at")


class LinkForSchema(ma.Schema):
    """What a link is for."""

    purpose = ma.fields.String(
        required=True, validate=ma.validate.OneOf((links.INVITE, links.RESET, links.RESET_ALL))
    )


class LinkSchema(ma.Schema):
    """Where the link leads, once and until when; the server cannot show it again."""

    path = ma.fields.String(required=True)
    purpose = ma.fields.String(required=True)
    expires_at = ma.fields.String(required=True)


class LinkTokenSchema(ma.Schema):
    """The link, by what follows the last stroke of its address."""

    token = words(required=True, at_most=64)


class VisitSchema(ma.Schema):
    """Whose link it is, and what must, may or cannot be set."""

    purpose = ma.fields.String(required=True)
    display_name = ma.fields.String(required=True)
    practice_name = ma.fields.String(required=True)
    location_name = ma.fields.String(required=True)
    sign_in = ma.fields.String(required=True, allow_none=True)
    has_factor = ma.fields.Boolean(required=True)
    password = ma.fields.String(required=True)
    pin = ma.fields.String(required=True)
    passkeys_here = ma.fields.Boolean(required=True)
    expires_at = ma.fields.String(required=True)


class VisitUseSchema(LinkTokenSchema):
    """What is set; all of it, or nothing where anything is wrong."""

    sign_in = words(at_most=80)
    password = words(at_most=1024)
    pin = words(at_most=32)
    totp = ma.fields.Nested(TotpSchema)
    passkey = ma.fields.Nested(PasskeySchema)


@blueprint.route("/people/<person_id>/link", methods=["POST"])
@blueprint.arguments(LinkForSchema)
@blueprint.response(201, LinkSchema)
@auth.rule(auth.desk("people.write"))
def post_link(body, person_id):
    """Make a one-time link at which a person sets their own password and PIN."""
    house, who = context(), auth.caller()
    with read(house.engine, locations=EVERYWHERE) as connection:
        person = working_here(connection, who.location_id, person_id)
        if person is None:
            raise NotFound("person_unknown", "There is no such person.")
        if not links.may_make_for(who.roles, person):
            raise NotAllowed(
                "administrator_only", "Only an administrator makes a link for an administrator."
            )
        visits.must_open_something(
            connection,
            location_id=who.location_id,
            person=person,
            purpose=body["purpose"],
            made_by=who.person_id,
            now=house.clock.now(),
        )
    with write(house.engine) as connection:
        made = links.make_link(
            connection,
            location_id=who.location_id,
            person_id=person_id,
            purpose=body["purpose"],
            made_by=who.person_id,
            clock=house.clock,
            random=house.random,
        )
    return {name: made[name] for name in ("path", "purpose", "expires_at")}


@blueprint.route("/links/open", methods=["POST"])
@blueprint.arguments(LinkTokenSchema)
@blueprint.response(200, VisitSchema)
@auth.rule(auth.LINK)
def open_link(body):
    """Say whose link this is and what is to be set; looking does not use it up."""
    house = context()
    with read(house.engine) as connection:
        found = visits.look(connection, body["token"], now=house.clock.now())
    return {**found, **passkeys_here()}


@blueprint.route("/links/totp", methods=["POST"])
@blueprint.arguments(LinkTokenSchema)
@blueprint.response(200, BegunTotpSchema)
@auth.rule(auth.LINK)
def begin_totp_by_link(body):
    """Begin codes by time in the visit of a link."""
    house = context()
    with write(house.engine) as connection:
        return visits.begin_totp(
            connection,
            house.server_key,
            token=body["token"],
            **means(),
        )


@blueprint.route("/links/passkey", methods=["POST"])
@blueprint.arguments(LinkTokenSchema)
@blueprint.response(200, BegunPasskeySchema)
@auth.rule(auth.LINK)
def begin_passkey_by_link(body):
    """Begin a passkey in the visit of a link."""
    house = context()
    with write(house.engine) as connection:
        return visits.begin_passkey(
            connection,
            relying_party.here(),
            token=body["token"],
            **means(),
        )


@blueprint.route("/links/use", methods=["POST"])
@blueprint.arguments(VisitUseSchema)
@blueprint.response(200, CodesSchema)
@auth.rule(auth.LINK)
def use_link(body):
    """Use a link up: set password, PIN and second factor as given."""
    house = context()
    with write(house.engine) as connection:
        codes = visits.use(
            connection,
            house.server_key,
            relying_party.here(),
            token=body["token"],
            sign_in=body.get("sign_in"),
            password=body.get("password"),
            pin=body.get("pin"),
            totp=body.get("totp"),
            passkey=body.get("passkey"),
            **means(),
        )
    return {"recovery_codes": codes}
