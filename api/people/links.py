"""One-time links: how a person comes to set a password and a PIN that nobody else ever knew."""

from collections.abc import Callable, Mapping
from datetime import datetime, timedelta

from api.clock import Clock, rfc3339
from api.errors import BadInput, NotFound, NotSignedIn
from api.people import rights, secrets
from api.people.work import working_here
from api.storage import access, links
from api.storage.engine import Connection

Random = Callable[[int], bytes]

LINK_LIFE = timedelta(minutes=30)

FIRST = "first"  # the first administrator of a practice
INVITE = "invite"  # somebody who has just been registered
RESET = "reset"  # a forgotten password or PIN
RESET_ALL = "reset_all"  # and the second factor is lost as well
PURPOSES = (FIRST, INVITE, RESET, RESET_ALL)

# What a link's address begins with. What follows the # never leaves the browser, so that the
# link stands in no log of a server or proxy on the way.
PAGE = "/#/welcome/"


def make_link(
    connection: Connection,
    *,
    location_id: str,
    person_id: str,
    purpose: str,
    made_by: str | None,
    clock: Clock,
    random: Random,
) -> dict[str, str]:
    """Make a one-time link for a person: ``{"token", "path", "purpose", "expires_at"}``.

    ``path`` is what follows the server's address. Valid for 30 minutes and once; only its hash is
    kept, and earlier links of the same person end. Whether ``made_by`` may make it is the caller's
    to decide. Raises ``NotFound`` without the person and ``BadInput`` for an unknown purpose.
    """
    if purpose not in PURPOSES:
        raise BadInput("purpose_unknown", "There is no such kind of link.", field="purpose")
    if working_here(connection, location_id, person_id) is None:
        raise NotFound("person_unknown", "There is no such person.")
    now = clock.now()
    token = secrets.new_token(random)
    expires_at = now + LINK_LIFE
    links.add(
        connection,
        location_id,
        secrets.digest(token),
        person_id=person_id,
        purpose=purpose,
        made_by=made_by,
        now=now,
        expires_at=expires_at,
    )
    access.note(
        connection,
        location_id=location_id,
        at=now,
        action="make_link",
        actor_id=made_by,
        subject_kind="person",
        subject_id=person_id,
        detail={"purpose": purpose},
    )
    return {
        "token": token,
        "path": PAGE + token,
        "purpose": purpose,
        "expires_at": rfc3339(expires_at),
    }


def may_make_for(roles: tuple[str, ...], person: Mapping) -> bool:
    """Return whether somebody with ``roles`` may make a link for ``person``.

    Only an administrator makes one for an administrator: a link lets whoever opens it set the
    password, and so become that person.
    """
    if not rights.allowed(roles, "people.write"):
        return False
    return "administrator" in roles or "administrator" not in (person.get("roles") or ())


def opened(connection: Connection, token: str, *, now: datetime) -> dict:
    """Return the row of a link that can still be used. Raises ``NotSignedIn`` link_wrong."""
    row = links.fresh(connection, secrets.digest(token), now=now)
    return _known(connection, row)


def used_up(connection: Connection, token: str, *, now: datetime) -> dict:
    """Use a link up and return its row; of two that try at once one gets it.

    Raises ``NotSignedIn`` link_wrong.
    """
    return _known(connection, links.take(connection, secrets.digest(token), now=now))


def _known(connection: Connection, row: dict | None) -> dict:
    person = row and working_here(connection, row["location_id"], row["person_id"])
    if not row or not person:
        raise NotSignedIn("link_wrong", "This link is unknown, used or too old.")
    return {**row, "person": person}
