"""One person with everything that was said of them here."""

from datetime import datetime
from typing import Any

from api.clock import parse_rfc3339
from api.errors import NotFound
from api.events.catalogue import EVENT_TYPES
from api.people.told import told
from api.people.work import person_document
from api.storage import access, readers
from api.storage.engine import Connection

_OF_LINKS = {"make_link": "link_made", "use_link": "link_used"}
# More than anybody is given; the access log holds all of them.
_MOST_LINKS = 200


def known_with_history(
    connection: Connection, *, location_id: str, person_id: str, actor_id: str, now: datetime
) -> dict[str, Any]:
    """Return ``{"person", "history"}``: the document, and what was said over time, latest first.

    One-time links stand between: of them no event tells, since what they open is a person's own,
    but the access log does. Reading it is written into the access log. Raises ``NotFound``.
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
    lines = [*told(entries), *_links(connection, location_id, person_id)]
    # Written with different offsets, in one order all the same.
    lines.sort(key=lambda line: parse_rfc3339(line["at"]))
    return {"person": person, "history": lines[::-1]}


def _links(connection: Connection, location_id: str, person_id: str) -> list[dict[str, Any]]:
    """Return a line for each link that was made for a person, and each that was used, in order."""
    wanted = access.Wanted(subject_ids=[person_id], actions=list(_OF_LINKS))
    found = access.search(connection, location_id, wanted, limit=_MOST_LINKS)
    return [
        {
            "event_id": f"access-{one['access_id']}",
            "type": one["action"],
            "what": _OF_LINKS[one["action"]],
            "at": one["at"],
            "by": one["actor_id"],
            "purpose": (one["detail"] or {}).get("purpose"),
        }
        for one in reversed(found)
    ]
