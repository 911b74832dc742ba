"""Photographs of procedures: taken in whole, checked, and kept under the hash of their bytes."""

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from api.errors import BadInput, Conflict, NotFound
from api.files import jpeg
from api.storage import access, attachment_uses, attachments, event_store
from api.storage.engine import Connection

LIMIT_BYTES = 4 * 1024 * 1024
MEDIA_TYPE = "image/jpeg"


def keep(
    connection: Connection,
    *,
    location_id: str,
    sha256: str,
    content: bytes,
    tablet_id: str | None,
    now: datetime,
) -> dict[str, Any]:
    """Keep a photograph; the same one again changes nothing. Return its facts, with ``new``.

    Only one that an entry here names is taken, so that nothing fills the disk that belongs to
    nobody: entries come first, and a tablet tries again. One that was put aside is enough: its
    photograph is kept as well, and is part of no record until the entry is. As the entry names it
    by its hash, it is whoever made the entry who hands it in. Raises ``BadInput``:
    attachment_too_large, attachment_hash_differs, attachment_not_jpeg, attachment_metadata; and
    ``Conflict`` attachment_unnamed.
    """
    if len(content) > LIMIT_BYTES:
        raise BadInput(
            "attachment_too_large", f"A photograph may have at most {LIMIT_BYTES} bytes."
        )
    if hashlib.sha256(content).hexdigest() != sha256:
        raise BadInput("attachment_hash_differs", "The bytes are not those that the hash names.")
    picture = jpeg.read(content)
    named = _named(connection, location_id, sha256)
    if not named.entries:
        raise Conflict("attachment_unnamed", "No entry that is here names this photograph yet.")
    said = (named.entries[0]["body"] or {}).get("actor_id")
    # Of an entry that was put aside nothing is sure to be what it should be.
    actor_id = said if isinstance(said, str) else None
    new = attachments.put(
        connection,
        location_id,
        sha256,
        content,
        media_type=MEDIA_TYPE,
        width_px=picture.width_px,
        height_px=picture.height_px,
        received_at=now,
        actor_id=actor_id,
        tablet_id=tablet_id,
    )
    if new:
        # Whoever erases its record now waits, and finds it; whoever was faster is seen.
        event_store.lock_log(connection, location_id)
        if not _named(connection, location_id, sha256).entries:
            raise Conflict("attachment_unnamed", "The entry that named this photograph is erased.")
        _note(connection, location_id, now, "create", actor_id, tablet_id, sha256, named)
    return {
        "sha256": sha256,
        "size_bytes": len(content),
        "width_px": picture.width_px,
        "height_px": picture.height_px,
        "new": new,
    }


def fetch(
    connection: Connection,
    *,
    location_id: str,
    sha256: str,
    actor_id: str | None,
    tablet_id: str | None,
    put_aside_too: bool,
    now: datetime,
) -> dict[str, Any]:
    """Return a photograph with its ``content``, and write the reading down. Raises ``NotFound``.

    With ``put_aside_too`` also one that only an entry names which was put aside.
    """
    named = _named(connection, location_id, sha256)
    found = None
    if named.entries and (put_aside_too or not named.put_aside):
        found = attachments.get(connection, location_id, sha256)
    if found is None:
        raise NotFound("attachment_unknown", "There is no such photograph here.")
    _note(connection, location_id, now, "read", actor_id, tablet_id, sha256, named)
    return found


@dataclass(frozen=True)
class _Named:
    """By which entries a photograph is named, of which records, and whether these count."""

    entries: Sequence[Mapping[str, Any]]
    records: Sequence[str]
    put_aside: bool


def _named(connection: Connection, location_id: str, sha256: str) -> _Named:
    records = attachment_uses.records_of(connection, location_id, sha256)
    entries = attachment_uses.entries_naming(connection, location_id, sha256, records=records)
    if records:
        return _Named(entries, records, put_aside=False)
    about = {(one["body"] or {}).get("entity_id") for one in entries}
    return _Named(
        entries, sorted(one for one in about if isinstance(one, str)), put_aside=bool(entries)
    )


def _note(
    connection: Connection,
    location_id: str,
    now: datetime,
    action: str,
    actor_id: str | None,
    tablet_id: str | None,
    sha256: str,
    named: _Named,
) -> None:
    """Write down whose record it was: of a hash alone nobody can say later whom it showed."""
    access.note(
        connection,
        location_id=location_id,
        at=now,
        action=action,
        actor_id=actor_id,
        tablet_id=tablet_id,
        subject_kind="record",
        subject_id=next(iter(named.records), None),
        subjects=named.records[1:],
        detail={"photograph": sha256, **({"quarantine": True} if named.put_aside else {})},
    )
