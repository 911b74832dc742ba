"""Pull: what changed since a cursor, and what lets the reader check the log by itself."""

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC
from typing import Any

from api.clock import Clock, rfc3339
from api.errors import BadInput, Conflict, NotAllowed, NotFound
from api.events import chain, signing
from api.events.heads import sign_head
from api.storage import backups, documents, readers
from api.storage.engine import Connection, Engine, read
from api.sync.protocol import PAGE_LIMIT, Cursor, read_cursor, write_cursor

# What `json.dumps` comes to for a text, without its way there: a page needs it hundreds of times.
_quoted = json.encoder.encode_basestring_ascii


@dataclass(frozen=True)
class Page:
    """A page as JSON, with what else its giver needs to know of it.

    Documents go out in the text in which they are stored: reading a thousand of them to write
    the same again would be most of what a pull costs.
    """

    text: str
    epoch: str
    doc_ids: Sequence[str]


def pull(*args: Any, **more: Any) -> dict:
    """Return what the text of :func:`pull_page` says."""
    return json.loads(pull_page(*args, **more).text)


def pull_page(
    engine: Engine,
    clock: Clock,
    server_key: signing.PrivateKey,
    *,
    tablet_or_location: Mapping | str,
    cursor: str | None = None,
    feed: str = documents.HOUSE,
    limit: int = PAGE_LIMIT,
    include_records: bool = False,
) -> Page:
    """Return one page of a feed, "house" or "records", for a tablet or a location's id.

    A tablet is its row as it was read when the request came in.

    The page: {documents, entries, previous_link, next_cursor, more, head, server_time,
    durable_position}. ``documents`` are those last changed in (cursor, next], each as it is now.
    ``entries`` (feed "house" only) are the two hashes of every position in (cursor, next], from
    which the reader computes its own link; ``previous_link`` is the link at the cursor, to be
    compared with the one it computed before. ``head`` is signed by the server.

    All of a page is read from one moment of the database. Raises ``BadInput`` for a cursor that
    is not one of this feed, ``Conflict`` "epoch_changed" when the log was restored and
    "log_behind_cursor" when it ends before the cursor, ``NotAllowed`` "person_needed" for
    records without ``include_records``, "tablet_revoked" and "tablet_unconfirmed".
    """
    if feed not in (documents.HOUSE, documents.RECORDS):
        raise BadInput("feed_unknown", "a feed is house or records", field="feed")
    if feed == documents.RECORDS and not include_records:
        raise NotAllowed("person_needed", "records are shown to a person, not to a tablet alone")
    limit = max(1, min(limit, PAGE_LIMIT))
    location_id = _location_of(tablet_or_location)
    with read(engine) as connection:
        location = readers.location_row(connection, location_id)
        if location is None:
            raise NotFound("location_unknown", "there is no such location")
        after = _position_of(cursor, location, feed)
        page = _house_page if feed == documents.HOUSE else _records_page
        changed, entries, upto, link = page(connection, location, after, limit)
        previous = link or chain.FIRST_LINK
        durable = backups.durable_position(connection, location_id)
    now = rfc3339(clock.now().astimezone(UTC))
    rest = {
        "previous_link": previous.hex(),
        "next_cursor": write_cursor(Cursor(location["epoch"], location_id, feed, upto)),
        "more": upto < location["position"],
        "head": sign_head(server_key, location, at=now),
        "server_time": now,
        # Null until a verified backup exists.
        "durable_position": durable,
    }
    text = (
        f'{{"documents":[{_documents_text(changed)}],"entries":[{_entries_text(entries)}],'
        f"{json.dumps(rest, ensure_ascii=False)[1:]}"
    )
    return Page(text, location["epoch"], [doc_id for _, doc_id, _, _ in changed])


def _documents_text(changed: Iterable[tuple[str, str, int, str]]) -> str:
    return ",".join(
        f'{{"kind":{_quoted(kind)},"doc_id":{_quoted(doc_id)},"position":{position},"body":{text}}}'
        for kind, doc_id, position, text in changed
    )


def _entries_text(entries: Iterable[tuple[int, bytes, bytes]]) -> str:
    return ",".join(
        f'{{"position":{position},"header_hash":"{header_hash.hex()}",'
        f'"body_hash":"{body_hash.hex()}"}}'
        for position, header_hash, body_hash in entries
    )


def _location_of(tablet_or_location: Mapping | str) -> str:
    if isinstance(tablet_or_location, str):
        return tablet_or_location
    row = tablet_or_location
    if row["revoked_at"] is not None:
        raise NotAllowed("tablet_revoked", "this tablet was revoked")
    if row["unconfirmed"]:
        raise NotAllowed("tablet_unconfirmed", "an administrator has to confirm this tablet")
    return row["location_id"]


def _position_of(cursor: str | None, location: Mapping, feed: str) -> int:
    if not cursor:
        return 0
    known = read_cursor(cursor)
    if known.location_id != location["location_id"] or known.feed != feed:
        raise BadInput("cursor_unreadable", "this cursor is of another feed", field="cursor")
    if known.epoch != location["epoch"]:
        raise Conflict(
            "epoch_changed", "the log was restored; compare heads", epoch=location["epoch"]
        )
    if known.position > location["position"]:
        raise Conflict(
            "log_behind_cursor",
            "the log ends before the cursor: something was taken out of it",
            position=location["position"],
        )
    return known.position


def _house_page(connection: Connection, location: Mapping, after: int, limit: int):
    location_id = location["location_id"]
    upto = min(after + limit, location["position"])
    # A position may change several documents, so their number is left open here.
    changed = documents.changed(
        connection, location_id, documents.HOUSE, after=after, upto=upto, limit=limit * 100
    )
    link, entries = readers.raw_hashes(connection, location_id, after=after, upto=upto)
    return changed, entries, upto, link


def _records_page(connection: Connection, location: Mapping, after: int, limit: int):
    changed = documents.changed(
        connection,
        location["location_id"],
        documents.RECORDS,
        after=after,
        upto=location["position"],
        limit=limit,
    )
    upto = changed[-1][2] if len(changed) >= limit else location["position"]
    return changed, [], upto, readers.link_at(connection, location["location_id"], after)
