"""Second factors, recovery codes, and what is half done: stored, counted, used up once."""

from datetime import datetime

from sqlalchemy import Connection, delete, func, insert, select, update

from api.storage.rows import every, first, utc_text
from api.storage.tables import ceremony, factor, recovery_code

TOTP = "totp"
PASSKEY = "passkey"

# --- factors -------------------------------------------------------------------------------


def add(
    connection: Connection,
    location_id: str,
    factor_id: str,
    *,
    person_id: str,
    kind: str,
    label: str,
    secret: str,
    counter: int,
    now: datetime,
    confirmed: bool,
    credential_id: str | None = None,
) -> None:
    """Store a factor; one that is not confirmed counts for nothing yet."""
    connection.execute(
        insert(factor).values(
            location_id=location_id,
            factor_id=factor_id,
            person_id=person_id,
            kind=kind,
            label=label,
            secret=secret,
            credential_id=credential_id,
            counter=counter,
            made_at=utc_text(now),
            confirmed_at=utc_text(now) if confirmed else None,
        )
    )


def of_person(connection: Connection, location_id: str, person_id: str) -> list[dict]:
    """Return a person's confirmed factors, oldest first."""
    return every(
        connection.execute(
            select(factor)
            .where(*_theirs(location_id, person_id), factor.c.confirmed_at.is_not(None))
            .order_by(factor.c.made_at, factor.c.factor_id)
        )
    )


def one(connection: Connection, location_id: str, person_id: str, factor_id: str) -> dict | None:
    """Return one factor of a person, confirmed or not, or None."""
    return first(
        connection.execute(
            select(factor).where(*_theirs(location_id, person_id), factor.c.factor_id == factor_id)
        )
    )


def by_credential(connection: Connection, credential_id: str) -> dict | None:
    """Return the passkey with this id, whoever's it is, or None."""
    return first(connection.execute(select(factor).where(factor.c.credential_id == credential_id)))


def advance(
    connection: Connection, location_id: str, factor_id: str, *, counter: int, now: datetime
) -> bool:
    """Note that a factor was used at ``counter``; False if it has been there already.

    One statement, so that of two that show the same code at once only one gets in.
    """
    result = connection.execute(
        update(factor)
        .where(
            factor.c.location_id == location_id,
            factor.c.factor_id == factor_id,
            factor.c.counter < counter,
        )
        .values(counter=counter, used_at=utc_text(now))
    )
    return result.rowcount == 1


def note_use(
    connection: Connection, location_id: str, factor_id: str, *, counter: int, now: datetime
) -> None:
    """Note the use of a passkey, whose count its library has judged; some never count."""
    connection.execute(
        update(factor)
        .where(factor.c.location_id == location_id, factor.c.factor_id == factor_id)
        .values(counter=counter, used_at=utc_text(now))
    )


def confirm(
    connection: Connection, location_id: str, factor_id: str, *, label: str, now: datetime
) -> None:
    """Let a factor count from now on, under the name its owner gave it."""
    connection.execute(
        update(factor)
        .where(factor.c.location_id == location_id, factor.c.factor_id == factor_id)
        .values(label=label, confirmed_at=utc_text(now))
    )


def remove(connection: Connection, location_id: str, person_id: str, factor_id: str) -> bool:
    """Take a factor away; return whether it was there."""
    result = connection.execute(
        delete(factor).where(*_theirs(location_id, person_id), factor.c.factor_id == factor_id)
    )
    return result.rowcount == 1


def remove_unconfirmed(connection: Connection, location_id: str, person_id: str) -> None:
    """Forget what was begun and never confirmed."""
    connection.execute(
        delete(factor).where(*_theirs(location_id, person_id), factor.c.confirmed_at.is_(None))
    )


def remove_all(connection: Connection, location_id: str, person_id: str) -> None:
    """Take all factors and recovery codes of a person away."""
    connection.execute(delete(factor).where(*_theirs(location_id, person_id)))
    put_recovery_codes(connection, location_id, person_id, [], now=None)


def _theirs(location_id: str, person_id: str) -> tuple:
    return (factor.c.location_id == location_id, factor.c.person_id == person_id)


# --- recovery codes ------------------------------------------------------------------------


def put_recovery_codes(
    connection: Connection,
    location_id: str,
    person_id: str,
    hashes: list[str],
    *,
    now: datetime | None,
) -> None:
    """Put these in place of the recovery codes a person had."""
    connection.execute(
        delete(recovery_code).where(
            recovery_code.c.location_id == location_id, recovery_code.c.person_id == person_id
        )
    )
    for code_hash in hashes:
        connection.execute(
            insert(recovery_code).values(
                location_id=location_id,
                person_id=person_id,
                code_hash=code_hash,
                made_at=utc_text(now),
            )
        )


def take_recovery_code(
    connection: Connection, location_id: str, person_id: str, code_hash: str, *, now: datetime
) -> bool:
    """Use a recovery code up; return whether it was this person's and unused."""
    result = connection.execute(
        update(recovery_code)
        .where(
            recovery_code.c.location_id == location_id,
            recovery_code.c.person_id == person_id,
            recovery_code.c.code_hash == code_hash,
            recovery_code.c.used_at.is_(None),
        )
        .values(used_at=utc_text(now))
    )
    return result.rowcount == 1


def recovery_codes_left(connection: Connection, location_id: str, person_id: str) -> int:
    """Return how many recovery codes a person still has."""
    return connection.execute(
        select(func.count())
        .select_from(recovery_code)
        .where(
            recovery_code.c.location_id == location_id,
            recovery_code.c.person_id == person_id,
            recovery_code.c.used_at.is_(None),
        )
    ).scalar_one()


# --- what is half done ---------------------------------------------------------------------


def begin(
    connection: Connection,
    location_id: str,
    ceremony_hash: str,
    *,
    person_id: str,
    purpose: str,
    challenge: str | None,
    expires_at: datetime,
) -> None:
    """Store that something was begun, by the hash of the token that goes on with it."""
    connection.execute(
        insert(ceremony).values(
            ceremony_hash=ceremony_hash,
            location_id=location_id,
            person_id=person_id,
            purpose=purpose,
            challenge=challenge,
            expires_at=utc_text(expires_at),
        )
    )


def begun(
    connection: Connection, ceremony_hash: str, *, purpose: str, now: datetime
) -> dict | None:
    """Return what was begun for ``purpose`` and is neither ended nor too old, or None."""
    return first(connection.execute(select(ceremony).where(*_open(ceremony_hash, purpose, now))))


def challenge_with(connection: Connection, ceremony_hash: str, challenge: str) -> None:
    """Put a fresh challenge to something that was begun; the one before is worth nothing."""
    connection.execute(
        update(ceremony)
        .where(ceremony.c.ceremony_hash == ceremony_hash)
        .values(challenge=challenge)
    )


def end(connection: Connection, ceremony_hash: str, *, purpose: str, now: datetime) -> dict | None:
    """Use up what was begun and return it; of two that end it at once one gets it."""
    return first(
        connection.execute(
            update(ceremony)
            .where(*_open(ceremony_hash, purpose, now))
            .values(used_at=utc_text(now))
            .returning(ceremony)
        )
    )


def _open(ceremony_hash: str, purpose: str, now: datetime) -> tuple:
    return (
        ceremony.c.ceremony_hash == ceremony_hash,
        ceremony.c.purpose == purpose,
        ceremony.c.used_at.is_(None),
        ceremony.c.expires_at > utc_text(now),
    )
