"""How far behind the group is, for people: what waits, since when, the last contact."""

from datetime import datetime, timedelta

from api.clock import parse_rfc3339
from api.group.link import Link
from api.storage import replication
from api.storage.engine import Connection

# This project's own choice. Weeks without the group are normal and lose nothing; but what is at
# the practice only is lost with its building, and somebody should know by the third day.
LATE_AFTER = timedelta(days=3)


def of_location(
    connection: Connection, location_id: str, *, link: Link | None, now: datetime
) -> dict | None:
    """Return {waiting, waiting_since, position, log_position, contact_at, tried_at, problem,
    problem_since, late, photographs_waiting, photographs_since} of a location's log.

    None where no group follows the practice.
    """
    if link is None:
        return None
    [found] = [one for one in replication.lags(connection) if one["location_id"] == location_id]
    return {**_without(found), "late": is_late(found, now)}


def is_late(lag: dict, now: datetime) -> bool:
    """Say whether an entry or a photograph has waited longer than nobody should be told of it."""
    entry_since = lag["waiting_since"] if lag["waiting"] else None
    return any(
        since is not None and now - parse_rfc3339(since) > LATE_AFTER
        for since in (entry_since, lag["photographs_since"])
    )


def whole(connection: Connection, *, link: Link | None, now: datetime) -> dict | None:
    """Return {waiting, photographs_waiting, contact_at, late} over all locations.

    None without a group.
    """
    if link is None:
        return None
    lags = replication.lags(connection)
    contacts = [one["contact_at"] for one in lags]
    return {
        "waiting": sum(one["waiting"] for one in lags),
        "photographs_waiting": sum(one["photographs_waiting"] for one in lags),
        "contact_at": None if not contacts or None in contacts else min(contacts),
        "late": any(is_late(one, now) for one in lags),
    }


def _without(found: dict) -> dict:
    return {name: value for name, value in found.items() if name != "location_id"}
