"""One-time links: made by an administrator, used by the person they are for."""

import marshmallow as ma

from api.errors import NotAllowed, NotFound
from api.people import links
from api.people import service as people
from api.storage.engine import write
from api.web import auth
from api.web.blueprint import Blueprint
from api.web.context import context

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


@blueprint.route("/people/<person_id>/link", methods=["POST"])
@blueprint.arguments(LinkForSchema)
@blueprint.response(201, LinkSchema)
@auth.rule(auth.desk("people.write"))
def post_link(body, person_id):
    """Make a one-time link at which a person sets their own password and PIN."""
    house, who = context(), auth.caller()
    with write(house.engine) as connection:
        person = people.person_document(connection, who.location_id, person_id)
        if person is None:
            raise NotFound("person_unknown", "There is no such person.")
        if not links.may_make_for(who.roles, person):
            raise NotAllowed(
                "administrator_only", "Only an administrator makes a link for an administrator."
            )
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
