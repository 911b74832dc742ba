"""Passkeys and security keys (WebAuthn, level 2) as second factor: asked for and checked."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import webauthn
from webauthn.helpers import structs

from api.events.signing import from_base64url, to_base64url


@dataclass(frozen=True, kw_only=True)
class RelyingParty:
    """For whom a passkey is made: the domain it is bound to, and the one origin it is used from."""

    domain: str
    origin: str
    name: str = "Dosebook"


def to_add(
    party: RelyingParty,
    *,
    account: str,
    display_name: str,
    user: bytes,
    known: Sequence[str],
    challenge: bytes,
) -> dict[str, Any]:
    """Return what a browser's ``credentials.create`` is given, as JSON.

    ``user`` stands for the person and says nothing about them; a key that is in ``known`` already
    is not added a second time.
    """
    return webauthn.helpers.options_to_json_dict(
        webauthn.generate_registration_options(
            rp_id=party.domain,
            rp_name=party.name,
            user_name=account,
            user_display_name=display_name,
            user_id=user,
            challenge=challenge,
            exclude_credentials=_descriptors(known),
            # A second factor beside the password: a plain security key will do, and need not
            # keep the name of anybody.
            authenticator_selection=structs.AuthenticatorSelectionCriteria(
                resident_key=structs.ResidentKeyRequirement.DISCOURAGED,
                user_verification=structs.UserVerificationRequirement.PREFERRED,
            ),
        )
    )


def added(party: RelyingParty, credential: Mapping, *, challenge: bytes) -> dict | None:
    """Return ``{"credential_id", "public_key", "counter"}`` of a new passkey, or None if wrong."""
    try:
        checked = webauthn.verify_registration_response(
            credential=dict(credential),
            expected_challenge=challenge,
            expected_rp_id=party.domain,
            expected_origin=party.origin,
        )
    # A stranger wrote what the library reads here, and it has no one error for all it meets.
    except Exception:
        return None
    return {
        "credential_id": to_base64url(checked.credential_id),
        "public_key": to_base64url(checked.credential_public_key),
        "counter": checked.sign_count,
    }


def to_prove(party: RelyingParty, *, known: Sequence[str], challenge: bytes) -> dict[str, Any]:
    """Return what a browser's ``credentials.get`` is given, as JSON."""
    return webauthn.helpers.options_to_json_dict(
        webauthn.generate_authentication_options(
            rp_id=party.domain, challenge=challenge, allow_credentials=_descriptors(known)
        )
    )


def proven(
    party: RelyingParty, credential: Mapping, *, challenge: bytes, public_key: str, counter: int
) -> int | None:
    """Return the new count of a passkey that signed ``challenge``, or None if it did not.

    A count that went back means a copied key, and is refused.
    """
    try:
        checked = webauthn.verify_authentication_response(
            credential=dict(credential),
            expected_challenge=challenge,
            expected_rp_id=party.domain,
            expected_origin=party.origin,
            credential_public_key=from_base64url(public_key),
            credential_current_sign_count=counter,
        )
    except Exception:
        return None
    return checked.new_sign_count


def _descriptors(known: Sequence[str]) -> list[structs.PublicKeyCredentialDescriptor]:
    return [structs.PublicKeyCredentialDescriptor(id=from_base64url(one)) for one in known]
