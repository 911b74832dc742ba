"""No push and no pull reads a whole log, however long it is: each finds its rows by an index.

Asked of SQLite itself (EXPLAIN QUERY PLAN) for every statement that a case and a pull carry out,
which says it of a log of any length; `deploy/bench sync` measures it on a million entries.
"""

import re

import pytest
from sqlalchemy import event

from tests.bench.long_log import LongLog

# What grows with the log. An index of these begins with the location, of which all is in there.
LONG = "event|payload|document|record_index|handpiece_use|access_log|job|attachment_use"
READS_ALL = re.compile(
    rf"SCAN ({LONG})\b"
    rf"|SEARCH ({LONG}) USING (COVERING )?INDEX \w+ \(location_id=\?\)"
)


class Plans:
    """What SQLite says of how it carries out each statement, said while one is carried out."""

    def __init__(self, engine) -> None:
        self.seen: dict[str, list[str]] = {}
        event.listen(engine, "before_cursor_execute", self._look)

    def _look(self, connection, _cursor, statement, parameters, _context, executemany) -> None:
        if statement in self.seen or not statement.startswith(("SELECT", "UPDATE", "DELETE")):
            return
        first = parameters[0] if executemany else parameters
        raw = connection.connection.dbapi_connection
        rows = raw.execute(f"EXPLAIN QUERY PLAN {statement}", first).fetchall()
        self.seen[statement] = [row[3] for row in rows]

    def reading_all(self) -> dict[str, list[str]]:
        """Return the statements that read all rows of a location, or of everywhere."""
        return {
            statement: plan
            for statement, plan in self.seen.items()
            if any(READS_ALL.match(line) for line in plan)
        }


@pytest.fixture(scope="module")
def log(tmp_path_factory):
    made = LongLog(tmp_path_factory.mktemp("plans"))
    made.fill(200)
    yield made
    made.engine.dispose()


def test_a_case_and_a_pull_read_what_they_need_only(log):
    plans = Plans(log.engine)
    for number in range(2):
        list(log.push_case(number))
    log.pull_last(5)
    assert len(plans.seen) > 12
    assert plans.reading_all() == {}


@pytest.mark.parametrize(
    "statement",
    [
        # By pairs of kind and id, as it once stood there.
        "SELECT body FROM document"
        " WHERE location_id = ? AND (kind, doc_id) IN (VALUES (?, ?), (?, ?))",
        "SELECT body FROM document WHERE location_id = ? AND doc_id = ?",
        "SELECT body FROM event WHERE body LIKE '%x%'",
    ],
)
def test_a_statement_that_reads_all_is_seen(log, statement):
    plans = Plans(log.engine)
    with log.engine.connect() as connection:
        connection.exec_driver_sql(statement, ("x",) * statement.count("?")).all()
    assert list(plans.reading_all()) == [statement]
