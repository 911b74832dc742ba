"""Tablets, one-time codes, tokens, secrets of persons, and counters of wrong guesses.

Only hashes of secrets come here; what is hashed how is decided in ``api.people``. Each "take"
uses a thing up in one statement, so that of two that ask at once only one gets it.
"""

from collections.abc import Mapping
from datetime import datetime

from sqlalchemy import Connection, bindparam, insert, select, update

from api.storage.postgresql import UNREAD
from api.storage.rows import every, first, insert_or_keep, insert_or_update, utc_text
from api.storage.tables import attempt, challenge, enrol_code, secret, tablet, token

TABLET = "tablet"
DESK = "desk"
PERSON = "person"

# Made once: every push needs these, and to make one takes longer than to carry it out.
_TABLET = select(tablet).where(tablet.c.tablet_id == bindparam("which"))
_CHANGED = update(tablet).where(tablet.c.tablet_id == bindparam("which"))
_LOCKED = _CHANGED.returning(tablet)
_LIVE = (
    token.c.token_hash == bindparam("token_hash"),
    token.c.kind == bindparam("kind"),
    token.c.ended_at.is_(None),
    token.c.expires_at > bindparam("now"),
)
_TOKEN = select(token).where(*_LIVE)
_BY_TOKEN = select(tablet).where(tablet.c.tablet_id == token.c.tablet_id, *_LIVE)

# --- tablets -------------------------------------------------------------------------------


def add_tablet(
    connection: Connection,
    location_id: str,
    tablet_id: str,
    *,
    kind: str,
    label: str,
    public_key: str,
    certificate: str | None,
    now: datetime,
    replaces: str | None = None,
    first_seq: int = 1,
    unconfirmed: bool = False,
) -> None:
    """Enrol a tablet, or with kind "desk" the location's desk writer."""
    connection.execute(
        insert(tablet).values(
            tablet_id=tablet_id,
            location_id=location_id,
            kind=kind,
            label=label,
            public_key=public_key,
            certificate=certificate,
            next_seq=first_seq,
            enrolled_at=utc_text(now),
            pushed_after_revoked=0,
            replaces=replaces,
            first_seq=first_seq,
            unconfirmed=int(unconfirmed),
        )
    )


def restore_tablet(connection: Connection, location_id: str, facts: Mapping) -> None:
    """Put in a tablet, or the desk writer, as it was known before its database was lost."""
    names = ("tablet_id", "kind", "label", "public_key", "certificate", "enrolled_at")
    more = ("revoked_at", "replaces", "first_seq", "unconfirmed", "next_seq")
    connection.execute(
        insert(tablet).values(
            location_id=location_id,
            pushed_after_revoked=0,
            **{name: facts[name] for name in names + more},
        )
    )


def tablet_by_id(connection: Connection, tablet_id: str) -> dict | None:
    """Return a tablet's row, or None."""
    return first(connection.execute(_TABLET, {"which": tablet_id}))


def lock_tablet(connection: Connection, tablet_id: str, *, now: datetime) -> dict | None:
    """Return a tablet's row and keep every other writer of it waiting until the transaction ends.

    The lock is an UPDATE, made before anything is looked at, so that what is read afterwards
    cannot change under the reader, in any database.
    """
    seen = {"which": tablet_id, "last_seen_at": utc_text(now)}
    return first(connection.execute(_LOCKED, seen))


def advance_tablet(
    connection: Connection,
    tablet_id: str,
    *,
    next_seq: int,
    pushed_after_revoked: int,
    waiting: int | None = None,
) -> None:
    """Note how far a tablet's events have come, and how many it still has, where that is known."""
    said = {} if waiting is None else {"waiting": waiting}
    come = {"next_seq": next_seq, "pushed_after_revoked": pushed_after_revoked}
    changed = {"which": tablet_id, **come, **said}
    connection.execute(_CHANGED, changed, execution_options={UNREAD: True})


def tablets(connection: Connection, location_id: str) -> list[dict]:
    """Return the enrolled tablets of a location, without its desk writer."""
    return every(
        connection.execute(
            select(tablet)
            .where(tablet.c.location_id == location_id, tablet.c.kind == TABLET)
            .order_by(tablet.c.enrolled_at, tablet.c.tablet_id)
        )
    )


def desk_writer(connection: Connection, location_id: str) -> dict | None:
    """Return the row of the location's desk writer, or None."""
    return first(
        connection.execute(
            select(tablet).where(tablet.c.location_id == location_id, tablet.c.kind == DESK)
        )
    )


def revoke_tablet(connection: Connection, location_id: str, tablet_id: str, now: datetime) -> bool:
    """Revoke a tablet; return whether it was there and not revoked yet."""
    result = connection.execute(
        update(tablet)
        .where(
            tablet.c.location_id == location_id,
            tablet.c.tablet_id == tablet_id,
            tablet.c.kind == TABLET,
            tablet.c.revoked_at.is_(None),
        )
        .values(revoked_at=utc_text(now))
    )
    return result.rowcount == 1


# --- one-time codes and challenges ---------------------------------------------------------


def add_code(
    connection: Connection,
    location_id: str,
    code_hash: str,
    *,
    made_by: str | None,
    expires_at: datetime,
) -> None:
    """Store the hash of a one-time enrolment code."""
    connection.execute(
        insert(enrol_code).values(
            code_hash=code_hash,
            location_id=location_id,
            made_by=made_by,
            expires_at=utc_text(expires_at),
        )
    )


def take_code(connection: Connection, code_hash: str, *, now: datetime) -> dict | None:
    """Use a code up and return its row, or None if it is unknown, used or too old."""
    result = connection.execute(
        update(enrol_code)
        .where(
            enrol_code.c.code_hash == code_hash,
            enrol_code.c.used_at.is_(None),
            enrol_code.c.expires_at > utc_text(now),
        )
        .values(used_at=utc_text(now))
        .returning(enrol_code)
    )
    return first(result)


def add_challenge(
    connection: Connection, nonce_hash: str, tablet_id: str, *, expires_at: datetime
) -> None:
    """Store the hash of a nonce that a tablet is to sign."""
    connection.execute(
        insert(challenge).values(
            nonce_hash=nonce_hash, tablet_id=tablet_id, expires_at=utc_text(expires_at)
        )
    )


def take_challenge(
    connection: Connection, nonce_hash: str, tablet_id: str, *, now: datetime
) -> bool:
    """Use a nonce up; return whether it was this tablet's, fresh and unused."""
    result = connection.execute(
        update(challenge)
        .where(
            challenge.c.nonce_hash == nonce_hash,
            challenge.c.tablet_id == tablet_id,
            challenge.c.used_at.is_(None),
            challenge.c.expires_at > utc_text(now),
        )
        .values(used_at=utc_text(now))
    )
    return result.rowcount == 1


# --- tokens --------------------------------------------------------------------------------


def add_token(
    connection: Connection,
    location_id: str,
    token_hash: str,
    *,
    kind: str,
    tablet_id: str | None = None,
    person_id: str | None = None,
    now: datetime,
    expires_at: datetime,
    agent: str | None = None,
) -> None:
    """Store the hash of a token of a tablet ("tablet"), person ("person") or desk ("desk").

    ``agent`` says in which browser, where it is known.
    """
    connection.execute(
        insert(token).values(
            token_hash=token_hash,
            location_id=location_id,
            kind=kind,
            tablet_id=tablet_id,
            person_id=person_id,
            made_at=utc_text(now),
            used_at=utc_text(now),
            expires_at=utc_text(expires_at),
            agent=agent,
        )
    )


def find_token(connection: Connection, token_hash: str, *, kind: str, now: datetime) -> dict | None:
    """Return the row of a token that is neither ended nor expired, or None.

    ``made_at`` and ``used_at`` let the caller apply an idle limit.
    """
    wanted = {"token_hash": token_hash, "kind": kind, "now": utc_text(now)}
    return first(connection.execute(_TOKEN, wanted))


def tablet_by_token(connection: Connection, token_hash: str, *, now: datetime) -> dict | None:
    """Return the row of the tablet whose token this is, or None: as :func:`find_token`."""
    wanted = {"token_hash": token_hash, "kind": TABLET, "now": utc_text(now)}
    return first(connection.execute(_BY_TOKEN, wanted))


def live_sessions(
    connection: Connection, location_id: str, *, person_id: str | None = None, now: datetime
) -> list[dict]:
    """Return the sessions of persons that are neither ended nor expired, used last first."""
    statement = select(token).where(
        token.c.location_id == location_id,
        token.c.kind.in_((DESK, PERSON)),
        token.c.ended_at.is_(None),
        token.c.expires_at > utc_text(now),
    )
    if person_id is not None:
        statement = statement.where(token.c.person_id == person_id)
    return every(connection.execute(statement.order_by(token.c.used_at.desc(), token.c.token_hash)))


def touch_token(connection: Connection, token_hash: str, *, now: datetime) -> None:
    """Note that a token was used."""
    connection.execute(
        update(token).where(token.c.token_hash == token_hash).values(used_at=utc_text(now))
    )


def end_token(connection: Connection, token_hash: str, *, now: datetime) -> None:
    """End one token."""
    connection.execute(
        update(token)
        .where(token.c.token_hash == token_hash, token.c.ended_at.is_(None))
        .values(ended_at=utc_text(now))
    )


def end_tokens(
    connection: Connection,
    location_id: str,
    *,
    tablet_id: str | None = None,
    person_id: str | None = None,
    now: datetime,
) -> None:
    """End every token of a tablet or of a person."""
    if tablet_id is None and person_id is None:
        raise ValueError("say whose tokens")
    statement = update(token).where(token.c.location_id == location_id, token.c.ended_at.is_(None))
    if tablet_id is not None:
        statement = statement.where(token.c.tablet_id == tablet_id)
    if person_id is not None:
        statement = statement.where(token.c.person_id == person_id)
    connection.execute(statement.values(ended_at=utc_text(now)))


# --- secrets and wrong guesses -------------------------------------------------------------


def put_secret(
    connection: Connection, location_id: str, person_id: str, *, now: datetime, **values: str | None
) -> None:
    """Set any of ``sign_in``, ``password_hash``, ``pin_hash`` of a person; others stay."""
    unknown = values.keys() - {"sign_in", "password_hash", "pin_hash"}
    if unknown:
        raise ValueError(f"not a secret: {sorted(unknown)}")
    insert_or_update(
        connection,
        secret,
        {
            "location_id": location_id,
            "person_id": person_id,
            "changed_at": utc_text(now),
            **values,
        },
    )


def secret_of(connection: Connection, location_id: str, person_id: str) -> dict | None:
    """Return a person's secrets, or None."""
    return first(
        connection.execute(
            select(secret).where(
                secret.c.location_id == location_id, secret.c.person_id == person_id
            )
        )
    )


def secret_by_sign_in(connection: Connection, sign_in: str) -> dict | None:
    """Return the secrets of the person with this sign-in name, or None."""
    return first(connection.execute(select(secret).where(secret.c.sign_in == sign_in)))


def hold_attempts(connection: Connection, location_id: str, kind: str, subject: str) -> dict:
    """Return what :func:`attempts` does, and keep every other guess waiting for this one."""
    key = {"location_id": location_id, "kind": kind, "subject": subject}
    insert_or_keep(connection, attempt, {**key, "wrong": 0})
    held = select(attempt.c.wrong, attempt.c.locked_until).filter_by(**key).with_for_update()
    return dict(connection.execute(held).mappings().one())


def count_wrong(connection: Connection, location_id: str, kind: str, subject: str) -> int:
    """Count one wrong guess ("pin", "password", ...) at ``subject``; return how many there are."""
    key = {"location_id": location_id, "kind": kind, "subject": subject}
    insert_or_keep(connection, attempt, {**key, "wrong": 0})
    return connection.execute(
        update(attempt)
        .filter_by(**key)
        .values(wrong=attempt.c.wrong + 1)
        .returning(attempt.c.wrong)
    ).scalar_one()


def lock_attempts(
    connection: Connection, location_id: str, kind: str, subject: str, *, until: datetime
) -> None:
    """Take no further guesses at ``subject`` before ``until``."""
    connection.execute(
        update(attempt)
        .filter_by(location_id=location_id, kind=kind, subject=subject)
        .values(locked_until=utc_text(until))
    )


def attempts(connection: Connection, location_id: str, kind: str, subject: str) -> dict:
    """Return {wrong, locked_until} of a subject; zero and None when nothing was guessed."""
    row = first(
        connection.execute(
            select(attempt.c.wrong, attempt.c.locked_until).filter_by(
                location_id=location_id, kind=kind, subject=subject
            )
        )
    )
    return row or {"wrong": 0, "locked_until": None}


def clear_attempts(connection: Connection, location_id: str, kind: str, subject: str) -> None:
    """Forget the wrong guesses at ``subject``, after a right one."""
    connection.execute(
        update(attempt)
        .filter_by(location_id=location_id, kind=kind, subject=subject)
        .values(wrong=0, locked_until=None)
    )
