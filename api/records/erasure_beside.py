"""At a group: what is erased lies in no other history of the same log either.

A practice that was put back goes on in another history; what came after the moment it went back to
stays at the group, set aside. An order that stands in the history in force is for all of them: also
for what stands only there and was about the same record when the order was given.
"""

import json
from collections.abc import Collection, Iterator, Mapping
from contextlib import contextmanager
from typing import Any

from api.storage import attachment_uses, erased, followed, renderings


def let_go(connection: Any, entry: Mapping[str, Any], said: Mapping[str, Any]) -> None:
    """Take away in every other history what an order says; nothing where there is none.

    An order in a history that nothing explains, or that was set aside itself, reaches no other.
    """
    for history_id in followed.beside(connection, entry["location_id"]):
        _let_go_in(connection, history_id, entry, said)


@contextmanager
def known_from_log(
    connection: Any, history_id: str, *, but: Collection[str] = frozenset()
) -> Iterator[None]:
    """Let it be known which photographs a log names, where nothing is derived of it.

    One that is listed may have come again, for another record, and then only the log says so.
    ``but``: the events of which the content goes. A history that is read is left as it is.
    """
    derived = followed.counts(connection, history_id)
    if not derived:
        attachment_uses.put_of_log(connection, history_id, but=but)
    yield
    if not derived:
        attachment_uses.clear(connection, history_id)


def payload_hash_of(body: str) -> str | None:
    """Return the hash that a body says its payload has, or None."""
    try:
        said = json.loads(body)
    except ValueError:
        return None
    found = said.get("payload_hash") if isinstance(said, dict) else None
    return found if isinstance(found, str) else None


def _let_go_in(
    connection: Any, history_id: str, entry: Mapping[str, Any], said: Mapping[str, Any]
) -> None:
    record_id = entry["body"]["entity_id"]
    rows: list[dict[str, Any]] = [_listed(erased.RECORD, record_id)]
    for one in erased.entries_of(connection, history_id, record_id):
        # What came there after the order is none of it.
        if one["event_id"] in said["event_ids"] or one["received_at"] <= entry["received_at"]:
            rows.append(
                _listed(
                    erased.PAYLOAD,
                    one["event_id"],
                    sha256=payload_hash_of(one["body"]),
                    position=one["position"],
                )
            )
    for paper in renderings.hashes_of(connection, history_id, record_id):
        what = f"{record_id}/{paper['version']}/{paper['kind']}"
        rows.append(_listed(erased.RENDERING, what, sha256=paper["sha256"]))
    for sha256 in erased.photographs_aside(connection, history_id, record_id):
        rows.append(_listed(erased.ATTACHMENT, sha256, sha256=sha256))
    place = entry["position"]
    erased.note(
        connection,
        history_id,
        record_id,
        rows,
        by_position=place,
        at=entry["received_at"],
        by_location=entry["location_id"],
    )
    gone = {one["what"] for one in rows if one["kind"] == erased.PAYLOAD}
    with known_from_log(connection, history_id, but=gone):
        erased.take_away(connection, history_id, place)
    erased.forget(connection, history_id, record_id)


def _listed(
    kind: str, what: str, *, sha256: str | None = None, position: int | None = None
) -> dict[str, Any]:
    return {"kind": kind, "what": what, "sha256": sha256, "position": position}
