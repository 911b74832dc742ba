"""Many rows in one statement: what goes in comes out, on either database, whatever it holds."""

import pytest

from api.storage import rows, tables
from api.storage.engine import DBAPIError, read, savepoint, write

pytestmark = pytest.mark.both_databases

# Text that a JSON text in between could change: quotes, escapes that are not ones, marks of
# direction, the separators of lines of JavaScript, letters outside the first plane of Unicode.
TEXTS = (
    "",
    " ",
    '"',
    "\\",
    "\\u0000",
    "\\n\n\r\t\x01\x7f",
    "null",
    "0.50",
    "\u2028\u2029\u202e\ufeff",
    "e\u0301 \u00e9 \U0001f9b7",
    '{"a":1e400}',
    None,
)
# No bytes, bytes that are no text, and those that would be digits.
BYTES = (b"", b"\x00\xff\x80", b"0f", bytes(range(256)))


def numbered(n: int) -> dict:
    # A tablet counts to 2**53; PostgreSQL's own whole numbers go to 2**63 - 1.
    position = (0, 1, 2**53, 2**63 - 1)[n % 4]
    return {
        "location_id": "l",
        "kind": "list",
        "doc_id": f"d{n:02}",
        "feed": "house",
        "position": position,
        "body": TEXTS[n] or "",
    }


def test_texts_and_numbers_come_back_as_they_were(engine):
    given = [numbered(n) for n in range(len(TEXTS))]
    with write(engine) as connection:
        # The order of the columns is each row's own.
        rows.insert_all(connection, tables.document, [dict(reversed(one.items())) for one in given])
    with read(engine) as connection:
        found = connection.execute(tables.document.select().order_by(tables.document.c.doc_id))
        assert rows.every(found) == given


def test_bytes_come_back_as_they_were(engine):
    given = [
        {"location_id": "l", "event_id": f"e{n}", "salt": salt, "payload": salt.hex()}
        for n, salt in enumerate(BYTES)
    ]
    with write(engine) as connection:
        rows.insert_all(connection, tables.payload, given)
    with read(engine) as connection:
        found = connection.execute(tables.payload.select().order_by(tables.payload.c.event_id))
        assert [one["salt"] for one in rows.every(found)] == list(BYTES)


def test_nothing_is_no_text_and_numbers_are_given_in_order(engine):
    given = [{"at": f"{n:02}", "action": "change", "detail": text} for n, text in enumerate(TEXTS)]
    with write(engine) as connection:
        rows.insert_all(connection, tables.access_log, given)
    with read(engine) as connection:
        log = tables.access_log
        found = rows.every(connection.execute(log.select().order_by(log.c.access_id)))
        assert [(one["at"], one["detail"]) for one in found] == [
            (one["at"], one["detail"]) for one in given
        ]
        nothing = log.select().where(log.c.detail.is_(None))
        assert len(rows.every(connection.execute(nothing))) == TEXTS.count(None)


def test_one_key_twice_in_a_batch_is_kept_once(engine):
    waiting = {"location_id": "l", "kind": "render", "version": 1, "state": "waiting", "tries": 0}
    jobs = [{**waiting, "record_id": which, "due_at": ""} for which in ("a", "b", "a")]
    with write(engine) as connection:
        rows.insert_or_keep_all(connection, tables.job, jobs)
        rows.insert_or_keep_all(connection, tables.job, jobs)
    with read(engine) as connection:
        found = rows.every(connection.execute(tables.job.select().order_by(tables.job.c.job_id)))
    # Numbered in the order in which they were given: a worker takes the first one first.
    assert [one["record_id"] for one in found] == ["a", "b"]


def test_what_cannot_be_stored_harms_nothing_beside_it(engine):
    """A lone half of a pair is no text in UTF-8 (RFC 3629, section 3), in either database."""
    with write(engine) as connection:
        rows.insert_all(connection, tables.document, [numbered(0)])
        with pytest.raises((DBAPIError, UnicodeEncodeError)), savepoint(connection):
            rows.insert_all(
                connection, tables.document, [numbered(1), {**numbered(2), "body": "\ud83e"}]
            )
        rows.insert_all(connection, tables.document, [numbered(3)])
    with read(engine) as connection:
        found = connection.execute(tables.document.select().order_by(tables.document.c.doc_id))
        assert [one["doc_id"] for one in rows.every(found)] == ["d00", "d03"]
