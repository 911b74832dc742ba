"""On the group's side: up to where its log and a practice's are the same."""

from collections.abc import Mapping, Sequence

from api.events import chain
from api.group.house import House, must_be_theirs
from api.storage import followed, practices, readers
from api.storage.engine import Connection, again


def meet(house: House, practice_id: str, asked: Sequence[Mapping]) -> list[dict]:
    """Say of each location up to where the group's log is the practice's own.

    ``asked`` are {location_id, links: [[position, link], ...]}: links of the practice's log, of
    positions of its choice. Returns {location_id, position, link, holds, forked} of each: the
    highest of them that a history has, up to where that history goes here, and whether it is one
    that nothing explains. Position 0 is always shared.
    """

    def work(connection: Connection) -> list[dict]:
        practices.lock(connection, practice_id, now=house.clock.now())
        return [_met(connection, practice_id, one) for one in asked]

    return again(house.engine, work)


def _met(connection: Connection, practice_id: str, asked: Mapping) -> dict:
    location_id = asked["location_id"]
    must_be_theirs(connection, practice_id, location_id)
    links = {position: bytes.fromhex(link) for position, link in asked["links"]}
    best = {"position": 0, "link": chain.FIRST_LINK.hex(), "holds": 0, "forked": False}
    for history in followed.histories(connection, practice_id, location_id):
        agreed = _agreed(connection, history, links)
        # Of two that share as much, the one that is in force is gone on with.
        current = history["state"] == followed.CURRENT
        if agreed > best["position"] or (agreed == best["position"] and current):
            best = {
                "position": agreed,
                "link": links.get(agreed, chain.FIRST_LINK).hex(),
                "holds": history["position"],
                "forked": history["state"] == followed.FORKED,
            }
    return {"location_id": location_id, **best}


def _agreed(connection: Connection, history: Mapping, links: Mapping[int, bytes]) -> int:
    for position in sorted(links, reverse=True):
        if 0 < position <= history["position"]:
            found = readers.link_at(connection, history["location_id"], position)
            if found == links[position]:
                return position
    return 0
