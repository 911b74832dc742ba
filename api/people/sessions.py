"""Who is signed in where: each person sees and ends their own, an administrator all of a place."""

from collections.abc import Mapping
from datetime import datetime

from api.errors import NotFound
from api.people import secrets, tokens
from api.storage import access, accounts
from api.storage.engine import Connection


def of_person(
    connection: Connection, location_id: str, person_id: str, *, here: str | None, now: datetime
) -> list[dict]:
    """Return a person's sessions, used last first; ``here`` is the token in use, if any."""
    return _shown(connection, location_id, person_id=person_id, here=here, now=now)


def of_location(
    connection: Connection, location_id: str, *, here: str | None, now: datetime
) -> list[dict]:
    """Return everybody's sessions at a location, used last first."""
    return _shown(connection, location_id, person_id=None, here=here, now=now)


def end(
    connection: Connection,
    *,
    location_id: str,
    session_id: str,
    person_id: str | None,
    actor_id: str,
    now: datetime,
) -> None:
    """End one session, of ``person_id`` only where that is given.

    Raises ``NotFound`` alike for one that is over, somebody else's, or of another location.
    """
    for row in _live(connection, location_id, person_id, now):
        if _id_of(row) == session_id:
            _end(connection, row, actor_id, now)
            return
    raise NotFound("session_unknown", "There is no such session.")


def end_others(
    connection: Connection, *, location_id: str, person_id: str, here: str, now: datetime
) -> int:
    """End all sessions of a person but the one in use; return how many that were."""
    mine = secrets.digest(here)
    others = [
        row for row in _live(connection, location_id, person_id, now) if row["token_hash"] != mine
    ]
    for row in others:
        _end(connection, row, person_id, now)
    return len(others)


def _live(
    connection: Connection, location_id: str, person_id: str | None, now: datetime
) -> list[dict]:
    rows = accounts.live_sessions(connection, location_id, person_id=person_id, now=now)
    return [row for row in rows if not tokens.left_idle(row, now=now)]


def _shown(
    connection: Connection,
    location_id: str,
    *,
    person_id: str | None,
    here: str | None,
    now: datetime,
) -> list[dict]:
    labels = {row["tablet_id"]: row["label"] for row in accounts.tablets(connection, location_id)}
    mine = here and secrets.digest(here)
    return [
        {
            "session_id": _id_of(row),
            "person_id": row["person_id"],
            "kind": "desk" if row["kind"] == accounts.DESK else "tablet",
            "tablet_label": labels.get(row["tablet_id"]),
            "agent": row["agent"],
            "began_at": row["made_at"],
            "used_at": row["used_at"],
            "expires_at": row["expires_at"],
            "here": row["token_hash"] == mine,
        }
        for row in _live(connection, location_id, person_id, now)
    ]


def _id_of(row: Mapping) -> str:
    # Not the stored hash itself, which is what a token is found by.
    return secrets.digest("session " + row["token_hash"])[:32]


def _end(connection: Connection, row: Mapping, actor_id: str, now: datetime) -> None:
    accounts.end_token(connection, row["token_hash"], now=now)
    access.note(
        connection,
        location_id=row["location_id"],
        at=now,
        action="end_session",
        actor_id=actor_id,
        tablet_id=row["tablet_id"],
        subject_kind="person",
        subject_id=row["person_id"],
    )
