"""Certificates by the hash of their bytes: put once, never changed. Who names which of them."""

import re
from collections.abc import Collection, Mapping
from datetime import datetime

from sqlalchemy import Connection, delete, exists, func, select

from api.storage.readers import QUARANTINED, as_entry, stored_at
from api.storage.rows import every, first, insert_or_keep, utc_text
from api.storage.tables import certificate, certificate_use, event, payload

_HASH = re.compile(r"[0-9a-f]{64}")
# What names certificates, and what it is about.
NAMED_BY = ("maintenance.recorded", "meter.registered", "meter.calibrated")
# Entries put aside that hold a hash somewhere.
_MOST = 100
_FACTS = [column for column in certificate.c if column.name not in ("location_id", "content")]
_NAMED = exists().where(
    certificate_use.c.location_id == certificate.c.location_id,
    certificate_use.c.sha256 == certificate.c.sha256,
)


def put(
    connection: Connection,
    location_id: str,
    sha256: str,
    content: bytes,
    *,
    media_type: str,
    received_at: datetime,
    actor_id: str | None,
    tablet_id: str | None,
) -> bool:
    """Keep the bytes under their hash; return False where they were there already."""
    return insert_or_keep(
        connection,
        certificate,
        {
            "location_id": location_id,
            "sha256": sha256,
            "media_type": media_type,
            "size_bytes": len(content),
            "content": content,
            "received_at": utc_text(received_at),
            "actor_id": actor_id,
            "tablet_id": tablet_id,
        },
    )


def get(connection: Connection, location_id: str, sha256: str) -> dict | None:
    """Return {content, media_type, size_bytes, received_at, actor_id, tablet_id}, or None."""
    where = (certificate.c.location_id == location_id, certificate.c.sha256 == sha256)
    return first(connection.execute(select(certificate).where(*where)))


def listed(connection: Connection, location_id: str, *, most: int) -> list[dict]:
    """Return what is known of each certificate, the newest first, and whether one is ``named``."""
    found = connection.execute(
        select(*_FACTS, _NAMED.label("named"))
        .where(certificate.c.location_id == location_id)
        .order_by(certificate.c.received_at.desc(), certificate.c.sha256)
        .limit(most)
    )
    return [{**row, "named": bool(row["named"])} for row in every(found)]


def unnamed_since(connection: Connection, location_id: str, since: datetime) -> int:
    """Return how many came after a moment that nothing names."""
    return connection.execute(
        select(func.count())
        .select_from(certificate)
        .where(
            certificate.c.location_id == location_id,
            certificate.c.received_at > utc_text(since),
            ~_NAMED,
        )
    ).scalar_one()


def hashes_in(said: Mapping | None) -> list[str]:
    """Return the hashes that an entry's payload names, of whatever form that is."""
    named = (said or {}).get("certificates")
    found = [
        one.get("sha256") if isinstance(one, Mapping) else None
        for one in (named if isinstance(named, list) else [])
    ]
    return [one for one in found if isinstance(one, str) and _HASH.fullmatch(one)]


def note_uses(
    connection: Connection, location_id: str, kind: str, doc_id: str, said: Mapping | None
) -> None:
    """Store which certificates were named of something, also those that a later entry left out."""
    for sha256 in hashes_in(said):
        row = {"location_id": location_id, "sha256": sha256, "kind": kind, "doc_id": doc_id}
        insert_or_keep(connection, certificate_use, row)


def uses(connection: Connection, location_id: str, sha256: str) -> list[dict]:
    """Return {kind, doc_id} of everything of which a certificate was named, ordered."""
    column = certificate_use.c
    return every(
        connection.execute(
            select(column.kind, column.doc_id)
            .where(column.location_id == location_id, column.sha256 == sha256)
            .order_by(column.kind, column.doc_id)
        )
    )


def named_aside(connection: Connection, location_id: str, sha256: str) -> bool:
    """Return whether an entry that was put aside names it; nothing is made of such a one."""
    if not _HASH.fullmatch(sha256):
        return False
    where = (
        event.c.type.in_(NAMED_BY),
        event.c.verdict == QUARANTINED,
        payload.c.payload.contains(sha256),
    )
    found = map(as_entry, stored_at(connection, location_id, *where, limit=_MOST))
    return any(sha256 in hashes_in(one["payload"]) for one in found)


def present(connection: Connection, location_id: str, hashes: Collection[str]) -> set[str]:
    """Return those of ``hashes`` whose bytes are here."""
    where = (certificate.c.location_id == location_id, certificate.c.sha256.in_(hashes))
    return set(connection.execute(select(certificate.c.sha256).where(*where)).scalars())


def clear_uses(connection: Connection, location_id: str) -> None:
    """Drop who names what, before that is all made anew from the log."""
    where = certificate_use.c.location_id == location_id
    connection.execute(delete(certificate_use).where(where))
