"""What the storage modules share: rows as dicts, and inserts that a present row does not break."""

import unicodedata
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from functools import cache

from sqlalchemy import Connection, Table
from sqlalchemy.dialects import postgresql, sqlite

from api.clock import rfc3339


def first(result) -> dict | None:
    """Return the first row as a dict, or None."""
    row = result.mappings().first()
    return None if row is None else dict(row)


def every(result) -> list[dict]:
    """Return all rows as dicts."""
    return [dict(row) for row in result.mappings()]


def utc_text(moment: datetime) -> str:
    """Write a moment in UTC: one offset for all, so that texts sort as times do."""
    return rfc3339(moment.astimezone(UTC))


def plain_words(*texts: str | None) -> str:
    """Return texts as they are searched: one line, without case and without accents.

    A database's own folding knows the letters of ASCII only.
    """
    joined = " ".join(text for text in texts if text)
    parts = unicodedata.normalize("NFKD", joined.casefold())
    return " ".join("".join(one for one in parts if not unicodedata.combining(one)).split())


def insert_or_keep(connection: Connection, table: Table, row: Mapping) -> bool:
    """Insert ``row``; return False, with nothing changed, if its key is there already."""
    statement = _keeping(connection.dialect.name, table)
    # Else the count may be given up after an INSERT, and is then -1.
    result = connection.execute(statement, row, execution_options={"preserve_rowcount": True})
    return result.rowcount == 1


def insert_or_keep_all(connection: Connection, table: Table, rows: Sequence[Mapping]) -> None:
    """Insert those of ``rows`` whose keys are not there already."""
    if rows:
        connection.execute(_keeping(connection.dialect.name, table), rows)


def insert_or_update(connection: Connection, table: Table, row: Mapping) -> None:
    """Insert ``row``, or put its values in place of those under the same primary key."""
    insert_or_update_all(connection, table, [row])


def insert_or_update_all(connection: Connection, table: Table, rows: Sequence[Mapping]) -> None:
    """Do so for each of ``rows``, which all have the same columns."""
    if rows:
        connection.execute(_replacing(connection.dialect.name, table, tuple(rows[0])), rows)


# Made once for a table and its columns: a push comes here often, and to make one takes longer
# than to carry it out.
@cache
def _keeping(dialect: str, table: Table):
    return _insert(dialect, table).on_conflict_do_nothing()


@cache
def _replacing(dialect: str, table: Table, columns: tuple[str, ...]):
    keys = [column.name for column in table.primary_key.columns]
    statement = _insert(dialect, table)
    changed = {name: statement.excluded[name] for name in columns if name not in keys}
    return statement.on_conflict_do_update(index_elements=keys, set_=changed)


def _insert(dialect: str, table: Table):
    return (postgresql if dialect == "postgresql" else sqlite).insert(table)
