"""Photographs of procedures: taken in whole, checked, and kept under the hash of their bytes."""

import hashlib
from datetime import datetime
from typing import Any

from api.errors import BadInput, NotFound
from api.records import jpeg
from api.storage import access, attachments
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

    Raises ``BadInput``: attachment_too_large, attachment_hash_differs, attachment_not_jpeg,
    attachment_metadata.
    """
    if len(content) > LIMIT_BYTES:
        raise BadInput(
            "attachment_too_large", f"A photograph may have at most {LIMIT_BYTES} bytes."
        )
    if hashlib.sha256(content).hexdigest() != sha256:
        raise BadInput("attachment_hash_differs", "The bytes are not those that the hash names.")
    picture = jpeg.read(content)
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
        _note(connection, location_id, now, "add", actor_id, tablet_id, sha256)
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
    found = attachments.get(connection, location_id, sha256)
    if found is None:
        raise NotFound("attachment_unknown", "There is no such photograph here.")
    _note(connection, location_id, now, "read", actor_id, tablet_id, sha256)
    return found


def _note(
    connection: Connection,
    location_id: str,
    now: datetime,
    action: str,
    actor_id: str | None,
    tablet_id: str | None,
    sha256: str,
) -> None:
    access.note(
        connection,
        location_id=location_id,
        at=now,
        action=action,
        actor_id=actor_id,
        tablet_id=tablet_id,
        subject_kind="attachment",
        subject_id=sha256,
    )
