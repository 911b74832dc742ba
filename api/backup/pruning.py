"""Removing backups that newer ones make needless; never the newest, nor the last of an epoch."""

import shutil
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path

from api.backup import making, manifest
from api.clock import Clock
from api.errors import BadInput
from api.storage import backups
from api.storage.engine import EVERYWHERE, Engine, read, write

# So long a try that came to nothing stands in the list.
FAILURES_KEPT = timedelta(days=90)


@dataclass(frozen=True)
class Made:
    """A verified backup: ``epochs`` are the logs inside it, {(location_id, epoch)}.

    ``entries`` counts what these logs hold together.
    """

    backup_id: str
    place: Path
    made_at: str
    epochs: frozenset[tuple[str, str]]
    entries: int


def needless(made: Iterable[Made], *, keep: int, latest: str | None = None) -> list[Made]:
    """Return what may go, oldest first, so that the ``keep`` newest stay.

    A log only grows, so the newest backup of an epoch holds what is in all before it. It stays
    whatever its age: what came after the moment to which a log was restored is in no newer one.
    For the same reason the logs say which is newer, and a clock, which may have been wrong, only
    where they are equal. ``latest`` is known to be the newest: it was made just now.
    """

    def age(one: Made) -> tuple[bool, int, str, str]:
        return one.backup_id == latest, one.entries, one.made_at, one.backup_id

    newest_first = sorted(made, key=age, reverse=True)
    seen: set[tuple[str, str]] = set()
    going = []
    for number, one in enumerate(newest_first):
        last_of_an_epoch = not one.epochs <= seen
        seen |= one.epochs
        if number >= keep and not last_of_an_epoch:
            going.append(one)
    return going[::-1]


def prune(
    engine: Engine, clock: Clock, *, folder: Path, keep: int, latest: str | None = None
) -> list[Path]:
    """Remove this server's verified backups in ``folder`` but the ``keep`` newest; return which.

    Called after one, ``latest``, was made there. What stands in other folders is neither counted
    nor touched, nor what this database does not know of: another server's, or made after the
    moment to which this one was restored. Raises ``BadInput`` where none would be kept, and
    ``Conflict`` "backup_running" while one is being made there.
    """
    check_keep(keep)
    removed = []
    with making.alone(folder):
        with read(engine, locations=EVERYWHERE) as connection:
            known = _in(folder, backups.verified(connection))
        for one in needless(known, keep=keep, latest=latest):
            # Under a name that is swept: half a backup must not pass for a whole one.
            hidden = folder / f".{one.place.name}.unfinished"
            one.place.rename(hidden)
            with write(engine, locations=EVERYWHERE) as connection:
                backups.forget(connection, one.backup_id)
            shutil.rmtree(hidden, ignore_errors=True)
            removed.append(one.place)
        with write(engine, locations=EVERYWHERE) as connection:
            backups.forget_failures(connection, before=clock.now() - FAILURES_KEPT)
    return removed


def check_keep(keep: int) -> None:
    """Raise ``BadInput`` unless at least one backup is kept."""
    if keep < 1:
        raise BadInput("keep_too_few", "At least one backup is kept.", field="keep")


def _in(folder: Path, rows: list[dict]) -> list[Made]:
    by_id: dict[str, list[dict]] = {}
    for row in rows:
        by_id.setdefault(row["backup_id"], []).append(row)
    found = []
    for backup_id, same in by_id.items():
        place = Path(same[0]["place"])
        if place.parent == folder and manifest.backup_id(place) == backup_id:
            epochs = frozenset((row["location_id"], row["epoch"]) for row in same)
            entries = sum(row["position"] for row in same)
            found.append(Made(backup_id, place, same[0]["made_at"], epochs, entries))
    return found
