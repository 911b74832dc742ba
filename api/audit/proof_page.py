"""A record's proof for somebody who reads the record: made, checked, and held beside the paper."""

from datetime import datetime
from typing import Any

from api.audit import proof, proof_check
from api.clock import Clock
from api.events import signing
from api.records import service
from api.storage.engine import Connection

SHORTEST_LINK = 16


def shown(
    connection: Connection,
    server_key: signing.PrivateKey,
    clock: Clock,
    *,
    location_id: str,
    record_id: str,
    actor_id: str,
    now: datetime,
    tablet_id: str | None = None,
    version: int | None = None,
    link: str | None = None,
) -> dict[str, Any]:
    """Return {result, proof, paper} of a record, and note that it was read.

    ``version`` and ``link`` (its first digits at least) are what a paper says of itself; ``paper``
    is then {version, known, fits, position}: whether the record has that version, and whether its
    entry has that link. ``result`` is what the check found, see ``proof_check.check``. Raises
    ``NotFound``.
    """
    record = service.known(connection, location_id, record_id)
    service.note(
        connection, location_id, now, "read", actor_id, tablet_id, record_id, {"proof": True}
    )
    made = proof.prove(connection, server_key, clock, location_id=location_id, record_id=record_id)
    result = proof_check.check(made, server_key=signing.public_key_text(server_key))
    paper = None
    if version is not None:
        paper = _paper(record, result, version, link or "")
    return {"result": result, "proof": made, "paper": paper}


def _paper(record: dict, result: dict, version: int, link: str) -> dict[str, Any]:
    versions = record["versions"]
    event_id = versions[version - 1]["event_id"] if version <= len(versions) else None
    entry = next((one for one in result["entries"] if one["event_id"] == event_id), None)
    return {
        "version": version,
        "newest": len(versions),
        "known": entry is not None,
        "fits": entry is not None and len(link) >= SHORTEST_LINK and entry["link"].startswith(link),
        "position": None if entry is None else entry["position"],
    }
