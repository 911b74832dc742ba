"""What the storage modules share: rows as dicts, inserting many, inserts that a present row does
not break.

Many rows go to PostgreSQL in one statement, as an array for each column: given one by one, each row
is a statement there, with an answer of its own.
"""

import unicodedata
from collections.abc import Callable, Mapping, Sequence
from datetime import UTC, datetime
from functools import cache

from sqlalchemy import (
    Connection,
    Insert,
    Select,
    Table,
    bindparam,
    cast,
    column,
    func,
    select,
)
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.types import TypeEngine, UserDefinedType

from api.clock import rfc3339
from api.storage.postgresql import UNREAD


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


def insert_all(connection: Connection, table: Table, rows: Sequence[Mapping]) -> None:
    """Insert ``rows``, which all have the same columns."""
    _execute(connection, _inserting, table, rows)


def insert_or_keep(connection: Connection, table: Table, row: Mapping) -> bool:
    """Insert ``row``; return False, with nothing changed, if its key is there already."""
    statement = _insert(connection.dialect.name, table).on_conflict_do_nothing()
    # Else the count may be given up after an INSERT, and is then -1.
    result = connection.execute(statement, row, execution_options={"preserve_rowcount": True})
    return result.rowcount == 1


def insert_or_keep_all(connection: Connection, table: Table, rows: Sequence[Mapping]) -> None:
    """Insert those of ``rows``, all of the same columns, whose keys are not there already."""
    _execute(connection, _keeping, table, rows)


def insert_or_update(connection: Connection, table: Table, row: Mapping) -> None:
    """Insert ``row``, or put its values in place of those under the same primary key."""
    insert_or_update_all(connection, table, [row])


def insert_or_update_all(connection: Connection, table: Table, rows: Sequence[Mapping]) -> None:
    """Do so for each of ``rows``: all have the same columns, and no two of them the same key."""
    _execute(connection, _replacing, table, rows)


def _execute(
    connection: Connection,
    make: Callable[[str, Table, tuple[str, ...]], Insert],
    table: Table,
    rows: Sequence[Mapping],
) -> None:
    if not rows:
        return
    dialect = connection.dialect.name
    statement = make(dialect, table, tuple(rows[0]))
    if _packs(dialect):
        columns = {name: [row[name] for row in rows] for name in rows[0]}
        connection.execute(statement, columns, execution_options={UNREAD: True})
    else:
        connection.execute(statement, rows)


# Made once for a table and its columns: a push comes here often, and to make one takes longer
# than to carry it out.
@cache
def _inserting(dialect: str, table: Table, columns: tuple[str, ...]) -> Insert:
    statement = _insert(dialect, table)
    return (
        statement.from_select(columns, _unpacked(table, columns)) if _packs(dialect) else statement
    )


@cache
def _keeping(dialect: str, table: Table, columns: tuple[str, ...]) -> Insert:
    return _inserting(dialect, table, columns).on_conflict_do_nothing()


@cache
def _replacing(dialect: str, table: Table, columns: tuple[str, ...]) -> Insert:
    keys = [each.name for each in table.primary_key.columns]
    statement = _inserting(dialect, table, columns)
    changed = {name: statement.excluded[name] for name in columns if name not in keys}
    return statement.on_conflict_do_update(index_elements=keys, set_=changed)


def _insert(dialect: str, table: Table) -> Insert:
    return (postgresql if _packs(dialect) else sqlite).insert(table)


def _packs(dialect: str) -> bool:
    return dialect == "postgresql"


class _Array(UserDefinedType):
    """The values of one column, handed over as they are.

    SQLAlchemy's own array looks at each of them, which takes as long as to send them.
    """

    cache_ok = True

    def __init__(self, of: TypeEngine) -> None:
        self.of = of

    def get_col_spec(self, **_kw: object) -> str:
        return f"{self.of.compile(postgresql.dialect())}[]"


def _unpacked(table: Table, columns: Sequence[str]) -> Select:
    """Select the rows whose columns are said one by one, each as an array."""
    types = {name: table.c[name].type for name in columns}
    arrays = {name: _Array(type_) for name, type_ in types.items()}
    row = (
        func.unnest(*(cast(bindparam(name, type_=each), each) for name, each in arrays.items()))
        .table_valued(*(column(name, types[name]) for name in columns))
        .render_derived()
    )
    return select(*(row.c[name] for name in columns))
