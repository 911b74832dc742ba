"""On the group's side: photographs of a practice's records, each by the hash that its entry names.

One is kept beside the history in force and goes with its record there. What another history of the
same log has already is not asked for once more.
"""

from collections.abc import Sequence

from api.clock import rfc3339
from api.errors import Conflict, NotFound
from api.group import words
from api.group.house import House, must_be_theirs
from api.records import attachments as records
from api.storage import attachments, followed, practices
from api.storage.engine import Connection, again, narrow


def missing(house: House, practice_id: str, location_id: str, hashes: Sequence[str]) -> dict:
    """Say in the group's signed word which of these photographs are not here.

    Raises ``NotFound`` "location_unknown" before the first entry of its log.
    """

    def work(connection: Connection) -> list[str]:
        current, others = _histories(house, connection, practice_id, location_id)
        here = attachments.present(connection, current, hashes)
        for history_id in others:
            for sha256 in sorted(attachments.present(connection, history_id, hashes) - here):
                one = attachments.get(connection, history_id, sha256)
                if one is not None and _keep(house, connection, current, sha256, one["content"]):
                    here.add(sha256)
        return [sha256 for sha256 in hashes if sha256 not in here]

    found = again(house.engine, work)
    return _say(house, "photographs", practice_id, location_id, missing=found)


def keep(house: House, practice_id: str, location_id: str, sha256: str, content: bytes) -> dict:
    """Keep a photograph that an entry here names; the same one again changes nothing.

    Returns the group's signed word for it, after the commit. Raises as ``records.attachments.keep``
    and :func:`missing` do.
    """

    def work(connection: Connection) -> None:
        current, _ = _histories(house, connection, practice_id, location_id)
        records.keep(
            connection,
            location_id=current,
            sha256=sha256,
            content=content,
            tablet_id=None,
            now=house.clock.now(),
        )

    again(house.engine, work)
    return _say(house, "photograph", practice_id, location_id, sha256=sha256)


def _histories(
    house: House, connection: Connection, practice_id: str, location_id: str
) -> tuple[str, list[str]]:
    practices.lock(connection, practice_id, now=house.clock.now())
    must_be_theirs(connection, practice_id, location_id)
    known = followed.histories(connection, practice_id, location_id)
    current = [one["location_id"] for one in known if one["state"] == followed.CURRENT]
    if not current:
        raise NotFound("location_unknown", "No log of this location is here.")
    others = [one["location_id"] for one in known if one["location_id"] != current[0]]
    narrow(connection, current[0], *others)
    return current[0], others


def _keep(
    house: House, connection: Connection, location_id: str, sha256: str, content: bytes
) -> bool:
    try:
        records.keep(
            connection,
            location_id=location_id,
            sha256=sha256,
            content=content,
            tablet_id=None,
            now=house.clock.now(),
        )
    except Conflict:
        # Nothing in the history in force names it.
        return False
    return True


def _say(house: House, kind: str, practice_id: str, location_id: str, **said: object) -> dict:
    return words.say(
        house.server_key,
        kind,
        practice_id=practice_id,
        location_id=location_id,
        at=rfc3339(house.clock.now()),
        **said,
    )
