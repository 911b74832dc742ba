"""May this person make this event, here and now? Asked for every event that comes in."""

from api.people import rights
from api.storage import documents
from api.storage.engine import Connection


def authorise(
    connection: Connection, location_id: str, actor_id: str | None, event_type: str
) -> str | None:
    """Return None where the actor may make an event of this type, else a stable reason.

    ``actor_missing``: nobody is named, which only the server's own events may do.
    ``actor_unknown``: not a person of this location. ``not_allowed``: their roles do not reach.
    """
    if actor_id is None:
        return "actor_missing"
    person = documents.get(connection, location_id, "person", actor_id)
    if person is None:
        return "actor_unknown"
    return None if rights.may_write(person.get("roles", ()), event_type) else "not_allowed"
