"""The access log as it is read: filtered, in pages, with names, or whole as a file.

Reading it is an access too. What a record was called is shown only to whoever may read records;
for everybody else it stays an id.
"""

import csv
import io
import json
from collections.abc import Callable, Mapping, Sequence
from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from api.errors import BadInput
from api.events import signing
from api.storage import access, departures, documents, record_index
from api.storage.access import Wanted
from api.storage.engine import Connection

PAGE = 50
LONGEST_PAGE = 200
MOST_ROWS = 50_000
# What a person looks for, and how it stands in the log.
GROUPS: Mapping[str, tuple[str, ...]] = {
    "read": ("read", "list", "pull"),
    "create": ("create", "add"),
    "change": ("change", "make_link", "use_link"),
    "export": ("export", "export_pdf", "export_text", "release"),
    "sign_in": ("sign_in", "sign_out", "end_session", "leave_location", "enter_location"),
    "refused": ("refused",),
}
COLUMNS = (
    "at",
    "person_id",
    "person",
    "tablet_id",
    "tablet",
    "action",
    "subject_kind",
    "subject_id",
    "subject",
    "further_subjects",
    "detail",
)
_NAMES = {"person": "display_name", "list": "title", "procedure_kind": "text", "preset": "name"}
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")
_AT_ONCE = 500


def wanted_of(
    connection: Connection,
    *,
    location_id: str,
    zone: str,
    person_id: str | None = None,
    record_id: str | None = None,
    chart_number: str | None = None,
    group: str | None = None,
    from_day: date | None = None,
    to_day: date | None = None,
) -> Wanted:
    """Return what is looked for; days are those of the location's wall clock, both included."""
    subjects = None if record_id is None else [record_id]
    if chart_number is not None:
        under = _records_under(connection, location_id, chart_number)
        subjects = under if subjects is None else [each for each in subjects if each in under]
    return Wanted(
        actor_id=person_id,
        subject_ids=subjects,
        actions=None if group is None else GROUPS[group],
        from_at=_midnight(from_day, zone),
        before_at=_midnight(to_day and to_day + timedelta(days=1), zone),
    )


def page(
    connection: Connection,
    *,
    location_id: str,
    wanted: Wanted,
    cursor: str | None,
    limit: int,
    may_read_records: bool,
) -> dict[str, Any]:
    """Return ``{"entries", "next_cursor"}``, the newest first. Raises ``BadInput``."""
    found = access.search(
        connection, location_id, wanted, after=_read_cursor(cursor), limit=limit + 1
    )
    shown = found[:limit]
    name = _namer(connection, location_id, may_read_records)
    return {
        "entries": [_shown(row, name) for row in shown],
        "next_cursor": _write_cursor(shown[-1]) if len(found) > limit else None,
    }


def as_csv(
    connection: Connection, *, location_id: str, wanted: Wanted, may_read_records: bool
) -> tuple[str, int]:
    """Return the whole of it as a CSV file's text, and how many rows it has.

    Raises ``BadInput`` too_many_rows above 50,000: fewer days have to be chosen then.
    """
    name = _namer(connection, location_id, may_read_records)
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(COLUMNS)
    count, after = 0, None
    while rows := access.search(connection, location_id, wanted, after=after, limit=_AT_ONCE):
        count += len(rows)
        if count > MOST_ROWS:
            raise BadInput("too_many_rows", f"These are more than {MOST_ROWS} rows.", field="from")
        further = access.reached(connection, [row["access_id"] for row in rows])
        for row in rows:
            writer.writerow(_guarded(cell) for cell in _cells(row, name, further))
        after = (rows[-1]["at"], rows[-1]["access_id"])
    # With the mark a spreadsheet reads the file as UTF-8.
    return "\ufeff" + out.getvalue(), count


def _records_under(connection: Connection, location_id: str, chart_number: str) -> list[str]:
    """Return the records of a chart number, also those that were moved away from it."""
    moved = departures.moved_from(connection, location_id, chart_number)
    now = record_index.of_chart(connection, location_id, chart_number)
    return sorted({*now, *(one["record_id"] for one in moved)})


def _midnight(day: date | None, zone: str) -> datetime | None:
    return None if day is None else datetime.combine(day, time(), ZoneInfo(zone))


def _namer(
    connection: Connection, location_id: str, may_read_records: bool
) -> Callable[[str | None, str | None], str | None]:
    known: dict[tuple[str, str], str | None] = {}

    def name(kind: str | None, subject_id: str | None) -> str | None:
        if kind is None or subject_id is None:
            return None
        if (kind, subject_id) not in known:
            known[kind, subject_id] = _name(
                connection, location_id, kind, subject_id, may_read_records
            )
        return known[kind, subject_id]

    return name


def _name(
    connection: Connection, location_id: str, kind: str, subject_id: str, may_read_records: bool
) -> str | None:
    if kind == "record":
        row = record_index.get(connection, location_id, subject_id) if may_read_records else None
        named = (row or {}).get("chart_number"), (row or {}).get("second_identifier")
        return " ".join(each for each in named if each) or None
    document = documents.get(connection, location_id, kind, subject_id) or {}
    if kind == "person" and not document:
        return _guest_name(connection, location_id, subject_id)
    return document.get(_NAMES.get(kind, "label")) or document.get("name")


def _guest_name(connection: Connection, location_id: str, person_id: str) -> str | None:
    """Return the name of somebody who was here in an emergency only, as it was given then."""
    named = [
        one.get("display_name")
        for one in documents.list(connection, location_id, "emergency")
        if one["person_id"] == person_id
    ]
    return named[-1] if named else None


def _shown(row: Mapping[str, Any], name: Callable) -> dict[str, Any]:
    return {
        "access_id": row["access_id"],
        "at": row["at"],
        "action": row["action"],
        "actor_id": row["actor_id"],
        "actor_name": name("person", row["actor_id"]),
        "tablet_id": row["tablet_id"],
        "tablet_label": name("tablet", row["tablet_id"]),
        "subject_kind": row["subject_kind"],
        "subject_id": row["subject_id"],
        "subject_name": name(row["subject_kind"], row["subject_id"]),
        "detail": row["detail"],
    }


def _cells(row: Mapping[str, Any], name: Callable, further: Mapping[int, Sequence[str]]):
    shown = _shown(row, name)
    detail = row["detail"]
    return (
        shown["at"],
        shown["actor_id"],
        shown["actor_name"],
        shown["tablet_id"],
        shown["tablet_label"],
        shown["action"],
        shown["subject_kind"],
        shown["subject_id"],
        shown["subject_name"],
        " ".join(further.get(row["access_id"], ())),
        None if detail is None else json.dumps(detail, ensure_ascii=False),
    )


def _guarded(cell: str | None) -> str:
    """Put an apostrophe before what a spreadsheet would take for a formula."""
    text = cell or ""
    return "'" + text if text.startswith(_FORMULA) else text


def _write_cursor(row: Mapping[str, Any]) -> str:
    return signing.to_base64url(json.dumps([row["at"], row["access_id"]]).encode())


def _read_cursor(text: str | None) -> tuple[str, int] | None:
    if text is None:
        return None
    try:
        at, access_id = json.loads(signing.from_base64url(text))
    except (ValueError, TypeError, RecursionError):
        raise BadInput("cursor_unreadable", "This is not a cursor.", field="cursor") from None
    if not isinstance(at, str) or isinstance(access_id, bool) or not isinstance(access_id, int):
        raise BadInput("cursor_unreadable", "This is not a cursor.", field="cursor")
    if not -(2**63) <= access_id < 2**63:
        raise BadInput("cursor_unreadable", "This is not a cursor.", field="cursor")
    return at, access_id
