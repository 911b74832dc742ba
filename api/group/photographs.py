"""On the practice's side: photographs follow their entries to the group, one at a time.

The log names a photograph by the hash of its bytes, so that it may come later and needs no order.
The group says which it has not; each is sent by itself and counts as there once the group has said
so in its signed word. What goes wrong with one holds up neither the others nor, next time, the log.
Once a day the group is asked about all of them: its database may have been put back.
"""

import logging
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import timedelta

from api.clock import parse_rfc3339
from api.errors import DomainError
from api.group.client import Client, Refused
from api.group.practice import Practice
from api.storage import attachments, readers, replication
from api.storage.engine import EVERYWHERE, read, write

ASKED_AT_ONCE = 500
# In one contact; then the log has its turn again. At most 800 MiB.
SENT_AT_ONCE = 200
REFUSALS_AT_ONCE = 5
COMPARE_AFTER = timedelta(days=1)
REFUSED, NOT_TAKEN = "photograph_refused", "photographs_not_taken"

_log = logging.getLogger(__name__)


@dataclass
class Brought:
    """How many were sent, and the code of what stood in the way, None where nothing did."""

    sent: int = 0
    problem: str | None = None


def bring(practice: Practice, client: Client, location_id: str) -> Brought:
    """Send what the group has not of a location whose log is there; raises nothing of the group's.

    ``problem`` is a code of ``Unreachable``, "photograph_refused" where the group did not take one,
    or "photographs_not_taken" from a group of an earlier version.
    """
    brought, refusals = Brought(), 0
    try:
        for sha256 in _missing(practice, client, location_id):
            done = brought.sent >= SENT_AT_ONCE or refusals >= REFUSALS_AT_ONCE
            if done or _log_waits(practice, location_id):
                break
            try:
                brought.sent += _send(practice, client, location_id, sha256)
            except Refused as problem:
                _log.warning("a photograph was not taken: %s", problem.code)
                refusals += 1
                brought.problem = REFUSED
    except DomainError as problem:
        brought.problem = problem.code
    return brought


def _missing(practice: Practice, client: Client, location_id: str) -> list[str]:
    """Return what the group has not, by its own word, in an order that is another each time.

    Else a few that are refused every time would stand before all others.
    """
    now = practice.clock.now()
    with read(practice.engine, locations=EVERYWHERE) as connection:
        compared = (replication.get(connection, location_id) or {}).get("photographs_compared_at")
        anew = compared is None or now - parse_rfc3339(compared) > COMPARE_AFTER
        if anew:
            asked = attachments.hashes(connection, location_id, most=2**31 - 1)
        else:
            asked = replication.photographs_waiting(connection, location_id)
    missing: list[str] = []
    for some in _chunks(asked):
        missing += _ask(client, location_id, some)
    with write(practice.engine, locations=EVERYWHERE) as connection:
        replication.note_photographs(connection, location_id, set(asked) - set(missing))
        if anew:
            replication.note_compared(connection, location_id, missing, now=now)
    return sorted(missing, key=lambda _: practice.random(8))


def _chunks(hashes: Sequence[str]) -> Iterator[Sequence[str]]:
    for start in range(0, len(hashes), ASKED_AT_ONCE):
        yield hashes[start : start + ASKED_AT_ONCE]


def _ask(client: Client, location_id: str, hashes: Sequence[str]) -> list[str]:
    body = {"location_id": location_id, "photographs": list(hashes)}
    try:
        said = client.said("photographs", client.ask("/group/photographs", body))
    except Refused as problem:
        if problem.facts.get("status") == 404 and problem.code != "location_unknown":
            raise Refused(NOT_TAKEN, "The group takes no photographs yet.") from problem
        raise
    missing = said["missing"]
    if said["location_id"] != location_id or not set(missing) <= set(hashes):
        raise Refused("group_other", "The group answered about something else.")
    return missing


def _send(practice: Practice, client: Client, location_id: str, sha256: str) -> int:
    """Send one and note that it is there; return 0 where it was erased here meanwhile."""
    with read(practice.engine, locations=EVERYWHERE) as connection:
        one = attachments.get(connection, location_id, sha256)
    if one is None:
        return 0
    answer = client.hand_in(
        f"/group/photographs/{location_id}/{sha256}", one["content"], kind=one["media_type"]
    )
    said = client.said("photograph", answer)
    if (said["location_id"], said["sha256"]) != (location_id, sha256):
        raise Refused("group_other", "The group acknowledged something else.")
    with write(practice.engine, locations=EVERYWHERE) as connection:
        replication.note_photographs(connection, location_id, [sha256])
    return 1


def _log_waits(practice: Practice, location_id: str) -> bool:
    with read(practice.engine, locations=EVERYWHERE) as connection:
        end = readers.location_row(connection, location_id)["position"]
        return end > (replication.get(connection, location_id) or {}).get("position", 0)
