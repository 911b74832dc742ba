"""One row for each record, so that lists and the front desk's queue need not open records."""

import builtins
import json
from collections.abc import Mapping

from sqlalchemy import Connection, delete, or_, select

from api.clock import parse_rfc3339
from api.storage.rows import every, first, insert_or_update, utc_text
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
    "position",
    "flags",
)


def put(connection: Connection, location_id: str, summary: Mapping) -> None:
    """Store the summary of a record; its keys are ``FIELDS``, ``flags`` is a list of codes."""
    row = {name: summary.get(name) for name in FIELDS}
    row["location_id"] = location_id
    row["flags"] = json.dumps(row["flags"] or [])
    started = row["started_at"]
    # The day on the practice's own wall clock, which is the day people will ask for.
    row["started_day"] = started[:10] if started else None
    row["started_utc"] = _utc(started)
    row["signed_utc"] = _utc(row["signed_at"])
    insert_or_update(connection, record_index, row)


def get(connection: Connection, location_id: str, record_id: str) -> dict | None:
    """Return the summary of one record, or None."""
    row = first(
        connection.execute(
            select(record_index).where(
                record_index.c.location_id == location_id, record_index.c.record_id == record_id
            )
        )
    )
    return None if row is None else _summary(row)


def queue(connection: Connection, location_id: str) -> builtins.list[dict]:
    """Return the signed records that are not in the chart yet, longest waiting first."""
    statement = (
        select(record_index)
        .where(
            record_index.c.location_id == location_id,
            record_index.c.signed_utc.is_not(None),
            record_index.c.placed_at.is_(None),
        )
        .order_by(record_index.c.signed_utc, record_index.c.record_id)
    )
    return [_summary(row) for row in every(connection.execute(statement))]


def clear(connection: Connection, location_id: str) -> None:
    """Drop every row of a location, before they are all made anew from the log."""
    connection.execute(delete(record_index).where(record_index.c.location_id == location_id))


def list(
    connection: Connection,
    location_id: str,
    *,
    status: str | None = None,
    from_day: str | None = None,
    to_day: str | None = None,
    q: str | None = None,
    limit: int = 500,
) -> builtins.list[dict]:
    """Return summaries, latest start first.

    ``from_day`` and ``to_day`` (YYYY-MM-DD, both included) are days of the practice's wall
    clock; ``q`` is looked for in chart number, second identifier, procedure, site and operator.
    """
    column = record_index.c
    statement = select(record_index).where(column.location_id == location_id)
    if status:
        statement = statement.where(column.status == status)
    if from_day:
        statement = statement.where(column.started_day >= from_day)
    if to_day:
        statement = statement.where(column.started_day <= to_day)
    if q:
        looked_at = (
            column.chart_number,
            column.second_identifier,
            column.procedure_text,
            column.site,
            column.operator_name,
        )
        statement = statement.where(
            or_(*(each.icontains(q, autoescape=True) for each in looked_at))
        )
    statement = statement.order_by(column.started_utc.desc(), column.record_id.desc())
    return [_summary(row) for row in every(connection.execute(statement.limit(limit)))]


def _summary(row: dict) -> dict:
    summary = {name: row[name] for name in FIELDS}
    summary["flags"] = json.loads(row["flags"])
    return summary


def _utc(text: str | None) -> str | None:
    return utc_text(parse_rfc3339(text)) if text else None
