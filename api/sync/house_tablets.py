"""What is done to a tablet and the event that says so, in one transaction."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from api.clock import Clock
from api.errors import Conflict
from api.events import signing
from api.people import tablets
from api.storage import documents
from api.storage.engine import Connection
from api.sync import desk, judge

ENROLLED_AGAIN = "Enrolled again under another key"


@dataclass(frozen=True, kw_only=True)
class Doing:
    """Where, by whom, and with what the events are made."""

    connection: Connection
    clock: Clock
    server_key: signing.PrivateKey
    projectors: judge.Projectors
    random: Callable[[int], bytes]
    location_id: str
    actor_id: str | None


def enrol(
    doing: Doing, *, tablet_id: str, label: str, replaces: str | None, first_seq: int
) -> dict:
    """Append that a tablet was enrolled; what it goes on from is shut out. Return the entry.

    The other one of two that have the same key can then still hand in, into quarantine.
    """
    further = {"replaces": replaces, "first_seq": first_seq} if replaces else {}
    entry = append(doing, "tablet.enrolled", tablet_id, {"label": label, **further})
    if replaces and documents.get(doing.connection, doing.location_id, "tablet", replaces):
        try:
            revoke(doing, tablet_id=replaces, reason=ENROLLED_AGAIN)
        except Conflict:
            # Somebody was faster, and has said why.
            return entry
    return entry


def revoke(doing: Doing, *, tablet_id: str, reason: str) -> dict:
    """Shut a tablet out; raises as :func:`api.people.tablets.revoke` does."""
    tablets.revoke(
        doing.connection,
        location_id=doing.location_id,
        tablet_id=tablet_id,
        now=doing.clock.now(),
    )
    return append(doing, "tablet.revoked", tablet_id, {"reason": reason})


def rename(doing: Doing, *, tablet_id: str, label: str) -> dict:
    """Give a tablet another name; raises as :func:`api.people.tablets.rename` does."""
    label = tablets.rename(
        doing.connection, location_id=doing.location_id, tablet_id=tablet_id, label=label
    )
    return append(doing, "tablet.renamed", tablet_id, {"label": label})


def confirm(doing: Doing, *, tablet_id: str) -> dict:
    """Take in a tablet known by certificate; raises as :func:`api.people.tablets.confirm`."""
    label = tablets.confirm(doing.connection, location_id=doing.location_id, tablet_id=tablet_id)
    return append(doing, "tablet.enrolled", tablet_id, {"label": label})


def append(doing: Doing, type: str, entity_id: str, payload: Mapping) -> dict:
    """Put an event of the house, made by whoever does this, into the location's log."""
    location = documents.get(doing.connection, doing.location_id, "location", doing.location_id)
    return desk.append_in(
        doing.connection,
        doing.clock,
        doing.server_key,
        location_id=doing.location_id,
        actor_id=doing.actor_id,
        type=type,
        entity_id=entity_id,
        payload=payload,
        projectors=doing.projectors,
        zone=location["zone"],
        random=doing.random,
    )
