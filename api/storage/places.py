"""What one person has at several locations: a password at one of them, a desk last used."""

from collections.abc import Collection
from datetime import datetime

from sqlalchemy import Connection, select, update

from api.storage.rows import first, insert_or_update, utc_text
from api.storage.tables import attempt, factor, last_place, recovery_code, secret, token

# Each of them reaches as far as the transaction does.


def password_at(connection: Connection, person_id: str) -> str | None:
    """Return the location at which a person's password is kept, or None without one."""
    return connection.execute(
        select(secret.c.location_id)
        .where(secret.c.person_id == person_id, secret.c.sign_in.is_not(None))
        .order_by(secret.c.location_id)
        .limit(1)
    ).scalar()


def entered(connection: Connection, location_id: str, person_id: str, *, now: datetime) -> None:
    """Note that a person begins to work at a desk of this location."""
    insert_or_update(
        connection,
        last_place,
        {"location_id": location_id, "person_id": person_id, "entered_at": utc_text(now)},
    )


def last_entered(connection: Connection, person_id: str, among: Collection[str]) -> str | None:
    """Return at whose desks a person was last, of the locations ``among``, or None."""
    return connection.execute(
        select(last_place.c.location_id)
        .where(last_place.c.person_id == person_id, last_place.c.location_id.in_(among))
        .order_by(last_place.c.entered_at.desc(), last_place.c.location_id)
        .limit(1)
    ).scalar()


def end_sessions(connection: Connection, person_id: str, *, now: datetime) -> None:
    """End a person's sessions, wherever they are."""
    connection.execute(
        update(token)
        .where(token.c.person_id == person_id, token.c.ended_at.is_(None))
        .values(ended_at=utc_text(now))
    )


def forgive(connection: Connection, kind: str, subject: str) -> None:
    """Forget the wrong guesses at ``subject``, wherever they were made."""
    connection.execute(
        update(attempt).filter_by(kind=kind, subject=subject).values(wrong=0, locked_until=None)
    )


def move_password(
    connection: Connection, from_id: str, to_id: str, person_id: str, *, now: datetime
) -> None:
    """Let a person's sign-in name and password be kept at another location from now on."""
    here = (secret.c.location_id == from_id, secret.c.person_id == person_id)
    kept = first(connection.execute(select(secret.c.sign_in, secret.c.password_hash).where(*here)))
    if kept is None:
        return
    # First away from here: a name stands once only.
    connection.execute(update(secret).where(*here).values(sign_in=None, password_hash=None))
    moved = {"location_id": to_id, "person_id": person_id, "changed_at": utc_text(now)}
    insert_or_update(connection, secret, {**moved, **kept})


def move_factor(
    connection: Connection, from_id: str, to_id: str, factor_id: str, *, secret_text: str
) -> None:
    """Let a second factor be kept at another location, sealed for it as ``secret_text``."""
    connection.execute(
        update(factor)
        .where(factor.c.location_id == from_id, factor.c.factor_id == factor_id)
        .values(location_id=to_id, secret=secret_text)
    )


def move_recovery_codes(connection: Connection, from_id: str, to_id: str, person_id: str) -> None:
    """Let a person's recovery codes be kept at another location."""
    connection.execute(
        update(recovery_code)
        .where(recovery_code.c.location_id == from_id, recovery_code.c.person_id == person_id)
        .values(location_id=to_id)
    )
