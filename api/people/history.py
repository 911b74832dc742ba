"""One person with everything that was said of them here."""

from datetime import datetime
from typing import Any

from api.errors import NotFound
from api.events.catalogue import EVENT_TYPES
from api.people.told import told
from api.people.work import person_document
from api.storage import access, readers
from api.storage.engine import Connection


def known_with_history(
    connection: Connection, *, location_id: str, person_id: str, actor_id: str, now: datetime
) -> dict[str, Any]:
    """Return ``{"person", "history"}``: the document, and what was said over time, latest first.

    Reading it is written into the access log. Raises ``NotFound``.
    """
    person = person_document(connection, location_id, person_id)
    if person is None:
        raise NotFound("person_unknown", "There is no such person.")
    access.note(
        connection,
        location_id=location_id,
        at=now,
        action="read",
        actor_id=actor_id,
        subject_kind="person",
        subject_id=person_id,
    )
    entries = [
        one
        for one in readers.entity_entries(connection, location_id, person_id)
        if one["verdict"] == readers.APPLIED
        and EVENT_TYPES[one["body"]["type"]].subject == "person"
    ]
    return {"person": person, "history": told(entries)[::-1]}
