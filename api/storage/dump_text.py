"""Reading a PostgreSQL dump without a server: its rows, as COPY writes them, into SQLite tables.

The form is that of PostgreSQL's manual, "COPY", section "File Formats: Text Format": tabs between
columns, ``\\N`` for null, a backslash before what would mislead; bytes are written in hex.
"""

import io
import re
import sqlite3
import subprocess
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import IO

from sqlalchemy import LargeBinary, create_engine

from api.errors import DomainError
from api.storage.tables import metadata

_BEGIN = re.compile(r"COPY public\.(\w+) \(([^)]*)\) FROM stdin;\n")
_END = "\\.\n"
_ESCAPED = re.compile(r"\\([0-7]{1,3}|x[0-9a-fA-F]{1,2}|.)", re.S)
_MEANT = {"b": "\b", "f": "\f", "n": "\n", "r": "\r", "t": "\t", "v": "\v"}
_ROWS_AT_ONCE = 500


def load(dump: Path, target: Path, pg_restore: str) -> None:
    """Read the rows of ``dump`` into a new SQLite file ``target``.

    Raises ``DomainError`` "backup_unreadable" where the dump cannot be read to its end.
    """
    target.unlink(missing_ok=True)
    engine = create_engine(f"sqlite:///{target}")
    metadata.create_all(engine)
    engine.dispose()
    command = [pg_restore, "--data-only", "--schema=public", "--file=-", str(dump)]
    with (
        closing(sqlite3.connect(target)) as rows,
        subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as running,
        # Split at line feeds only: a text may hold what Python takes for the end of a line.
        io.TextIOWrapper(running.stdout, encoding="utf-8", newline="\n") as lines,
    ):
        rows.execute("PRAGMA synchronous = OFF")
        for table, columns, entries in _tables(lines):
            _fill(rows, table, columns, entries)
        rows.commit()
        told = running.stderr.read().decode(errors="replace").strip()
    if running.returncode != 0:
        raise DomainError("backup_unreadable", f"The dump cannot be read: {told}")


def _tables(lines: IO[str]) -> Iterator[tuple[str, list[str], Iterator[str]]]:
    for line in lines:
        begun = _BEGIN.fullmatch(line)
        if begun:
            columns = [name.strip().strip('"') for name in begun.group(2).split(",")]
            yield begun.group(1), columns, iter(lines.readline, _END)


def _fill(rows: sqlite3.Connection, table: str, columns: list[str], lines: Iterator[str]) -> None:
    known = metadata.tables.get(table)
    if known is None:
        # Alembic's own: nothing of ours is in it.
        for line in lines:
            if line == "":
                return
        return
    binary = [isinstance(known.c[name].type, LargeBinary) for name in columns]
    names = ", ".join(f'"{name}"' for name in columns)
    statement = f'INSERT INTO "{table}" ({names}) VALUES ({", ".join("?" * len(columns))})'
    page: list[list[str | bytes | None]] = []
    for line in lines:
        if line == "":
            raise DomainError("backup_unreadable", f"The dump ends inside table {table}.")
        cells = line.removesuffix("\n").split("\t")
        page.append([_value(cell, raw) for cell, raw in zip(cells, binary, strict=True)])
        if len(page) >= _ROWS_AT_ONCE:
            rows.executemany(statement, page)
            page = []
    rows.executemany(statement, page)


def _value(cell: str, binary: bool) -> str | bytes | None:
    if cell == "\\N":
        return None
    text = _ESCAPED.sub(_meant, cell) if "\\" in cell else cell
    return bytes.fromhex(text.removeprefix("\\x")) if binary else text


def _meant(found: re.Match[str]) -> str:
    said = found.group(1)
    if said[0] in "01234567":
        return chr(int(said, 8))
    if said[0] == "x" and len(said) > 1:
        return chr(int(said[1:], 16))
    return _MEANT.get(said, said)
