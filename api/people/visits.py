"""The visit that a one-time link opens: a person sets a password, a PIN, a second factor."""

from collections.abc import Callable, Mapping
from datetime import datetime

from api.clock import Clock
from api.errors import BadInput, NotAllowed
from api.events import signing
from api.people import factors, homes, links, rights, service
from api.people.passkeys import RelyingParty
from api.storage import access, accounts, documents, places
from api.storage import factors as stored
from api.storage.engine import Connection

Random = Callable[[int], bytes]

MUST, MAY, NO = "must", "may", "no"


def look(connection: Connection, token: str, *, now: datetime) -> dict:
    """Return what the page of a link shows: whose it is, and what is to be set.

    Raises ``NotSignedIn`` link_wrong.
    """
    link = _known(connection, links.opened(connection, token, now=now), now)
    location_id = link["location_id"]
    location = documents.get(connection, location_id, "location", location_id) or {}
    return {
        "purpose": link["purpose"],
        "display_name": link["person"]["display_name"],
        "practice_name": location.get("practice_name", ""),
        "location_name": location.get("name", ""),
        "sign_in": link["secret"].get("sign_in"),
        "has_factor": _keeps_factor(connection, link),
        "expires_at": link["expires_at"],
        **_asked(link),
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
    link = _known(connection, links.opened(connection, token, now=clock.now()), clock.now())
    _must_be_whole_link(link)
    return factors.begin_totp(
        connection,
        server_key,
        **_at_home(link),
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
    link = _known(connection, links.opened(connection, token, now=clock.now()), clock.now())
    _must_be_whole_link(link)
    name = link["person"]["display_name"]
    return factors.begin_passkey(
        connection,
        party,
        **_at_home(link),
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
    link = _known(connection, links.used_up(connection, token, now=now), now)
    home = _at_home(link)
    _must_be_said(_asked(link), sign_in=sign_in, password=password, pin=pin)
    if totp or passkey:
        _must_be_whole_link(link)
    if link["purpose"] == links.RESET_ALL and link["whole"]:
        # What was begun in this visit is not confirmed yet, and stays.
        for row in stored.of_person(connection, **home):
            stored.remove(connection, **home, factor_id=row["factor_id"])
        stored.put_recovery_codes(connection, *home.values(), [], now=now)
    codes = _add_factors(
        connection, server_key, party, home, totp, passkey, clock=clock, random=random
    )
    means = {"actor_id": link["person_id"], "clock": clock, "random": random}
    if password:
        service.set_password(connection, **home, sign_in=sign_in or "", password=password, **means)
    if pin:
        service.set_pin(connection, **_whose(link), pin=pin, **means)
    access.note(
        connection,
        location_id=link["location_id"],
        at=now,
        action="use_link",
        actor_id=link["person_id"],
        subject_kind="person",
        subject_id=link["person_id"],
        detail={
            "purpose": link["purpose"],
            "made_by": link["made_by"],
            "password": bool(password),
        },
    )
    return codes


def must_open_something(
    connection: Connection,
    *,
    location_id: str,
    person: Mapping,
    purpose: str,
    made_by: str | None,
    now: datetime,
) -> None:
    """Refuse a link at which nothing could be set, because the password is not for this location
    alone to give. Raises ``NotAllowed`` password_elsewhere. The connection reaches everywhere.
    """
    whole = homes.may_set_password(
        connection,
        location_id=location_id,
        person_id=person["person_id"],
        made_by=made_by,
        now=now,
    )
    if not whole and (purpose == links.RESET_ALL or not wants_pin(person.get("roles") or ())):
        raise NotAllowed(
            "password_elsewhere",
            "This person works at another location too, and the password opens both. Only "
            "somebody who looks after them at each of these locations makes this link.",
        )


def wants_pin(roles: tuple[str, ...] | list[str]) -> bool:
    """Return whether somebody with ``roles`` has something to do on a tablet."""
    return any(rights.allowed(roles, right) for right in ("record.write", "verification.write"))


def wants_password(roles: tuple[str, ...] | list[str]) -> bool:
    """Return whether somebody with ``roles`` has something to do that only a desk offers."""
    return bool(set(roles) - {"assistant"})


def _known(connection: Connection, link: dict, now: datetime) -> dict:
    """Return a link with what its person has so far: ``home``, ``secret`` there, ``has_pin`` here.

    ``whole`` says whether it may change the password, or the PIN of its location only.
    """
    location_id, person_id = link["location_id"], link["person_id"]
    home = places.password_at(connection, person_id) or location_id
    here = accounts.secret_of(connection, location_id, person_id) or {}
    return {
        **link,
        "home": home,
        "secret": accounts.secret_of(connection, home, person_id) or {},
        "has_pin": here.get("pin_hash") is not None,
        "whole": homes.may_set_password(
            connection,
            location_id=location_id,
            person_id=person_id,
            made_by=link["made_by"],
            now=now,
        ),
    }


def _whose(link: Mapping) -> dict[str, str]:
    return {"location_id": link["location_id"], "person_id": link["person_id"]}


def _at_home(link: Mapping) -> dict[str, str]:
    return {"location_id": link["home"], "person_id": link["person_id"]}


def _asked(link: Mapping) -> dict[str, str]:
    """Return for password and PIN whether they must be, may be or cannot be set in this visit."""
    roles = link["person"].get("roles") or ()
    has_password = link["secret"].get("password_hash") is not None
    password = MUST if wants_password(roles) else MAY
    pin = MUST if wants_pin(roles) else NO
    if link["purpose"] in (links.RESET, links.RESET_ALL):
        pin = MAY if pin == MUST and link["has_pin"] else pin
    if not link["whole"]:
        password = NO
    elif link["purpose"] == links.RESET_ALL:
        # With the factors goes the leave to have a short password.
        password = MUST if has_password else password
    elif link["purpose"] == links.RESET or link["home"] != link["location_id"]:
        # Whoever comes from another location has one already.
        password = MAY if has_password else password
    return {"password": password, "pin": pin}


def _keeps_factor(connection: Connection, link: Mapping) -> bool:
    if link["purpose"] == links.RESET_ALL and link["whole"]:
        return False
    return factors.has_any(connection, **_at_home(link))


def _must_be_whole_link(link: Mapping) -> None:
    if not link["whole"]:
        raise BadInput(
            "password_elsewhere",
            "Password and second factor are looked after at another location as well. Here only "
            "a PIN is set.",
        )


def _must_be_said(
    asked: Mapping, *, sign_in: str | None, password: str | None, pin: str | None
) -> None:
    wrong: dict[str, list[str]] = {}
    if asked["password"] == MUST and not password:
        wrong["password"] = ["A password has to be set here."]
    if password and not (sign_in or "").strip():
        wrong["sign_in"] = ["A password needs a name to sign in with."]
    if asked["pin"] == MUST and not pin:
        wrong["pin"] = ["A PIN has to be set here."]
    if password and asked["password"] == NO:
        wrong["password"] = ["The password is looked after at another location as well."]
    if pin and asked["pin"] == NO:
        wrong["pin"] = ["This person has no work on a tablet, and so no PIN."]
    if not wrong and not password and not pin:
        wrong["pin" if asked["password"] == NO else "password"] = ["Set a password or a PIN."]
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
