"""On the practice's side: what the group rolls out comes down, each once, into the practice's log.

The practice asks, in its own contact, and writes down itself what it was offered: nobody else adds
to its log. Nothing comes into force by it.
"""

from collections.abc import Sequence

from api.clock import Clock
from api.errors import DomainError
from api.events import signing
from api.group import offers, words
from api.group.client import Client, Refused
from api.storage import documents
from api.storage.engine import EVERYWHERE, Engine, read
from api.sync import desk, judge

MOST = 10_000


def receive(
    client: Client,
    engine: Engine,
    clock: Clock,
    server_key: signing.PrivateKey,
    *,
    location_ids: Sequence[str],
    projectors: judge.Projectors,
    random: desk.Random,
) -> int:
    """Write down what the group offers and is not there yet; return how many entries were made.

    Raises ``Unreachable``, ``Refused``, the latter with "group_other" for what the group did not
    sign for this practice, and whatever the log refuses. What stands in the way of one roll-out is
    none of the others', and is raised once they are there.
    """
    if not location_ids:
        return 0
    try:
        said = client.said("offers", client.ask("/group/offers", {}))
    except Refused as problem:
        if problem.facts.get("status") == 404:
            # A group of an earlier version, which rolls nothing out.
            return 0
        raise
    ids = said.get("rollout_ids")
    if not isinstance(ids, list) or not all(isinstance(each, str) for each in ids):
        raise Refused("offer_unreadable", "The group's roll-outs cannot be read.")
    made = 0
    first: DomainError | None = None
    for rollout_id in ids[:MOST]:
        try:
            with read(engine, locations=EVERYWHERE) as connection:
                wanting = [
                    each
                    for each in location_ids
                    if documents.get(connection, each, offers.OFFER, rollout_id) is None
                ]
            if not wanting:
                continue
            one = _asked(client, rollout_id)
            for location_id in wanting:
                _write_down(engine, clock, server_key, location_id, one, projectors, random)
                made += 1
        except DomainError as problem:
            first = first or problem
    if first is not None:
        raise first
    return made


def _asked(client: Client, rollout_id: str) -> dict:
    one = client.said("offer", client.ask("/group/offer", {"rollout_id": rollout_id}))
    if one.get("rollout_id") != rollout_id or one.get("subject") not in ("list", "preset"):
        raise Refused("group_other", "The group answered with another roll-out.")
    content = one.get("content")
    if not isinstance(content, dict) or offers.kind_of(content) != one["subject"]:
        raise Refused("offer_unreadable", "The group's roll-out has no content.")
    if content.get("row") is not None and not isinstance(content["row"], dict):
        raise Refused("offer_unreadable", "The group's preset cannot be read.")
    # By whom it is said is what was met when the practice joined, whatever the text names.
    key = words.fingerprint(client.group_key or "")
    return {**one, "content": {**one["content"], "group_key": key}}


def _write_down(
    engine: Engine,
    clock: Clock,
    server_key: signing.PrivateKey,
    location_id: str,
    one: dict,
    projectors: judge.Projectors,
    random: desk.Random,
) -> None:
    with read(engine, locations=EVERYWHERE) as connection:
        place = documents.get(connection, location_id, "location", location_id)
    desk.append_as_desk(
        engine,
        clock,
        server_key,
        location_id=location_id,
        actor_id=None,
        type=f"{one['subject']}.offered",
        entity_id=one["rollout_id"],
        payload=one["content"],
        # Two contacts at once write it down once.
        idempotency_key=f"offered {one['rollout_id']}",
        projectors=projectors,
        zone=place["zone"],
        random=random,
    )
