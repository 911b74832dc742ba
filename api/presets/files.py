"""Rows of presets as JSON and CSV text, and back. Pure.

CSV: UTF-8, with or without a byte order mark; a comma between cells (a semicolon is understood on
reading); a first line with the names of ``row.COLUMNS``; a decimal point, and the unit in the
cell ("4.5 W"). A cell that a spreadsheet would take for a formula gets an apostrophe before it,
which is taken away again on reading.
"""

import csv
import io
import json
from collections.abc import Mapping, Sequence
from typing import Any

from api.errors import BadInput
from api.events import parse
from api.presets.row import COLUMNS, Row, unknown_columns

FORMATS = ("json", "csv")
NAME, VERSION = "presets", 1
MOST_ROWS = 500
MOST_CHARACTERS = 512 * 1024
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")
_MARK = "'"


def write(rows: Sequence[Row], form: str) -> str:
    """Return rows as the text of a file; ``form`` is "json" or "csv"."""
    return _json(rows) if form == "json" else _csv(rows)


def read(text: str, form: str) -> list[Row]:
    """Return the rows of a file's text.

    Raises ``BadInput`` with the field ``content`` (or the name of a column) for anything else
    than such a file, for more than 500 rows, and for more than 524,288 characters.
    """
    if len(text) > MOST_CHARACTERS:
        raise _bad(f"The file has more than {MOST_CHARACTERS} characters.")
    text = text.removeprefix("\ufeff")
    rows = _rows_of_json(text) if form == "json" else _rows_of_csv(text)
    if not rows:
        raise _bad("There is no preset in the file.")
    if len(rows) > MOST_ROWS:
        raise _bad(f"The file has {len(rows)} presets; at most {MOST_ROWS} are taken at once.")
    return rows


def _bad(message: str) -> BadInput:
    return BadInput("file_unreadable", message, field="content")


def _json(rows: Sequence[Row]) -> str:
    stated = [{name: text for name, text in row.items() if text != ""} for row in rows]
    whole = {"format": NAME, "version": VERSION, "presets": stated}
    return json.dumps(whole, ensure_ascii=False, indent=2) + "\n"


def _rows_of_json(text: str) -> list[Row]:
    try:
        whole = parse.read_object(text)
    except parse.Unreadable as problem:
        raise _bad("The file is not JSON as it is exported here.") from problem
    rows = whole.get("presets")
    if (whole.get("format"), whole.get("version")) != (NAME, VERSION) or not isinstance(rows, list):
        raise _bad(f'The file must say "format": "{NAME}", "version": {VERSION} and "presets".')
    return [_row_of(one, number) for number, one in enumerate(rows, start=1)]


def _row_of(one: Any, number: int) -> Row:
    if not isinstance(one, Mapping):
        raise _bad(f"Preset {number} is not an object.")
    unknown = unknown_columns(one)
    if unknown:
        raise _bad(f"Preset {number} has fields that are not known: {', '.join(unknown)}.")
    for name, text in one.items():
        if not isinstance(text, str):
            raise _bad(f'Preset {number}: {name} must be a text such as "4.5 W".')
    return dict(one)


def _csv(rows: Sequence[Row]) -> str:
    further = sorted({name for row in rows for name in row} - set(COLUMNS))
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow([*COLUMNS, *further])
    for row in rows:
        writer.writerow([_guarded(row.get(name, "")) for name in (*COLUMNS, *further)])
    # With the mark a spreadsheet reads the file as UTF-8.
    return "\ufeff" + out.getvalue()


def _rows_of_csv(text: str) -> list[Row]:
    head = text.partition("\n")[0]
    comma = "," if head.count(",") >= head.count(";") else ";"
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=comma, strict=True)
    try:
        lines = [line for line in reader if any(cell.strip() for cell in line)]
    except csv.Error as problem:
        raise _bad(f"Line {reader.line_num} of the file cannot be read: {problem}.") from problem
    if not lines:
        return []
    names = [name.strip() for name in lines[0]]
    unknown = unknown_columns(names)
    if unknown or len(set(names)) < len(names):
        twice = sorted({name for name in names if names.count(name) > 1})
        raise _bad(f"Columns not known, or given twice: {', '.join(unknown or twice)}.")
    for number, line in enumerate(lines[1:], start=2):
        if len(line) != len(names):
            raise _bad(f"Row {number} has {len(line)} cells, the first row has {len(names)}.")
    return [
        {name: _plain(cell) for name, cell in zip(names, line, strict=True)} for line in lines[1:]
    ]


def _guarded(cell: str) -> str:
    """Put an apostrophe before what looks like a formula, or like a cell guarded already."""
    looks_guarded = cell.startswith(_MARK) and cell[1:2] in (*_FORMULA, _MARK)
    return _MARK + cell if cell.startswith(_FORMULA) or looks_guarded else cell


def _plain(cell: str) -> str:
    return cell[1:] if cell.startswith(_MARK) and cell[1:2] in (*_FORMULA, _MARK) else cell
