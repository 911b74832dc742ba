"""The visit that a one-time link opens: a person sets a password, a PIN, a second factor."""

from collections.abc import Callable, Mapping
from datetime import datetime

from api.clock import Clock
from api.errors import BadInput
from api.events import signing
from api.people import factors, links, rights, service
from api.people.passkeys import RelyingParty
from api.storage import access, accounts, documents
from api.storage import factors as stored
from api.storage.engine import Connection

Random = Callable[[int], bytes]

MUST, MAY, NO = "must", "may", "no"


def look(connection: Connection, token: str, *, now: datetime) -> dict:
    """Return what the page of a link shows: whose it is, and what is to be set.

    Raises ``NotSignedIn`` link_wrong.
    """
    link = links.opened(connection, token, now=now)
    location_id, person_id = link["location_id"], link["person_id"]
    location = documents.get(connection, location_id, "location", location_id) or {}
    known = accounts.secret_of(connection, location_id, person_id) or {}
    return {
        "purpose": link["purpose"],
        "display_name": link["person"]["display_name"],
        "practice_name": location.get("practice_name", ""),
        "location_name": location.get("name", ""),
        "sign_in": known.get("sign_in"),
        "has_factor": _keeps_factor(connection, link),
        "expires_at": link["expires_at"],
        **_asked(link, known),
    }


def begin_totp(
    connection: Connection,
    server_key: signing.PrivateKey,
    *,
    token: str,
    clock: Clock,
    random: Random,
) -> dict:
    """Begin codes by time in the visit: see ``factors.begin_totp``."""
    link = links.opened(connection, token, now=clock.now())
    return factors.begin_totp(
        connection,
        server_key,
        **_whose(link),
        account=link["person"]["display_name"],
        clock=clock,
        random=random,
    )


def begin_passkey(
    connection: Connection,
    party: RelyingParty | None,
    *,
    token: str,
    clock: Clock,
    random: Random,
) -> dict:
    """Begin a passkey in the visit: see ``factors.begin_passkey``."""
    link = links.opened(connection, token, now=clock.now())
    name = link["person"]["display_name"]
    return factors.begin_passkey(
        connection,
        party,
        **_whose(link),
        account=name,
        display_name=name,
        clock=clock,
        random=random,
    )


def use(
    connection: Connection,
    server_key: signing.PrivateKey,
    party: RelyingParty | None,
    *,
    token: str,
    sign_in: str | None,
    password: str | None,
    pin: str | None,
    totp: Mapping | None,
    passkey: Mapping | None,
    clock: Clock,
    random: Random,
) -> list[str]:
    """Use a link up: set what is given, all or nothing; return new recovery codes, if any.

    ``totp`` is {factor_id, code, label} and ``passkey`` {token, credential, label} of what was
    begun in this visit. Raises ``NotSignedIn`` link_wrong, and ``BadInput`` with all that is wrong
    by field; the caller's transaction then leaves the link as it was.
    """
    now = clock.now()
    link = links.used_up(connection, token, now=now)
    whose = _whose(link)
    known = accounts.secret_of(connection, **whose) or {}
    _must_be_whole(_asked(link, known), sign_in=sign_in, password=password, pin=pin)
    if link["purpose"] == links.RESET_ALL:
        # What was begun in this visit is not confirmed yet, and stays.
        for row in stored.of_person(connection, **whose):
            stored.remove(connection, **whose, factor_id=row["factor_id"])
        stored.put_recovery_codes(connection, *whose.values(), [], now=now)
    codes = _add_factors(
        connection, server_key, party, whose, totp, passkey, clock=clock, random=random
    )
    means = {**whose, "actor_id": link["person_id"], "clock": clock, "random": random}
    if password:
        service.set_password(connection, sign_in=sign_in or "", password=password, **means)
    if pin:
        service.set_pin(connection, pin=pin, **means)
    access.note(
        connection,
        location_id=link["location_id"],
        at=now,
        action="use_link",
        actor_id=link["person_id"],
        subject_kind="person",
        subject_id=link["person_id"],
        detail={"purpose": link["purpose"], "made_by": link["made_by"]},
    )
    return codes


def wants_pin(roles: tuple[str, ...] | list[str]) -> bool:
    """Return whether somebody with ``roles`` has something to do on a tablet."""
    return any(rights.allowed(roles, right) for right in ("record.write", "verification.write"))


def wants_password(roles: tuple[str, ...] | list[str]) -> bool:
    """Return whether somebody with ``roles`` has something to do that only a desk offers."""
    return bool(set(roles) - {"assistant"})


def _whose(link: Mapping) -> dict[str, str]:
    return {"location_id": link["location_id"], "person_id": link["person_id"]}


def _asked(link: Mapping, known: Mapping) -> dict[str, str]:
    """Return for password and PIN whether they must be, may be or cannot be set in this visit."""
    roles = link["person"].get("roles") or ()
    password = MUST if wants_password(roles) else MAY
    pin = MUST if wants_pin(roles) else NO
    if link["purpose"] == links.RESET_ALL:
        # With the factors goes the leave to have a short password.
        password = MUST if known.get("password_hash") else password
        pin = MAY if pin == MUST and known.get("pin_hash") else pin
    elif link["purpose"] == links.RESET:
        password = MAY if known.get("password_hash") else password
        pin = MAY if pin == MUST and known.get("pin_hash") else pin
    return {"password": password, "pin": pin}


def _keeps_factor(connection: Connection, link: Mapping) -> bool:
    if link["purpose"] == links.RESET_ALL:
        return False
    return factors.has_any(connection, **_whose(link))


def _must_be_whole(
    asked: Mapping, *, sign_in: str | None, password: str | None, pin: str | None
) -> None:
    wrong: dict[str, list[str]] = {}
    if asked["password"] == MUST and not password:
        wrong["password"] = ["A password has to be set here."]
    if password and not (sign_in or "").strip():
        wrong["sign_in"] = ["A password needs a name to sign in with."]
    if asked["pin"] == MUST and not pin:
        wrong["pin"] = ["A PIN has to be set here."]
    if pin and asked["pin"] == NO:
        wrong["pin"] = ["This person has no work on a tablet, and so no PIN."]
    if not wrong and not password and not pin:
        wrong["password"] = ["Set a password or a PIN."]
    if wrong:
        raise BadInput("visit_incomplete", "Something is still to be set.", errors=wrong)


def _add_factors(
    connection: Connection,
    server_key: signing.PrivateKey,
    party: RelyingParty | None,
    whose: Mapping[str, str],
    totp: Mapping | None,
    passkey: Mapping | None,
    *,
    clock: Clock,
    random: Random,
) -> list[str]:
    if totp:
        factors.confirm_totp(connection, server_key, **whose, **totp, clock=clock)
    if passkey:
        factors.confirm_passkey(connection, party, **whose, **passkey, clock=clock, random=random)
    if not totp and not passkey:
        return []
    return factors.codes_if_none(connection, **whose, clock=clock, random=random)
