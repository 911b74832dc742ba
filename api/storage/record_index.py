"""One row for each record, so that lists and the front desk's queue need not open records."""

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from sqlalchemy import Connection, Select, delete, func, or_, select, tuple_

from api.clock import parse_rfc3339
from api.storage.rows import every, first, insert_or_update_all, plain_words, utc_text
from api.storage.tables import record_index

FIELDS = (
    "record_id",
    "status",
    "version",
    "chart_number",
    "second_identifier",
    "procedure_text",
    "site",
    "operator_id",
    "operator_name",
    "device_id",
    "device_label",
    "started_at",
    "ended_at",
    "signed_at",
    "passes",
    "placed_at",
    "placed_version",
    "position",
    "flags",
)
_SEARCHED = ("chart_number", "second_identifier", "procedure_text", "site", "operator_name")
_VOID = "void"
_column = record_index.c

# Signed, not void, and its present version has not been put into the chart.
_WAITS_FOR_CHART = (
    _column.signed_utc.is_not(None)
    & (_column.status != _VOID)
    & or_(_column.placed_at.is_(None), func.coalesce(_column.placed_version, 1) < _column.version)
)


@dataclass(frozen=True, kw_only=True)
class Wanted:
    """Which records a list shows; None leaves that open.

    ``from_day`` and ``to_day`` (YYYY-MM-DD, both included) are days of the practice's wall clock.
    Every word of ``q`` must stand in chart number, second identifier, procedure, site or operator.
    """

    status: str | None = None
    from_day: str | None = None
    to_day: str | None = None
    operator_id: str | None = None
    device_id: str | None = None
    procedure: str | None = None
    flagged: bool | None = None
    waits_for_chart: bool | None = None
    q: str | None = None


def put(connection: Connection, location_id: str, summary: Mapping) -> None:
    """Store the summary of a record; its keys are ``FIELDS``, ``flags`` is a list of codes."""
    put_all(connection, location_id, [summary])


def put_all(connection: Connection, location_id: str, summaries: Iterable[Mapping]) -> None:
    """Store the summaries of several records."""
    rows = [_row(location_id, summary) for summary in summaries]
    insert_or_update_all(connection, record_index, rows)


def _row(location_id: str, summary: Mapping) -> dict:
    row = {name: summary.get(name) for name in FIELDS}
    row["location_id"] = location_id
    row["flags"] = json.dumps(row["flags"] or [])
    started = row["started_at"]
    # The day on the practice's own wall clock, which is the day people will ask for.
    row["started_day"] = started[:10] if started else None
    # Never null: a page goes on after a key, and nothing comes after one that is unknown.
    row["started_utc"] = _utc(started) or ""
    row["signed_utc"] = _utc(row["signed_at"])
    row["words"] = plain_words(*(row[name] for name in _SEARCHED))
    return row


def get(connection: Connection, location_id: str, record_id: str) -> dict | None:
    """Return the summary of one record, or None."""
    row = first(
        connection.execute(
            select(record_index).where(
                _column.location_id == location_id, _column.record_id == record_id
            )
        )
    )
    return None if row is None else _summary(row)


def queue(connection: Connection, location_id: str) -> list[dict]:
    """Return the signed records whose present version is not in the chart, oldest first."""
    statement = (
        select(record_index)
        .where(_column.location_id == location_id, _WAITS_FOR_CHART)
        .order_by(_column.signed_utc, _column.record_id)
    )
    return [_summary(row) for row in every(connection.execute(statement))]


def clear(connection: Connection, location_id: str) -> None:
    """Drop every row of a location, before they are all made anew from the log."""
    connection.execute(delete(record_index).where(_column.location_id == location_id))


def page(
    connection: Connection,
    location_id: str,
    wanted: Wanted,
    *,
    after: tuple[str, str] | None = None,
    limit: int,
) -> tuple[list[dict], tuple[str, str] | None]:
    """Return summaries, latest start first, and the key after which the next page goes on.

    The key is (start in UTC, record id) of the last one shown, so that a page neither repeats nor
    skips a record while others come in. It is None where nothing follows.
    """
    statement = _matching(select(record_index), location_id, wanted)
    if after is not None:
        statement = statement.where(tuple_(_column.started_utc, _column.record_id) < after)
    statement = statement.order_by(_column.started_utc.desc(), _column.record_id.desc())
    rows = every(connection.execute(statement.limit(limit + 1)))
    last = rows[limit - 1] if len(rows) > limit else None
    following = None if last is None else (last["started_utc"], last["record_id"])
    return [_summary(row) for row in rows[:limit]], following


def of_chart(connection: Connection, location_id: str, chart_number: str) -> list[str]:
    """Return the ids of the records that stand under a chart number now."""
    rows = connection.execute(
        select(_column.record_id).where(
            _column.location_id == location_id, _column.chart_number == chart_number.strip()
        )
    )
    return list(rows.scalars())


def count(connection: Connection, location_id: str, wanted: Wanted) -> int:
    """Return how many records a list would show on all its pages."""
    counted = select(func.count()).select_from(record_index)
    return connection.execute(_matching(counted, location_id, wanted)).scalar_one()


def _matching(statement: Select, location_id: str, wanted: Wanted) -> Select:
    conditions = [_column.location_id == location_id]
    for column, value in (
        (_column.status, wanted.status),
        (_column.operator_id, wanted.operator_id),
        (_column.device_id, wanted.device_id),
    ):
        if value is not None:
            conditions.append(column == value)
    if wanted.from_day is not None:
        conditions.append(_column.started_day >= wanted.from_day)
    if wanted.to_day is not None:
        conditions.append(_column.started_day <= wanted.to_day)
    if wanted.procedure is not None:
        conditions.append(_column.procedure_text == wanted.procedure)
    if wanted.flagged is not None:
        conditions.append((_column.flags != "[]") == wanted.flagged)
    if wanted.waits_for_chart is not None:
        conditions.append(_WAITS_FOR_CHART if wanted.waits_for_chart else ~_WAITS_FOR_CHART)
    for word in plain_words(wanted.q).split():
        conditions.append(_column.words.contains(word, autoescape=True))
    return statement.where(*conditions)


def _summary(row: dict) -> dict:
    summary = {name: row[name] for name in FIELDS}
    summary["flags"] = json.loads(row["flags"])
    return summary


def _utc(text: str | None) -> str | None:
    return utc_text(parse_rfc3339(text)) if text else None
