"""The locations of the practice where one person works, and going from one to another at a desk."""

from collections.abc import Callable, Mapping
from datetime import datetime

from api.clock import Clock, parse_rfc3339
from api.errors import NotFound
from api.people import homes, secrets
from api.people.work import roles_at
from api.storage import access, accounts, documents, reach, readers
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
    return sorted((one for one in found if one["roles"]), key=_by_name)


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
    if all(one["location_id"] != to_id for one in places_of(engine, person_id, clock.now())):
        raise NotFound("location_unknown", "You do not work at such a location.")
    return change_over(
        engine,
        person_id=person_id,
        from_id=from_id,
        to_id=to_id,
        token=token,
        expires_at=expires_at,
        clock=clock,
        random=random,
        agent=agent,
        remember=True,
    )


def others(engine: Engine, person_id: str) -> list[dict]:
    """Return ``{location_id, name}`` of the practice's locations where the person does not work."""
    with read(engine, locations=reach.EVERYWHERE) as connection:
        own = homes.works(connection, person_id)
        found = []
        for row in readers.locations(connection):
            there = row["location_id"]
            if there not in own:
                location = documents.get(connection, there, "location", there) or {}
                found.append({"location_id": there, "name": location.get("name")})
    return sorted(found, key=_by_name)


def change_over(
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
    remember: bool,
) -> str:
    """Do what :func:`go_to` does for somebody who may; ``remember``: sign-ins begin there."""
    now, fresh = clock.now(), secrets.new_token(random)
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
        if remember:
            stored.entered(connection, to_id, person_id, now=now)
        for location_id, action in ((from_id, "leave_location"), (to_id, "enter_location")):
            access.note(
                connection, location_id=location_id, at=now, action=action, actor_id=person_id
            )
    return fresh


def _by_name(place: Mapping) -> tuple[str, str]:
    return place["name"] or "", place["location_id"]


def _place(connection: Connection, location_id: str, person: Mapping, now: datetime) -> dict:
    location = documents.get(connection, location_id, "location", location_id) or {}
    return {
        "location_id": location_id,
        "name": location.get("name"),
        "roles": list(roles_at(connection, location_id, person, now)),
    }
