"""What left a chart: records moved to another patient's number, and records made void.

Made anew with each entry of the record it belongs to. Nothing in a row names the number to which a
record was moved.
"""

from collections.abc import Iterable, Mapping

from sqlalchemy import Connection, bindparam, delete, select

from api.storage.rows import every, insert_all, plain_words
from api.storage.tables import departure

MOVED = "moved"
VOID = "void"

# Made once: every push needs it.
_OF_RECORDS = delete(departure).where(
    departure.c.location_id == bindparam("location_id"),
    departure.c.record_id.in_(bindparam("record_ids", expanding=True)),
)


def put_all(
    connection: Connection, location_id: str, departures: Mapping[str, Iterable[Mapping]]
) -> None:
    """Store the departures of records, by record id, in place of those that were there.

    Each is ``{event_id, kind, chart_number, second_identifier, at, by_id, by_name, reason, away,
    paper, removed_at}``: ``away`` says that the record no longer stands under the number,
    ``paper`` that a paper of it lies in that chart, ``removed_at`` when it was taken out.
    """
    connection.execute(_OF_RECORDS, {"location_id": location_id, "record_ids": [*departures]})
    rows = [
        {
            **one,
            "location_id": location_id,
            "record_id": record_id,
            "chart_words": plain_words(one["chart_number"]),
        }
        for record_id, of_record in departures.items()
        for one in of_record
    ]
    if rows:
        insert_all(connection, departure, rows)


def moved_from(connection: Connection, location_id: str, chart_number: str) -> list[dict]:
    """Return what was moved away from a chart number and is not back, oldest first."""
    return every(
        connection.execute(
            select(departure)
            .where(
                departure.c.location_id == location_id,
                departure.c.chart_words == plain_words(chart_number),
                departure.c.kind == MOVED,
                departure.c.away == 1,
            )
            .order_by(departure.c.at, departure.c.event_id)
        )
    )


def papers_to_remove(connection: Connection, location_id: str) -> list[dict]:
    """Return the departures whose paper still lies in the chart, oldest first."""
    return every(
        connection.execute(
            select(departure)
            .where(
                departure.c.location_id == location_id,
                departure.c.paper == 1,
                departure.c.removed_at.is_(None),
            )
            .order_by(departure.c.at, departure.c.event_id)
        )
    )
