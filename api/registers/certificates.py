"""Certificates of work on lasers and of meters: checked, kept under the hash of their bytes.

Nothing of a patient belongs into one, and so none is ever erased: bytes that no entry names stay as
well, because whoever handed them in stands in the access log, and what is append-only without an
exception needs no rule that could let go of the wrong one. What keeps that from filling the disk is
how many may come in a day before an entry names them.
"""

import hashlib
from datetime import datetime, timedelta
from typing import Any

from api.errors import BadInput, Conflict, NotFound
from api.files import papers
from api.storage import access, certificates
from api.storage.engine import Connection

LIMIT_BYTES = 5 * 1024 * 1024
# Of one location in a day, at a desk, where the file comes before the entry. No source but
# judgement: twice what the two fullest entries can name.
MOST_UNNAMED = 40
UNNAMED_WINDOW = timedelta(days=1)
MOST_LISTED = 5000


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
    """Keep a certificate; the same one again changes nothing. Return its facts, with ``new``.

    What kind it is, its bytes alone say. Without ``actor_id`` a tablet hands it in by itself: then
    an entry has to name it, be it one that was put aside, as with everything that a tablet sends.
    Raises ``BadInput``: certificate_empty, certificate_too_large, certificate_hash_differs,
    certificate_unknown_kind, certificate_damaged; ``Conflict``: certificate_unnamed,
    certificates_unused.
    """
    if not content:
        raise BadInput("certificate_empty", "There is nothing in this file.")
    if len(content) > LIMIT_BYTES:
        raise BadInput(
            "certificate_too_large", f"A certificate may have at most {LIMIT_BYTES} bytes."
        )
    if hashlib.sha256(content).hexdigest() != sha256:
        raise BadInput("certificate_hash_differs", "The bytes are not those that the hash names.")
    media_type = papers.media_type_of(content)
    _check_room(connection, location_id, sha256, actor_id, now)
    new = certificates.put(
        connection,
        location_id,
        sha256,
        content,
        media_type=media_type,
        received_at=now,
        actor_id=actor_id,
        tablet_id=tablet_id,
    )
    if new:
        _note(connection, location_id, now, "create", actor_id, tablet_id, sha256)
    return {
        "sha256": sha256,
        "media_type": media_type,
        "size_bytes": len(content),
        "new": new,
    }


def _check_room(
    connection: Connection, location_id: str, sha256: str, actor_id: str | None, now: datetime
) -> None:
    """Refuse what belongs to nobody: from a tablet at once, from a desk where it is too much."""
    if certificates.uses(connection, location_id, sha256):
        return
    if actor_id is None:
        if not certificates.named_aside(connection, location_id, sha256):
            raise Conflict(
                "certificate_unnamed", "No entry that is here names this certificate yet."
            )
    elif not certificates.present(connection, location_id, [sha256]):
        since = now - UNNAMED_WINDOW
        if certificates.unnamed_since(connection, location_id, since) >= MOST_UNNAMED:
            raise Conflict(
                "certificates_unused",
                f"{MOST_UNNAMED} files of the last day belong to no entry yet. Try tomorrow.",
            )


def fetch(
    connection: Connection,
    *,
    location_id: str,
    sha256: str,
    actor_id: str | None,
    tablet_id: str | None,
    unnamed_too: bool,
    put_aside_too: bool,
    now: datetime,
) -> dict[str, Any]:
    """Return a certificate with its ``content``, and write the reading down.

    With ``unnamed_too`` also one that nothing names yet, with ``put_aside_too`` one that only an
    entry names which was put aside. Raises ``NotFound`` certificate_unknown.
    """
    found = certificates.get(connection, location_id, sha256)
    shown = found is not None and (
        unnamed_too
        or bool(certificates.uses(connection, location_id, sha256))
        or (put_aside_too and certificates.named_aside(connection, location_id, sha256))
    )
    if not shown:
        raise NotFound("certificate_unknown", "There is no such certificate here.")
    _note(connection, location_id, now, "read", actor_id, tablet_id, sha256)
    return found


def listed(connection: Connection, location_id: str, *, unnamed_too: bool) -> list[dict]:
    """Return what is known of each certificate, the newest first.

    What nothing names is said only with ``unnamed_too``: to whoever can hand one in.
    """
    found = certificates.listed(connection, location_id, most=MOST_LISTED)
    return [one for one in found if one["named"] or unnamed_too]


def _note(
    connection: Connection,
    location_id: str,
    now: datetime,
    action: str,
    actor_id: str | None,
    tablet_id: str | None,
    sha256: str,
) -> None:
    about = certificates.uses(connection, location_id, sha256)
    access.note(
        connection,
        location_id=location_id,
        at=now,
        action=action,
        actor_id=actor_id,
        tablet_id=tablet_id,
        subject_kind="certificate",
        subject_id=sha256,
        subjects=[one["doc_id"] for one in about],
    )
