"""Photographs of procedures: taken in whole, checked, and kept under the hash of their bytes."""

import hashlib
from collections.abc import Sequence
from datetime import datetime
from typing import Any

from api.errors import BadInput, Conflict, NotFound
from api.records import jpeg
from api.storage import access, attachment_uses, attachments
from api.storage.engine import Connection

LIMIT_BYTES = 4 * 1024 * 1024
MEDIA_TYPE = "image/jpeg"


def keep(
    connection: Connection,
    *,
    location_id: str,
    sha256: str,
    content: bytes,
    actor_id: str | None,
    tablet_id: str | None,
    now: datetime,
) -> dict[str, Any]:
    """Keep a photograph; the same one again changes nothing. Return its facts, with ``new``.

    Only one that an entry of a record names is taken, so that nothing fills the disk that belongs
    to nobody: entries come first, and a tablet tries again. Raises ``BadInput``:
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
    records = attachment_uses.records_of(connection, location_id, sha256)
    if not records:
        raise Conflict("attachment_unnamed", "No entry that is here names this photograph yet.")
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
        _note(connection, location_id, now, "create", actor_id, tablet_id, sha256, records)
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
    now: datetime,
) -> dict[str, Any]:
    """Return a photograph with its ``content``, and write the reading down. Raises ``NotFound``."""
    records = attachment_uses.records_of(connection, location_id, sha256)
    found = attachments.get(connection, location_id, sha256) if records else None
    if found is None:
        raise NotFound("attachment_unknown", "There is no such photograph here.")
    _note(connection, location_id, now, "read", actor_id, tablet_id, sha256, records)
    return found


def _note(
    connection: Connection,
    location_id: str,
    now: datetime,
    action: str,
    actor_id: str | None,
    tablet_id: str | None,
    sha256: str,
    records: Sequence[str],
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
        subject_id=records[0],
        subjects=records[1:],
        detail={"photograph": sha256},
    )
