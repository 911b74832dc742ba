"""Everything that is derived from the log, made anew from it."""

from collections.abc import Iterator

from api.events.catalogue import EVENT_TYPES
from api.storage import (
    attachment_uses,
    certificates,
    documents,
    followed,
    handpiece_uses,
    readers,
    record_index,
)
from api.storage.engine import Connection
from api.sync import judge

PAGE = 500


def rebuild(connection: Connection, *, projectors: judge.Projectors) -> int:
    """Make the projections of all locations anew inside the caller's write transaction.

    Documents of an older version of the program lack what a newer one reads. The log itself, the
    papers and the jobs that were done stay as they are. Returns the number of records.
    """
    return sum(
        rebuild_location(connection, row["location_id"], projectors=projectors)
        for row in readers.locations(connection)
        if followed.counts(connection, row["location_id"])
    )


def clear(connection: Connection, location_id: str) -> None:
    """Take away what was derived from a location's log."""
    documents.clear(connection, location_id)
    record_index.clear(connection, location_id)
    handpiece_uses.clear(connection, location_id)
    attachment_uses.clear(connection, location_id)
    certificates.clear_uses(connection, location_id)


def rebuild_location(
    connection: Connection, location_id: str, *, projectors: judge.Projectors
) -> int:
    """Make the projections of one location anew; return the number of its records."""
    clear(connection, location_id)
    followed.note(connection, location_id, unprojected=0)
    project = judge.project_with(projectors)
    # A record is made from all its entries at once, so that its last one is enough.
    last: dict[str, int] = {}
    for entry in _kept(connection, location_id):
        if _of_a_record(entry):
            record_id = entry["body"]["entity_id"]
            last[record_id] = entry["position"]
            # Known before anything is let go of: an erasure spares what another entry shows.
            if entry["body"]["type"] == "attachment.added" and entry["payload"]:
                attachment_uses.put(
                    connection, location_id, record_id, [entry["payload"]["sha256"]]
                )
    for entry in _kept(connection, location_id):
        if not _of_a_record(entry) or last[entry["body"]["entity_id"]] == entry["position"]:
            project(connection, [entry])
    return len(last)


def _kept(connection: Connection, location_id: str) -> Iterator[dict]:
    position = 0
    while entries := readers.entries_after(connection, location_id, position, limit=PAGE):
        for entry in entries:
            if entry["verdict"] != readers.QUARANTINED:
                yield entry
        position += PAGE


def _of_a_record(entry: dict) -> bool:
    # A practice that is a version ahead may say what its group does not know yet.
    known = EVENT_TYPES.get(entry["body"]["type"])
    return known is not None and known.subject == "record"
