"""Who works at a location, and with which roles at a given moment."""

from collections.abc import Mapping
from datetime import datetime
from zoneinfo import ZoneInfo

from api.people import rights
from api.storage import documents
from api.storage.engine import Connection


def person_document(connection: Connection, location_id: str, person_id: str) -> dict | None:
    """Return the person's document at this location, or None."""
    return documents.get(connection, location_id, "person", person_id)


def working_here(connection: Connection, location_id: str, person_id: str) -> dict | None:
    """Return the person's document where they work at this location now, else None."""
    person = person_document(connection, location_id, person_id)
    return None if person is None or person.get("left_at") is not None else person


def roles_at(
    connection: Connection, location_id: str, person: Mapping, moment: datetime
) -> tuple[str, ...]:
    """Return the roles of a person's document that count at ``moment``: see ``rights.roles_at``."""
    if "auditor" in (person.get("roles") or ()):
        # Only here a day matters, and which day it is depends on where.
        moment = moment.astimezone(zone_of(connection, location_id))
    return rights.roles_at(person, moment)


def zone_of(connection: Connection, location_id: str) -> ZoneInfo:
    """Return the zone of a location's clocks."""
    location = documents.get(connection, location_id, "location", location_id) or {}
    return ZoneInfo(location.get("zone") or "UTC")
