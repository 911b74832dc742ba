"""People who work at other locations of the practice, for whoever is an administrator of both."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from api.errors import NotFound
from api.people import rights, work
from api.storage import documents, readers
from api.storage.engine import Connection

# What proves that somebody can operate goes with the person; training on one laser stays with it.
MOST_CREDENTIALS = 20
_CREDENTIAL = ("kind", "text", "hours", "issued_on", "expires_on")


def people(
    connection: Connection, *, here: str, actor_id: str, now: datetime
) -> list[dict[str, Any]]:
    """Return who works at another location that ``actor_id`` is an administrator of, and not here.

    Each has ``person_id, display_name, initials, credential, credentials`` (how many would come
    along) and ``locations``, {location_id, name, roles} of those locations only. The connection
    reaches everywhere.
    """
    found: dict[str, dict[str, Any]] = {}
    for place in _kept_by(connection, actor_id, now, but=here):
        for person in documents.list(connection, place["location_id"], "person"):
            person_id = person["person_id"]
            if person.get("left_at") is not None:
                continue
            if work.working_here(connection, here, person_id) is not None:
                continue
            known = found.setdefault(
                person_id,
                {
                    "person_id": person_id,
                    "display_name": person["display_name"],
                    "initials": person["initials"],
                    "credential": person.get("credential"),
                    "credentials": len(credentials_of(person)),
                    "locations": [],
                },
            )
            roles = work.roles_at(connection, place["location_id"], person, now)
            known["locations"].append({**place, "roles": list(roles)})
    return sorted(found.values(), key=lambda one: (one["display_name"], one["person_id"]))


def document_of(
    connection: Connection, *, here: str, actor_id: str, person_id: str, now: datetime
) -> dict[str, Any]:
    """Return the person's document at the first such location where they work.

    Raises ``NotFound`` alike for somebody who is unknown, and for somebody of a location that
    ``actor_id`` is no administrator of. The connection reaches everywhere.
    """
    for place in _kept_by(connection, actor_id, now, but=here):
        person = work.working_here(connection, place["location_id"], person_id)
        if person is not None:
            return person
    raise NotFound("person_unknown", "There is no such person.")


def credentials_of(person: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Return what is noted of a person's credentials and holds at any location."""
    held = [
        one
        for one in person.get("credentials") or ()
        if one.get("ended_at") is None and one.get("device_id") is None
    ]
    return [{name: one.get(name) for name in _CREDENTIAL} for one in held][:MOST_CREDENTIALS]


def kept_by(connection: Connection, actor_id: str, now: datetime) -> list[dict[str, Any]]:
    """Return {location_id, name, zone, opened_at} of all locations ``actor_id`` administers."""
    found = []
    for row in readers.locations(connection):
        there = row["location_id"]
        actor = work.working_here(connection, there, actor_id)
        roles = () if actor is None else work.roles_at(connection, there, actor, now)
        if rights.allowed(roles, "location.write"):
            location = documents.get(connection, there, "location", there) or {}
            found.append(
                {
                    "location_id": there,
                    "name": location.get("name"),
                    "zone": location.get("zone"),
                    "opened_at": row["opened_at"],
                }
            )
    return sorted(found, key=lambda one: (one["name"] or "", one["location_id"]))


def _kept_by(
    connection: Connection, actor_id: str, now: datetime, *, but: str
) -> list[dict[str, Any]]:
    return [
        {"location_id": one["location_id"], "name": one["name"]}
        for one in kept_by(connection, actor_id, now)
        if one["location_id"] != but
    ]
