"""The photographs of a practice that lost everything, got back from its group after its log.

Only what an entry names whose content is there is kept, and only bytes that have the hash which it
says; one that has not is left, counted and none of the others' business.
"""

import base64
from collections.abc import Iterator, Sequence

from api.clock import Clock
from api.errors import DomainError
from api.group.client import Client, Refused
from api.records import attachments
from api.storage.engine import Engine, write


def fetch(
    engine: Engine, client: Client, clock: Clock, secret: str, location_ids: Sequence[str]
) -> dict[str, int]:
    """Get the photographs of these locations; return {kept, spoilt}.

    The log must be projected before. Raises ``Unreachable``, so that nothing is put in place that
    another try would bring whole.
    """
    done = {"kept": 0, "spoilt": 0}
    for location_id in location_ids:
        for sha256 in _listed(client, secret, location_id):
            kept = _one(engine, client, clock, secret, location_id, sha256)
            if kept is not None:
                done["kept" if kept else "spoilt"] += 1
    return done


def _listed(client: Client, secret: str, location_id: str) -> Iterator[str]:
    after: str | None = None
    while True:
        asked = {"code": secret, "location_id": location_id, "after": after}
        try:
            page = client.ask("/group/restore/photographs", asked)["photographs"]
        except Refused as problem:
            if problem.facts.get("status") == 404 and problem.code != "location_unknown":
                # A group of an earlier version, which has none.
                return
            raise
        # In order and each once, or this would never end.
        if not page or page != sorted(set(page)) or page[0] <= (after or ""):
            return
        yield from page
        after = page[-1]


def _one(
    engine: Engine, client: Client, clock: Clock, secret: str, location_id: str, sha256: str
) -> bool | None:
    """Keep one; return False where it is spoilt, None where nothing that is here names it."""
    asked = {"code": secret, "location_id": location_id, "sha256": sha256}
    try:
        content = base64.b64decode(
            client.ask("/group/restore/photograph", asked)["content"], validate=True
        )
        with write(engine) as connection:
            attachments.keep(
                connection,
                location_id=location_id,
                sha256=sha256,
                content=content,
                tablet_id=None,
                now=clock.now(),
            )
    except (ValueError, KeyError, TypeError):
        return False
    except DomainError as problem:
        if problem.code == "attachment_unnamed":
            return None
        if problem.code.startswith("attachment_"):
            return False
        raise
    return True
