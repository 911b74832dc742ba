"""The proof of one record: what of the log is needed to check it without the log.

The record's entries as they are stored, of every entry between them its two hashes, and a head
that the server signed at the last of them. Whoever holds that and the server's public key can
work out every link again with nothing but SHA-256; ``proof_check`` does. Without ``payloads``
nothing in it says anything about the patient: what was recorded stands in it as a hash only.
"""

import json
from collections.abc import Iterable, Mapping
from datetime import UTC
from typing import Any

from api.audit import erasures
from api.clock import Clock, rfc3339
from api.errors import NotFound
from api.events import build, chain, signing
from api.events.heads import sign_head
from api.storage import accounts, readers, renderings
from api.storage.engine import Connection

KIND = "dosebook-proof-1"
# Entries further apart than this stand in runs of their own, each with a signed head, so that a
# proof stays small however much happened between a signature and an addendum.
LONGEST_GAP = 1000


def prove(
    connection: Connection,
    server_key: signing.PrivateKey,
    clock: Clock,
    *,
    location_id: str,
    record_id: str,
    payloads: bool = False,
    to_head: bool = False,
) -> dict[str, Any]:
    """Return the proof of a record's applied entries, as a JSON object.

    With ``payloads`` it carries what was recorded, patient and all. With ``to_head`` it is one run
    from the record's first entry to the end of the log, to be compared with a head remembered
    elsewhere. Raises ``NotFound`` where the location has no entry of such a record.
    """
    location = readers.location_row(connection, location_id)
    own = {
        row["position"]: row for row in readers.stored_of_record(connection, location_id, record_id)
    }
    if location is None or not own:
        raise NotFound("record_unknown", "There is no such record.")
    at = rfc3339(clock.now().astimezone(UTC))
    if to_head:
        spans = [(min(own), max(location["position"], max(own)))]
    else:
        spans = list(_spans(sorted(own)))
    papers = build.to_text(
        {
            "kind": "dosebook-papers-1",
            "location_id": location_id,
            "record_id": record_id,
            "at": at,
            "papers": [
                *renderings.hashes_of(connection, location_id, record_id),
                *erasures.papers(connection, location_id, record_id),
            ],
        }
    )
    return {
        "kind": KIND,
        "location_id": location_id,
        "record_id": record_id,
        "made_at": at,
        "server_public_key": signing.public_key_text(server_key),
        "runs": [
            _run(connection, server_key, location, own, span, at=at, payloads=payloads)
            for span in spans
        ],
        "writers": _writers(connection, {row["tablet_id"] for row in own.values()}),
        "papers": {"text": papers, "signature": signing.sign(server_key, papers)},
        **_erased(connection, server_key, location_id, record_id, own.values(), at),
    }


def _erased(
    connection: Connection,
    server_key: signing.PrivateKey,
    location_id: str,
    record_id: str,
    rows: Iterable[Mapping],
    at: str,
) -> dict[str, Any]:
    """Say of entries whose content is gone by whose word that is so; nothing where none is."""
    gone = [row for row in rows if row["payload"] is None]
    if not gone:
        return {}
    ordered = erasures.ordered(connection, location_id)
    text = build.to_text(
        {
            "kind": "dosebook-erased-1",
            "location_id": location_id,
            "record_id": record_id,
            "at": at,
            "entries": [
                {"position": row["position"], **ordered.get(row["event_id"], {})} for row in gone
            ],
        }
    )
    return {"erased": {"text": text, "signature": signing.sign(server_key, text)}}


def _spans(positions: list[int]) -> Iterable[tuple[int, int]]:
    first = last = positions[0]
    for position in positions[1:]:
        if position - last > LONGEST_GAP:
            yield first, last
            first = position
        last = position
    yield first, last


def _run(
    connection: Connection,
    server_key: signing.PrivateKey,
    location: Mapping,
    own: Mapping[int, Mapping],
    span: tuple[int, int],
    *,
    at: str,
    payloads: bool,
) -> dict[str, Any]:
    first, last = span
    location_id = location["location_id"]
    before = readers.link_at(connection, location_id, first - 1) or chain.FIRST_LINK
    link, entries = before, []
    for found in readers.entry_hashes(connection, location_id, after=first - 1, upto=last):
        row = own.get(found["position"])
        entries.append(found if row is None else _own_entry(row, payloads=payloads))
    if last == location["position"]:
        link, epoch = location["link"], location["epoch"]
    else:
        link = readers.link_at(connection, location_id, last) or chain.FIRST_LINK
        epoch = own[last]["epoch"]
    head = {"epoch": epoch, "location_id": location_id, "position": last, "link": link}
    return {
        "after": {"position": first - 1, "link": before.hex()},
        "entries": entries,
        "head": sign_head(server_key, head, at=at),
    }


def _own_entry(row: Mapping, *, payloads: bool) -> dict[str, Any]:
    entry = {
        "position": row["position"],
        "tablet_id": row["tablet_id"],
        "header": row["header"],
        "body": row["body"],
        "header_hash": row["header_hash"].hex(),
        "body_hash": row["body_hash"].hex(),
        "link": row["link"].hex(),
    }
    # What was erased is not there; the body keeps its hash.
    if payloads and row["payload"] is not None:
        entry |= {"salt": row["salt"].hex(), "payload": row["payload"]}
    return entry


def _writers(connection: Connection, tablet_ids: Iterable[str]) -> list[dict[str, Any]]:
    found = []
    for tablet_id in sorted(tablet_ids):
        row = accounts.tablet_by_id(connection, tablet_id) or {}
        found.append(
            {
                "tablet_id": tablet_id,
                "public_key": row.get("public_key"),
                "certificate": json.loads(row["certificate"]) if row.get("certificate") else None,
            }
        )
    return found
