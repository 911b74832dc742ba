"""On the group's side: a practice that lost everything gets back what is held of it."""

import base64
from collections.abc import Callable, Mapping, Sequence
from datetime import datetime

from api.errors import BadInput, Conflict, NotFound
from api.group import entries, joining
from api.people import secrets
from api.storage import access, attachments, followed, practices, readers
from api.storage.engine import Connection

Random = Callable[[int], bytes]
MOST_HASHES = 500


def offered(connection: Connection, secret: str, *, now: datetime) -> dict:
    """Return what a code to restore leads to: whose logs they are and the practice's sealed key.

    No entry is given for it: those are for whoever holds the key. Where each log ends and the hash
    of who writes in it let nothing else pass for them afterwards. Raises ``BadInput``
    "code_wrong", ``Conflict`` "key_missing" where the practice never left its key.
    """
    row = practices.get(connection, _code(connection, secret, now)["practice_id"])
    if row["sealed_key"] is None:
        raise Conflict("key_missing", "The practice left no key here.")
    return {
        "code_hash": secrets.digest(secrets.plain_code(secret)),
        "practice_id": row["practice_id"],
        "name": row["name"],
        "public_key": row["public_key"],
        "sealed_key": base64.b64encode(row["sealed_key"]).decode("ascii"),
        "locations": [_log(connection, one) for one in _in_force(connection, row["practice_id"])],
    }


def page(
    connection: Connection,
    practice: Mapping,
    *,
    secret: str,
    location_id: str,
    after: int,
    now: datetime,
) -> dict:
    """Return {entries, writers, position} of a log after a position, for the practice itself.

    That a log is given back is written down with its first page.
    """
    _own_code(connection, practice, secret, now)
    for history in _in_force(connection, practice["practice_id"]):
        if history["of_location"] == location_id:
            rows = readers.stored_after(
                connection, history["location_id"], after, limit=entries.MOST_ENTRIES
            )
            if after == 0:
                access.note(
                    connection,
                    location_id=history["location_id"],
                    at=now,
                    action="export",
                    subject_kind="log",
                    subject_id=location_id,
                    detail={
                        "to": "practice",
                        "entries": history["position"],
                        "photographs": len(
                            attachments.hashes(connection, history["location_id"], most=2**31 - 1)
                        ),
                    },
                )
            return {
                "entries": [entries.to_wire(row) for row in entries.fitting(rows)],
                "writers": followed.writers(connection, location_id) if after == 0 else [],
                "position": history["position"],
            }
    raise NotFound("location_unknown", "There is no such location.")


def photographs(
    connection: Connection,
    practice: Mapping,
    *,
    secret: str,
    location_id: str,
    after: str | None,
    now: datetime,
) -> list[str]:
    """Return the hashes of the photographs of a log in force, after one, ordered."""
    history_id = _own_log(connection, practice, secret, location_id, now)
    return attachments.hashes(connection, history_id, after=after or "", most=MOST_HASHES)


def photograph(
    connection: Connection,
    practice: Mapping,
    *,
    secret: str,
    location_id: str,
    sha256: str,
    now: datetime,
) -> bytes:
    """Return the bytes of one. Raises ``NotFound`` "attachment_unknown"."""
    history_id = _own_log(connection, practice, secret, location_id, now)
    found = attachments.get(connection, history_id, sha256)
    if found is None:
        raise NotFound("attachment_unknown", "There is no such photograph here.")
    return found["content"]


def _own_log(
    connection: Connection, practice: Mapping, secret: str, location_id: str, now: datetime
) -> str:
    _own_code(connection, practice, secret, now)
    for history in _in_force(connection, practice["practice_id"]):
        if history["of_location"] == location_id:
            return history["location_id"]
    raise NotFound("location_unknown", "There is no such location.")


def done(connection: Connection, practice: Mapping, secret: str, *, now: datetime) -> None:
    """Use a practice's code up, once it has everything. Raises ``BadInput`` "code_wrong"."""
    _own_code(connection, practice, secret, now)
    code_hash = secrets.digest(secrets.plain_code(secret))
    if practices.take_code(connection, code_hash, purpose=joining.RESTORE, now=now) is None:
        raise BadInput("code_wrong", "This code is unknown, used or too old.", field="code")


def _code(connection: Connection, secret: str, now: datetime) -> dict:
    code_hash = secrets.digest(secrets.plain_code(secret))
    found = practices.find_code(connection, code_hash, purpose=joining.RESTORE, now=now)
    if found is None:
        raise BadInput("code_wrong", "This code is unknown, used or too old.", field="code")
    return found


def _own_code(connection: Connection, practice: Mapping, secret: str, now: datetime) -> None:
    if _code(connection, secret, now)["practice_id"] != practice["practice_id"]:
        raise BadInput("code_wrong", "This code is unknown, used or too old.", field="code")


def _in_force(connection: Connection, practice_id: str) -> list[dict]:
    known = followed.of_practice(connection, practice_id)
    return [one for one in known if one["state"] == followed.CURRENT]


def writers_hash(texts: Sequence[str]) -> str:
    """Return the hash of what is said of the writers of a log."""
    return secrets.digest("\n".join(texts))


def _log(connection: Connection, history: Mapping) -> dict:
    return {
        "location_id": history["of_location"],
        "epoch": history["epoch"],
        "position": history["position"],
        "link": history["link"].hex(),
        "received_at": history["received_at"],
        "writers": writers_hash(followed.writers(connection, history["of_location"])),
    }
