"""Push notes to a log in a folder until killed, and say each one that was acknowledged.

python -m tests.faults.power_writer FOLDER FULL|NORMAL
"""

import sys
from pathlib import Path

from sqlalchemy import event

from api.storage.engine import DBAPIError
from tests.sync.world import World


class Writing(World):
    """A location whose connections wait for the disk as much as they are told."""

    waits = "FULL"

    def open_engine(self):
        engine = super().open_engine()

        @event.listens_for(engine, "connect")
        def as_told(connection, _record):
            connection.execute(f"PRAGMA synchronous = {self.waits}")

        return engine


def main(folder: str, waits: str, believing: str = "") -> None:
    """Write until somebody ends it."""
    Writing.waits = waits
    world = Writing(Path(folder), seed=1)
    tablet = world.tablet()
    print("begun", flush=True)
    while True:
        item = tablet.make()
        while not (done := taken(tablet, item)) and not believing:
            print("refused", flush=True)
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
