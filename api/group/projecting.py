"""What the entries of a followed log come to, by the same code that the practice uses."""

import logging
import traceback
from collections.abc import Mapping, Sequence

from api.records.erasure import PURGE
from api.storage import jobs, readers
from api.storage.engine import Connection
from api.sync import judge, rebuild

LOG = logging.getLogger("dosebook.group")


def some(
    connection: Connection,
    location_id: str,
    rows: Sequence[Mapping],
    projectors: judge.Projectors,
) -> None:
    """Project entries that were just added; a type that this version does not know waits."""
    project = judge.project_with(projectors)
    # Of a copy, entries name the location that it is kept under here.
    made = [readers.as_entry({**row, "location_id": location_id}) for row in rows]
    project(connection, [each for each in made if each["verdict"] != readers.QUARANTINED])


def whole(connection: Connection, location_id: str, projectors: judge.Projectors) -> None:
    """Project a log from its start."""
    rebuild.rebuild_location(connection, location_id, projectors=projectors)


def clear(connection: Connection, location_id: str) -> None:
    """Take away what was derived of a history that no longer counts; its log stays."""
    rebuild.clear(connection, location_id)
    # Its papers could not be made any more, and would be tried for ever.
    jobs.give_up(connection, location_id, but=PURGE)


def log_failure(problem: Exception) -> None:
    """Say where it went wrong, but not the message, which may quote a payload."""
    places = "".join(traceback.format_tb(problem.__traceback__))
    LOG.error("entries of a practice not projected: %s\n%s", type(problem).__name__, places)
