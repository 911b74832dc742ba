"""One's own secrets at a desk: password, PIN, second factors, recovery codes."""

from collections.abc import Iterator
from contextlib import contextmanager

import marshmallow as ma
from flask import jsonify

from api.people import factors, homes, own, visits
from api.people import service as people
from api.storage import reach
from api.storage.engine import read, write
from api.web import agents, auth, limits, relying_party
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

blueprint = Blueprint("me", __name__, description="One's own password, PIN and second factors")

# Each change asks for the password again, and so may be used to guess at it.
CHANGE = auth.Rule(frozenset({"desk"}), limit=limits.PASSWORD)


class OwnFactorSchema(ma.Schema):
    """A second factor, without its secret."""

    factor_id = ma.fields.String(required=True)
    kind = ma.fields.String(required=True)
    label = ma.fields.String(required=True)
    made_at = ma.fields.String(required=True)
    used_at = ma.fields.String(required=True, allow_none=True)


class MeSchema(ma.Schema):
    """What one may know of one's own secrets."""

    sign_in = ma.fields.String(required=True, allow_none=True)
    has_pin = ma.fields.Boolean(required=True)
    may_have_pin = ma.fields.Boolean(required=True)
    factors = ma.fields.List(ma.fields.Nested(OwnFactorSchema), required=True)
    recovery_codes_left = ma.fields.Integer(required=True)
    passkeys_here = ma.fields.Boolean(required=True)


class PasswordNowSchema(ma.Schema):
    """The password as it is now."""

    password_now = words(required=True, at_most=1024)


class NewPasswordSchema(PasswordNowSchema):
    """And as it is to be."""

    password = words(required=True, at_most=1024)


class NewPinSchema(PasswordNowSchema):
    """And a PIN for tablets."""

    pin = words(required=True, at_most=32)


class SignedInAnewSchema(ma.Schema):
    """Until when this desk is signed in now."""

    expires_at = ma.fields.String()


@contextmanager
def _at_home() -> Iterator[dict[str, str]]:
    """Reach all locations where the caller works; gives whose password is kept where."""
    who = auth.caller()
    home = homes.home_of(context().engine, who.person_id, here=who.location_id)
    with reach.within(*home.reach):
        yield {"location_id": home.location_id, "person_id": who.person_id}


@contextmanager
def _proven(body) -> Iterator[dict[str, str]]:
    """The same, once the caller has shown the password."""
    with _at_home() as whose:
        own.prove(context().engine, **whose, password=body["password_now"], clock=context().clock)
        yield whose


@blueprint.route("/me", methods=["GET"])
@blueprint.response(200, MeSchema)
@auth.rule(auth.DESK)
def get_me():
    """Say what is set up."""
    with _at_home() as whose, read(context().engine) as connection:
        found = own.of_person(connection, **whose, here=auth.caller().location_id)
    return {
        **found,
        "may_have_pin": found["has_pin"] or visits.wants_pin(auth.caller().roles),
        **passkeys_here(),
    }


@blueprint.route("/me/password", methods=["POST"])
@blueprint.arguments(NewPasswordSchema)
@blueprint.response(200, SignedInAnewSchema)
@auth.rule(CHANGE)
def change_password(body):
    """Change one's password; sessions elsewhere end."""
    with _proven(body) as whose, write(context().engine) as connection:
        opened = own.change_password(
            connection,
            **whose,
            here=auth.caller().location_id,
            password=body["password"],
            agent=agents.of_request(),
            **means(),
        )
    response = jsonify({"expires_at": opened["expires_at"]})
    auth.set_cookie(response, opened["token"])
    return response


@blueprint.route("/me/pin", methods=["POST"])
@blueprint.arguments(NewPinSchema)
@blueprint.response(204)
@auth.rule(CHANGE)
def change_pin(body):
    """Change one's PIN for the tablets of this location."""
    who = auth.caller()
    with _proven(body), write(context().engine) as connection:
        people.set_pin(
            connection,
            location_id=who.location_id,
            person_id=who.person_id,
            pin=body["pin"],
            actor_id=who.person_id,
            **means(),
        )


@blueprint.route("/me/totp", methods=["POST"])
@blueprint.arguments(PasswordNowSchema)
@blueprint.response(200, BegunTotpSchema)
@auth.rule(CHANGE)
def begin_totp(body):
    """Begin codes by time."""
    with _proven(body) as whose, write(context().engine) as connection:
        account = own.of_person(connection, **whose)["sign_in"]
        return factors.begin_totp(
            connection, context().server_key, **whose, account=account, **means()
        )


@blueprint.route("/me/totp/confirm", methods=["POST"])
@blueprint.arguments(TotpSchema)
@blueprint.response(200, CodesSchema)
@auth.rule(auth.DESK)
def confirm_totp(body):
    """Let codes by time count from now on."""
    with _at_home() as whose, write(context().engine) as connection:
        factors.confirm_totp(
            connection, context().server_key, **whose, **body, clock=context().clock
        )
        return _codes_if_none(connection, whose)


@blueprint.route("/me/passkey", methods=["POST"])
@blueprint.arguments(PasswordNowSchema)
@blueprint.response(200, BegunPasskeySchema)
@auth.rule(CHANGE)
def begin_passkey(body):
    """Begin a passkey."""
    with _proven(body) as whose, write(context().engine) as connection:
        account = own.of_person(connection, **whose)["sign_in"]
        return factors.begin_passkey(
            connection,
            relying_party.here(),
            **whose,
            account=account,
            display_name=auth.caller().person["display_name"],
            **means(),
        )


@blueprint.route("/me/passkey/confirm", methods=["POST"])
@blueprint.arguments(PasskeySchema)
@blueprint.response(200, CodesSchema)
@auth.rule(auth.DESK)
def confirm_passkey(body):
    """Add the passkey that the browser made."""
    with _at_home() as whose, write(context().engine) as connection:
        factors.confirm_passkey(connection, relying_party.here(), **whose, **body, **means())
        return _codes_if_none(connection, whose)


@blueprint.route("/me/factors/<factor_id>/remove", methods=["POST"])
@blueprint.arguments(PasswordNowSchema)
@blueprint.response(204)
@auth.rule(CHANGE)
def remove_factor(body, factor_id):
    """Take a second factor away."""
    with _proven(body) as whose, write(context().engine) as connection:
        own.remove_factor(
            connection,
            **whose,
            factor_id=factor_id,
            password=body["password_now"],
            clock=context().clock,
        )


@blueprint.route("/me/recovery-codes", methods=["POST"])
@blueprint.arguments(PasswordNowSchema)
@blueprint.response(200, CodesSchema)
@auth.rule(CHANGE)
def renew_recovery_codes(body):
    """Make new recovery codes in place of the old."""
    with _proven(body) as whose, write(context().engine) as connection:
        own.must_have_factor(connection, **whose)
        codes = factors.new_recovery_codes(connection, **whose, **means())
    return {"recovery_codes": codes}


def _codes_if_none(connection, whose) -> dict:
    return {"recovery_codes": factors.codes_if_none(connection, **whose, **means())}
