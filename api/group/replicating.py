"""On the practice's side: bring the group up to date, entry for entry, and know how far it is.

One contact: the group proves who it is, says of each log up to where it is the same as here, and
gets what comes after that in batches. Only a receipt in the group's signed word, with the very
link that stands here, moves the place that is kept. That place is for people to read; where the
next contact begins, the group is asked anew, so that a lost answer, a restart of either side or a
restored database can neither skip an entry nor send one in vain.
"""

from collections.abc import Callable, Mapping, Sequence

from api.clock import rfc3339
from api.errors import DomainError
from api.events.heads import sign_head
from api.group import entries, photographs, receiving
from api.group.client import Client, Refused
from api.group.practice import Practice
from api.storage import accounts, followed, readers, replication
from api.storage.engine import EVERYWHERE, Connection, read, write

FORKED, AHEAD = "group_forked", "group_ahead"
MOST_WRITERS = 150
MOST_LOCATIONS = 50


def contact(
    practice: Practice, client: Client, *, progress: Callable[[int, int], None] | None = None
) -> dict[str, int]:
    """Bring the group up to date once; return how many entries were sent and acknowledged.

    What the group rolls out is written down first, so that it goes back with the rest. Returns
    {sent, locations, offered, photographs}: the last of these are those that were sent once every
    entry was there; what stood in the way of one is only kept for the screen. Whatever else went
    wrong is kept for the screen and raised: ``Unreachable``, ``Refused``, the latter also with
    "group_forked" where the group holds another history than
    this one (all of this one has been kept there, aside) and "group_ahead" where it holds more
    than there is here.
    """
    with read(practice.engine, locations=EVERYWHERE) as connection:
        # A copy of another practice's log is not this one's to give away.
        ids = [
            row["location_id"]
            for row in readers.locations(connection)
            if followed.get(connection, row["location_id"]) is None
        ]
    sent = offered = 0
    first: DomainError | None = None
    try:
        client.identify()
        try:
            offered = _receive(practice, client, ids)
        except DomainError as problem:
            # Nothing that comes down may keep the log from going up.
            first = problem
        met = _meet(practice, client, ids)
    except DomainError as problem:
        for location_id in ids:
            _note_problem(practice, location_id, problem)
        raise
    down = first
    there = []
    for location_id in ids:
        # What stands in the way of one location is none of the others'.
        try:
            sent += _bring(practice, client, location_id, met[location_id], progress)
        except DomainError as problem:
            _note_problem(practice, location_id, problem)
            first = first or problem
        else:
            there.append(location_id)
            if down is not None:
                _note_problem(practice, location_id, down)
    pictures = sum(_photographs(practice, client, location_id) for location_id in there)
    if first is not None:
        raise first
    return {"sent": sent, "locations": len(ids), "offered": offered, "photographs": pictures}


def _photographs(practice: Practice, client: Client, location_id: str) -> int:
    brought = photographs.bring(practice, client, location_id)
    if brought.problem is not None:
        _note_code(practice, location_id, brought.problem)
    return brought.sent


def _receive(practice: Practice, client: Client, ids: Sequence[str]) -> int:
    return receiving.receive(
        client,
        practice.engine,
        practice.clock,
        practice.server_key,
        location_ids=ids,
        projectors=practice.projectors,
        random=practice.random,
    )


def _meet(practice: Practice, client: Client, ids: Sequence[str]) -> dict[str, dict]:
    found: dict[str, dict] = {}
    for start in range(0, len(ids), MOST_LOCATIONS):
        with read(practice.engine, locations=EVERYWHERE) as connection:
            asked = [
                {"location_id": location_id, "links": _links(connection, location_id)}
                for location_id in ids[start : start + MOST_LOCATIONS]
            ]
        said = client.said("met", client.ask("/group/meet", {"locations": asked}))
        found |= {one["location_id"]: one for one in said["locations"]}
    return found


def _links(connection: Connection, location_id: str) -> list[tuple[int, str]]:
    """Return links ever further apart: of what is not the same, little is then sent in vain."""
    end = readers.location_row(connection, location_id)["position"]
    known = (replication.get(connection, location_id) or {}).get("position") or 0
    wanted, step = {min(known, end)}, 1
    at = end
    while at > 0:
        wanted.add(at)
        at -= step
        step *= 2
    found = ((at, readers.link_at(connection, location_id, at)) for at in sorted(wanted) if at)
    return [(at, link.hex()) for at, link in found if link is not None]


def _bring(
    practice: Practice,
    client: Client,
    location_id: str,
    met: Mapping,
    progress: Callable[[int, int], None] | None,
) -> int:
    position, link, sent = met["position"], bytes.fromhex(met["link"]), 0
    started, forked = position, met["forked"]
    with read(practice.engine, locations=EVERYWHERE) as connection:
        end = readers.location_row(connection, location_id)["position"]
        epoch = readers.location_row(connection, location_id)["epoch"]
    if position == end and not forked and met["holds"] == position:
        # The group has said so itself; a receipt may have been lost on its way.
        _note_met(practice, location_id, epoch=epoch, position=position, link=link)
    while (batch := next_batch(practice, location_id, position, link)) is not None:
        said, receipt = _send(practice, client, batch)
        position, link = said["position"], bytes.fromhex(said["link"])
        forked = said["forked"]
        sent += position - batch["after"]
        if not forked:
            with write(practice.engine, locations=EVERYWHERE) as connection:
                replication.note_acknowledged(
                    connection,
                    location_id,
                    epoch=said["epoch"],
                    position=position,
                    link=link,
                    receipt=receipt,
                    now=practice.clock.now(),
                )
        if progress is not None:
            progress(position, max(end, position))
    if forked:
        raise Refused(FORKED, "The group holds another history of this log.", location=location_id)
    if position == started and met["holds"] > position:
        raise Refused(AHEAD, "The group holds more of this log.", location=location_id)
    with write(practice.engine, locations=EVERYWHERE) as connection:
        replication.note_contact(connection, location_id, now=practice.clock.now())
    return sent


def _send(practice: Practice, client: Client, batch: Mapping) -> tuple[dict, dict]:
    """Send a batch, or what of it can be taken; return what the group says, and its receipt."""
    try:
        answer = client.ask("/group/entries", batch)
    except Refused as problem:
        count = _takeable(problem, batch)
        if not 0 < count < len(batch["entries"]):
            raise
        return _send(practice, client, _shorter(practice, batch, count))
    said = client.said("receipt", answer)
    expected = (batch["location_id"], batch["after"] + len(batch["entries"]), batch["link"])
    if (said["location_id"], said["position"], said["link"]) != expected:
        raise Refused("receipt_other", "The group acknowledged something else.")
    return said, answer["said"]


def _takeable(problem: Refused, batch: Mapping) -> int:
    """Return how many entries of a batch that was refused may be sent by themselves."""
    half = len(batch["entries"]) // 2
    if problem.facts.get("status") == 413:
        return half
    if problem.code == "entry_damaged":
        said = problem.facts["problem"]
        # That the whole does not hold together says nothing of where.
        return half if said["reason"] == "link" else said["position"] - batch["after"] - 1
    return 0


def _shorter(practice: Practice, batch: Mapping, count: int) -> dict:
    """Return the batch's start, up to the link that stands here: one that was worked out from its
    texts would fit a text that was damaged here."""
    with read(practice.engine, locations=EVERYWHERE) as connection:
        link = readers.link_at(connection, batch["location_id"], batch["after"] + count)
    return {**batch, "entries": batch["entries"][:count], "link": link.hex(), "head": None}


def next_batch(practice: Practice, location_id: str, position: int, link: bytes) -> dict | None:
    """Return what is to be sent after a position, as much as goes into one request, or None."""
    with read(practice.engine, locations=EVERYWHERE) as connection:
        rows = entries.fitting(
            readers.stored_after(connection, location_id, position, limit=entries.MOST_ENTRIES)
        )
        if not rows:
            return None
        writers = _writers(connection, location_id, {row["tablet_id"] for row in rows})
    last = rows[-1]
    head = {name: last[name] for name in ("epoch", "position", "link")}
    return {
        "location_id": location_id,
        "after": position,
        "previous_link": link.hex(),
        "link": last["link"].hex(),
        "entries": [entries.to_wire(row) for row in rows],
        "writers": writers,
        "head": sign_head(
            practice.server_key,
            {**head, "location_id": location_id},
            at=rfc3339(practice.clock.now()),
        ),
    }


def _writers(connection: Connection, location_id: str, writing: set[str]) -> list[dict]:
    """Return who wrote what is sent, and beside them the latest enrolled, to be known later."""
    desk = accounts.desk_writer(connection, location_id)
    rows = [] if desk is None else [desk]
    rows += reversed(accounts.tablets(connection, location_id))
    rows.sort(key=lambda row: row["tablet_id"] not in writing)
    names = ("tablet_id", "kind", "label", "public_key", "certificate", "enrolled_at")
    more = ("revoked_at", "replaces", "first_seq")
    return [
        {**{name: row[name] for name in names + more}, "unconfirmed": bool(row["unconfirmed"])}
        for row in rows[: max(MOST_WRITERS, len(writing))]
    ]


def _note_met(
    practice: Practice, location_id: str, *, epoch: str, position: int, link: bytes
) -> None:
    with write(practice.engine, locations=EVERYWHERE) as connection:
        known = replication.get(connection, location_id) or {}
        if known.get("position") != position or known.get("link") != link:
            replication.note_position(
                connection, location_id, epoch=epoch, position=position, link=link
            )


def _note_problem(practice: Practice, location_id: str, problem: DomainError) -> None:
    _note_code(practice, location_id, problem.code)


def _note_code(practice: Practice, location_id: str, code: str) -> None:
    with write(practice.engine, locations=EVERYWHERE) as connection:
        replication.note_problem(connection, location_id, code, now=practice.clock.now())
