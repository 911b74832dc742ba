"""On a group server: the practices that it follows, and the codes that let one in."""

from datetime import datetime

from sqlalchemy import Connection, insert, select, update

from api.storage.rows import every, first, utc_text
from api.storage.tables import group_code, practice


def add_code(
    connection: Connection,
    code_hash: str,
    *,
    purpose: str,
    practice_id: str | None,
    expires_at: datetime,
) -> None:
    """Keep the hash of a one-time code and what it is for."""
    connection.execute(
        insert(group_code).values(
            code_hash=code_hash,
            purpose=purpose,
            practice_id=practice_id,
            expires_at=utc_text(expires_at),
        )
    )


def take_code(
    connection: Connection, code_hash: str, *, purpose: str, now: datetime
) -> dict | None:
    """Use a code up; return its row, or None where it is unknown, used or too old."""
    at = utc_text(now)
    return first(
        connection.execute(
            update(group_code)
            .where(*_open(code_hash, purpose, at))
            .values(used_at=at)
            .returning(group_code)
        )
    )


def find_code(
    connection: Connection, code_hash: str, *, purpose: str, now: datetime
) -> dict | None:
    """Return the row of a code that still holds, without using it up."""
    found = connection.execute(select(group_code).where(*_open(code_hash, purpose, utc_text(now))))
    return first(found)


def _open(code_hash: str, purpose: str, at: str):
    return (
        group_code.c.code_hash == code_hash,
        group_code.c.purpose == purpose,
        group_code.c.used_at.is_(None),
        group_code.c.expires_at > at,
    )


def add(
    connection: Connection, practice_id: str, *, name: str, public_key: str, now: datetime
) -> None:
    """Take in a practice."""
    connection.execute(
        insert(practice).values(
            practice_id=practice_id, name=name, public_key=public_key, enrolled_at=utc_text(now)
        )
    )


def get(connection: Connection, practice_id: str) -> dict | None:
    """Return a practice's row, or None."""
    return first(connection.execute(select(practice).where(practice.c.practice_id == practice_id)))


def by_key(connection: Connection, public_key: str) -> dict | None:
    """Return the practice that has this key, or None."""
    return first(connection.execute(select(practice).where(practice.c.public_key == public_key)))


def every_one(connection: Connection) -> list[dict]:
    """Return the practices in the order in which they came."""
    return every(
        connection.execute(select(practice).order_by(practice.c.enrolled_at, practice.c.name))
    )


def lock(connection: Connection, practice_id: str, *, now: datetime) -> None:
    """Note a contact, and keep every other request of the practice waiting until this one ends.

    An UPDATE before anything is looked at: what is read afterwards cannot change under the reader.
    """
    change(connection, practice_id, contact_at=utc_text(now))


def change(connection: Connection, practice_id: str, **values: object) -> None:
    """Change what is known of a practice."""
    connection.execute(
        update(practice).where(practice.c.practice_id == practice_id).values(**values)
    )
