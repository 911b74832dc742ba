"""Records in lists: searched and paged, waiting for their place in the chart, or gone from one."""

import json
from collections.abc import Mapping
from datetime import datetime
from typing import Any

from api.errors import BadInput
from api.events import signing
from api.records import service
from api.records.departures import reason_under
from api.storage import departures, documents, erased, record_index
from api.storage.engine import Connection

PAGE = 50
LONGEST_PAGE = 200


def search(
    connection: Connection,
    *,
    location_id: str,
    actor_id: str,
    now: datetime,
    tablet_id: str | None = None,
    wanted: record_index.Wanted,
    cursor: str | None = None,
    limit: int = PAGE,
) -> dict[str, Any]:
    """Return one page of the records that are wanted, latest start first.

    ``{"records", "next_cursor" (None: nothing follows), "total" (over all pages), "moved"}``.
    ``moved`` has what once stood under a chart number that was asked for, and no longer does:
    when, by whom and why, and nothing about where it went. Raises ``BadInput`` for a cursor that
    was not given out here.
    """
    service.note(connection, location_id, now, "list", actor_id, tablet_id, None)
    rows, following = record_index.page(
        connection, location_id, wanted, after=_read_cursor(cursor), limit=limit
    )
    return {
        "records": rows,
        "next_cursor": None if following is None else _write_cursor(following),
        "total": record_index.count(connection, location_id, wanted),
        "moved": _moved(connection, location_id, wanted.q),
    }


def chart_queue(
    connection: Connection,
    *,
    location_id: str,
    actor_id: str,
    now: datetime,
    tablet_id: str | None = None,
    may_place: bool,
) -> dict[str, Any]:
    """Return what waits at the chart: ``{"records", "to_remove"}``, oldest first.

    A record waits while its present version is not in the chart; ``changes`` say what came since
    the version that is, and ``waiting_since`` from when. ``to_remove`` are papers in charts where
    they no longer belong. They name the number a record was moved from, so they are only for those
    who put papers into charts. Of what is left of an erased record there is no paper to wait for.
    """
    service.note(connection, location_id, now, "list", actor_id, tablet_id, None)
    queue = record_index.queue(connection, location_id)
    gone = erased.records_among(connection, location_id, [one["record_id"] for one in queue])
    return {
        "records": [
            _waiting(connection, location_id, summary)
            for summary in queue
            if summary["record_id"] not in gone
        ],
        "to_remove": _papers_to_remove(connection, location_id) if may_place else [],
    }


def _papers_to_remove(connection: Connection, location_id: str) -> list[dict[str, Any]]:
    papers = []
    for one in departures.papers_to_remove(connection, location_id):
        summary = record_index.get(connection, location_id, one["record_id"]) or {}
        # Which paper it is, among others in that chart; never under which number it goes now.
        which = {name: summary.get(name) for name in ("procedure_text", "site", "started_at")}
        papers.append({**one, **which})
    return papers


def _moved(connection: Connection, location_id: str, q: str | None) -> list[dict[str, Any]]:
    asked = (q or "").strip()
    # The number may itself hold blanks, or stand among other words.
    numbers = dict.fromkeys([asked, *asked.split()]) if asked else {}
    shown = ("chart_number", "at", "by_id", "by_name", "reason")
    found = {
        one["event_id"]: {name: one[name] for name in shown}
        for number in numbers
        for one in departures.moved_from(connection, location_id, number)
    }
    return list(found.values())


def _waiting(
    connection: Connection, location_id: str, summary: Mapping[str, Any]
) -> dict[str, Any]:
    changes = _changes(connection, location_id, summary)
    since = changes[0]["at"] if changes else summary["signed_at"]
    return {**summary, "waiting_since": since, "changes": changes}


def _changes(
    connection: Connection, location_id: str, summary: Mapping[str, Any]
) -> list[dict[str, Any]]:
    if summary["placed_version"] is None:
        return []
    record = documents.get(connection, location_id, "record", summary["record_id"])
    people = service.people_of(connection, record)
    # Whoever reads records reads this, also those who are not told where one came from.
    reasons = {
        one["event_id"]: reason_under(record, record["patient"], one["reason"])
        for one in (*record["addenda"], *record["reattributions"])
    }
    return [
        {
            "kind": one["cause"],
            "version": one["version"],
            "at": one["at"],
            "by_name": people.get(one["by"], {}).get("display_name"),
            "reason": reasons.get(one["event_id"]),
        }
        for one in record["versions"]
        if one["version"] > summary["placed_version"]
    ]


def _write_cursor(key: tuple[str, str]) -> str:
    return signing.to_base64url(json.dumps(key).encode())


def _read_cursor(text: str | None) -> tuple[str, str] | None:
    if text is None:
        return None
    try:
        started, record_id = json.loads(signing.from_base64url(text))
    except (ValueError, TypeError, RecursionError):
        raise BadInput("cursor_unreadable", "This is not a cursor.", field="cursor") from None
    if not isinstance(started, str) or not isinstance(record_id, str):
        raise BadInput("cursor_unreadable", "This is not a cursor.", field="cursor")
    return started, record_id
