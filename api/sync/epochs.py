"""After a restore: what a tablet of an earlier epoch is told, and what it will bring back."""

from collections.abc import Mapping, Sequence
from datetime import UTC

from api.clock import Clock, rfc3339
from api.errors import BadInput, Conflict, NotAllowed
from api.events import build, signing
from api.storage import accounts, backups, readers
from api.storage.engine import Connection, Engine, again, read

MOST_NAMED = 500
# Of a tablet that reads nothing: more than it can have written in a month (sync tests: 3,000).
MOST_OF_SHUT_OUT = 5_000
RESTORED = "log.restored"


def notice(
    engine: Engine,
    clock: Clock,
    server_key: signing.PrivateKey,
    *,
    tablet: Mapping,
    from_epoch: str,
) -> dict:
    """Return {text, signature}: how the log goes on for a tablet that knows ``from_epoch``.

    The text is JSON {epoch, from_epoch, location_id, position, backup_made_at, at}. What the
    tablet knows at or below ``position`` must still be so; what it holds above it, it offers again.

    An epoch that was begun by a restore and cut away by a further one stands in no log any more.
    It began after some restore that the log has, so that the lowest of their positions is safe.
    Raises ``Conflict`` "epoch_unknown" where the log was never restored: then nothing explains it,
    and "epoch_current" for the present one.
    """
    with read(engine) as connection:
        row = _tablet(connection, tablet)
        location = readers.location_row(connection, row["location_id"])
        entries = readers.entity_entries(connection, row["location_id"], row["location_id"])
    if location["epoch"] == from_epoch:
        raise Conflict("epoch_current", "this is the present epoch")
    restores = [
        entry["payload"]
        for entry in entries
        if entry["body"]["type"] == RESTORED and entry["payload"] is not None
    ]
    ended = [said for said in restores if said["old_epoch"] == from_epoch]
    from_it = ended or restores
    if not from_it:
        raise Conflict("epoch_unknown", "nothing in the log says how this epoch ended")
    lowest = min(from_it, key=lambda said: said["position"])
    text = build.to_text(
        {
            "epoch": location["epoch"],
            "from_epoch": from_epoch,
            "location_id": row["location_id"],
            "position": lowest["position"],
            "backup_made_at": lowest["backup_made_at"],
            "at": rfc3339(clock.now().astimezone(UTC)),
        }
    )
    return {"text": text, "signature": signing.sign(server_key, text)}


def name_returning(
    engine: Engine, clock: Clock, *, tablet: Mapping, epoch: str, event_ids: Sequence[str]
) -> None:
    """Note which entries a tablet is about to hand in again, so that somebody can see them come.

    Raises ``Conflict`` "epoch_changed" where the log was restored once more meanwhile.
    """
    if len(event_ids) > MOST_NAMED:
        raise BadInput("too_many", f"at most {MOST_NAMED} at once", field="event_ids")

    def note(connection: Connection) -> None:
        row = _tablet(connection, tablet)
        named = event_ids
        if row["revoked_at"] is not None or row["unconfirmed"]:
            # Whoever holds it may be a stranger, who must not fill the disk with names.
            already = backups.count_named(connection, row["location_id"], row["tablet_id"])
            named = event_ids[: max(0, MOST_OF_SHUT_OUT - already)]
        location = readers.location_row(connection, row["location_id"])
        if location["epoch"] != epoch:
            raise Conflict("epoch_changed", "the log was restored", epoch=location["epoch"])
        backups.name_returning(
            connection,
            row["location_id"],
            tablet_id=row["tablet_id"],
            event_ids=named,
            epoch=epoch,
            now=clock.now(),
        )

    again(engine, note)


def _tablet(connection: Connection, tablet: Mapping) -> dict:
    row = accounts.tablet_by_id(connection, tablet["tablet_id"])
    if row is None:
        raise NotAllowed("tablet_unknown", "this tablet is not enrolled here")
    return row
