"""Tablets as witnesses: what they worked out themselves is kept, and where it differs, people hear.

Whoever can write to the database can compute a whole chain anew, and nothing on the server would
contradict it. Each tablet follows the log by itself and says with every pull how far it came and
to which link. Where that is not the server's, or where the tablet finds it out, an alarm goes into
the log, once for each tablet until somebody has answered it.
"""

from api.events import chain
from api.ids import new_id
from api.people import alarms
from api.storage import documents, event_store, readers, witnesses
from api.storage.engine import Engine, again, read, write
from api.sync import desk
from api.sync.house_tablets import Doing


def heed(
    engine: Engine, doing: Doing, *, tablet_id: str, epoch: str, position: int, link: bytes
) -> None:
    """Keep what a tablet says of the log, or raise the alarm where the log is another one.

    ``doing`` is without its connection. Only what is new is written.
    """
    with read(engine) as connection:
        mine = readers.link_at(connection, doing.location_id, position) or chain.FIRST_LINK
        known = witnesses.reached(connection, doing.location_id, tablet_id, epoch)
    if mine != link:
        raise_alarm(
            engine,
            doing,
            tablet_id=tablet_id,
            position=position,
            expected=link.hex(),
            found=mine.hex(),
        )
    elif position > known:
        with write(engine) as connection:
            witnesses.note(
                connection,
                doing.location_id,
                tablet_id,
                epoch=epoch,
                position=position,
                link=link,
                now=doing.clock.now(),
            )


def raise_alarm(
    engine: Engine, doing: Doing, *, tablet_id: str, position: int, expected: str, found: str
) -> bool:
    """Append that a tablet raised the alarm; return False where one of it waits for an answer."""

    def append(connection) -> bool:
        location_id = doing.location_id
        event_store.lock_log(connection, location_id)
        if alarms.unanswered(connection, location_id, tablet_id):
            return False
        location = documents.get(connection, location_id, "location", location_id)
        desk.append_in(
            connection,
            doing.clock,
            doing.server_key,
            location_id=location_id,
            actor_id=None,
            type=alarms.RAISED,
            entity_id=new_id(doing.clock.now(), doing.random),
            payload={
                "tablet_id": tablet_id,
                "position": position,
                "expected": expected,
                "found": found,
            },
            projectors=doing.projectors,
            zone=location["zone"],
            random=doing.random,
        )
        return True

    return again(engine, append)
