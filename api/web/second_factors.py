"""Second factors as three places speak of them: a sign-in, a link's visit, one's own settings."""

import marshmallow as ma

from api.web import relying_party
from api.web.blueprint import words
from api.web.context import context


class BegunTotpSchema(ma.Schema):
    """The secret for an app, in Base32 and as a picture (QR code); shown this once."""

    factor_id = ma.fields.String(required=True)
    secret = ma.fields.String(required=True)
    picture = ma.fields.String(required=True)


class BegunPasskeySchema(ma.Schema):
    """What the browser's `credentials.create` is given."""

    token = ma.fields.String(required=True)
    options = ma.fields.Dict(required=True)


class TotpSchema(ma.Schema):
    """A code of the app that was begun, and what its owner calls it."""

    factor_id = words(required=True, at_most=64)
    code = words(required=True, at_most=16)
    label = ma.fields.String(required=True, validate=ma.validate.Length(max=60))


class PasskeySchema(ma.Schema):
    """What `credentials.create` gave for what was begun, and what its owner calls it."""

    token = words(required=True, at_most=64)
    credential = ma.fields.Dict(required=True)
    label = ma.fields.String(required=True, validate=ma.validate.Length(max=60))


class CodesSchema(ma.Schema):
    """New recovery codes, which are never shown again; none where there are some already."""

    recovery_codes = ma.fields.List(ma.fields.String(), required=True)


def means() -> dict:
    """Return by which clock and chance secrets are made and proven."""
    house = context()
    return {"clock": house.clock, "random": house.random}


def passkeys_here() -> dict[str, bool]:
    """Say, as part of an answer, whether passkeys can be used at the address in use."""
    return {"passkeys_here": relying_party.here() is not None}
