"""From when on somebody counts as one of the two people whom a decision takes.

Whoever looks after people could register a second person, or make a link with which they become
one, and so decide alone. A right, a password and a second factor that somebody else gave count for
this only after a while, in which everybody who may look at people sees that they were given.
"""

from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta
from typing import Any

from api.clock import parse_rfc3339, rfc3339
from api.errors import NotAllowed
from api.people import homes, rights
from api.storage import access, readers
from api.storage.engine import EVERYWHERE, Connection, Engine, read

# A week, so that everybody who works in turns has been there once (our own choice, no source).
AFTER = timedelta(days=7)
# More than anybody uses in that time.
_MOST_LINKS = 50


def right_since(entries: Iterable[Mapping[str, Any]], right: str) -> datetime | None:
    """Return since when, by what was said of a person, they have a right without a break. Pure.

    ``entries`` are those about the person that count, in the order of the log. By the server's own
    time; None for whoever does not have it.
    """
    since = None
    for entry in entries:
        type, said = entry["body"]["type"], entry["payload"] or {}
        if type == "person.left":
            since = None
        elif type == "person.registered":
            if not rights.allowed(said.get("roles") or (), right):
                since = None
            elif since is None:
                since = parse_rfc3339(entry["received_at"])
    return since


def counts_from(engine: Engine, *, location_id: str, person_id: str, right: str) -> datetime | None:
    """Return from when on a person counts as one of two with ``right``; None without the right."""
    with read(engine, locations=EVERYWHERE) as connection:
        about = readers.entity_entries(connection, location_id, person_id)
        since = right_since((one for one in about if one["verdict"] == readers.APPLIED), right)
        if since is None:
            return None
        # A password lets its person in at each location, so it matters where none was made here.
        return AFTER + max([since, *_passwords_given(connection, person_id)])


def must_count(
    engine: Engine, *, location_id: str, person_id: str, right: str, now: datetime
) -> None:
    """Raise ``NotAllowed`` "too_new_to_decide" {from} unless the person counts as one of two."""
    start = counts_from(engine, location_id=location_id, person_id=person_id, right=right)
    if start is None or now < start:
        raise NotAllowed(
            "too_new_to_decide",
            "Two people decide about this, and each has to have had this right and their password "
            f"for {AFTER.days} days.",
            **{"from": None if start is None else rfc3339(start)},
        )


def _passwords_given(connection: Connection, person_id: str) -> Iterable[datetime]:
    used = access.Wanted(subject_ids=[person_id], actions=["use_link"])
    for location_id in homes.works(connection, person_id):
        for one in access.search(connection, location_id, used, limit=_MOST_LINKS):
            # With a PIN alone nobody gets in at a desk.
            if (one["detail"] or {}).get("password", True):
                yield parse_rfc3339(one["at"])
