"""The locations of the practice where one person works, and going from one to another at a desk."""

from collections.abc import Callable, Mapping
from datetime import datetime

from api.clock import Clock, parse_rfc3339
from api.errors import NotFound
from api.people import homes, secrets
from api.people.work import roles_at
from api.storage import access, accounts, documents, reach
from api.storage import places as stored
from api.storage.engine import Connection, Engine, read, write

Random = Callable[[int], bytes]


def places_of(engine: Engine, person_id: str, now: datetime) -> list[dict]:
    """Return ``{location_id, name, roles}`` of each location where the person works now."""
    with read(engine, locations=reach.EVERYWHERE) as connection:
        found = [
            _place(connection, location_id, person, now)
            for location_id, person in homes.works(connection, person_id).items()
        ]
    return [one for one in found if one["roles"]]


def go_to(
    engine: Engine,
    *,
    person_id: str,
    from_id: str,
    to_id: str,
    token: str,
    expires_at: str,
    clock: Clock,
    random: Random,
    agent: str | None,
) -> str:
    """End a desk's session here, begin one there, and return its token.

    It ends when the first one would have: going to and fro makes no session longer. It stands in
    the access log of both locations. Raises ``NotFound`` where the person does not work, whether
    or not there is such a location.
    """
    now = clock.now()
    if all(one["location_id"] != to_id for one in places_of(engine, person_id, now)):
        raise NotFound("location_unknown", "You do not work at such a location.")
    fresh = secrets.new_token(random)
    with write(engine, locations=(from_id, to_id)) as connection:
        accounts.end_token(connection, secrets.digest(token), now=now)
        accounts.add_token(
            connection,
            to_id,
            secrets.digest(fresh),
            kind=accounts.DESK,
            person_id=person_id,
            now=now,
            expires_at=parse_rfc3339(expires_at),
            agent=agent,
        )
        stored.entered(connection, to_id, person_id, now=now)
        for location_id, action in ((from_id, "leave_location"), (to_id, "enter_location")):
            access.note(
                connection, location_id=location_id, at=now, action=action, actor_id=person_id
            )
    return fresh


def _place(connection: Connection, location_id: str, person: Mapping, now: datetime) -> dict:
    location = documents.get(connection, location_id, "location", location_id) or {}
    return {
        "location_id": location_id,
        "name": location.get("name"),
        "roles": list(roles_at(connection, location_id, person, now)),
    }
