"""Push notes to a log until killed, and say each one that was acknowledged.

python -m tests.faults.power_writer FOLDER|URL FULL|NORMAL [believing]

The log lies in a new SQLite file in the folder, or in a migrated PostgreSQL database. NORMAL is
the known-bad writer, whose commits do not wait for the disk; "believing" takes a refusal for a yes.
"""

import sys
import time
from pathlib import Path

from sqlalchemy import event

from api.storage.engine import DBAPIError, is_postgresql
from tests.sync.world import World

PAUSE_S = 0.05


class Writing(World):
    """A location whose connections wait for the disk as much as they are told."""

    waits = "FULL"
    # The location itself is on the disk: what is asked is about the entries.
    ready = False

    def open_engine(self):
        engine = super().open_engine()
        if not is_postgresql(engine):

            @event.listens_for(engine, "connect")
            def as_told(connection, _record):
                connection.execute(f"PRAGMA synchronous = {self.waits}")

        elif self.waits == "NORMAL":

            @event.listens_for(engine, "begin")
            def not_waiting(connection):
                if self.ready:
                    connection.exec_driver_sql("SET LOCAL synchronous_commit = off")

        return engine


def main(where: str, waits: str, believing: str = "") -> None:
    """Write until somebody ends it."""
    Writing.waits = waits
    if where.startswith("postgresql"):
        world = Writing(Path(), seed=1, database_url=where)
    else:
        world = Writing(Path(where), seed=1)
    tablet = world.tablet()
    world.ready = True
    print("begun", flush=True)
    while True:
        item = tablet.make()
        while not (done := taken(tablet, item)) and not believing:
            print("refused", flush=True)
            # Whoever is refused waits; a database that starts anew needs the processor.
            time.sleep(PAUSE_S)
        print(item["event_id"], flush=True)
        if not done:
            return


def taken(tablet, item: dict) -> bool:
    """Push one item; return whether it was acknowledged."""
    try:
        [result] = tablet.push(item)
    except DBAPIError:
        return False
    # A duplicate is what was taken by a push that ended with an error.
    return result["outcome"] in ("applied", "duplicate")


if __name__ == "__main__":
    main(*sys.argv[1:])
