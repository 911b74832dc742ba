"""Making a backup while the server runs: written, opened and verified, and only then counted on."""

import fcntl
import os
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from importlib.metadata import version
from pathlib import Path

from api.backup import checking, erasures, keys, manifest
from api.clock import Clock, parse_rfc3339, rfc3339
from api.errors import Conflict, DomainError
from api.events import signing
from api.ids import new_id
from api.migrations import run
from api.settings import Settings
from api.storage import backups, copies, readers
from api.storage.engine import EVERYWHERE, Engine, read, write
from api.sync import server_key
from api.sync.pull import sign_head

# A practice may lose a day's work to a fire and still have what the tablets hold; not more.
LATE_AFTER = timedelta(days=1)
_LOCK = ".making"


def make(
    settings: Settings,
    engine: Engine,
    clock: Clock,
    random: Callable[[int], bytes],
    *,
    folder: Path,
    progress: checking.Progress | None = None,
) -> dict:
    """Make a backup in a new folder under ``folder``, verify it, and say so in the database.

    Returns {path, backup_id, made_at, locations: [{location_id, epoch, position, link}], counts,
    same_disk}. The name without a dot at its beginning is given only to what was verified.
    Raises ``DomainError`` with what went wrong; nothing is then counted on, what was written is
    removed, and the reason stays in the database for the screen.
    """
    now = clock.now().astimezone(UTC)
    backup_id = new_id(now, random)
    path = folder / f"dosebook-{now:%Y%m%dT%H%M%SZ}-{backup_id[-4:]}"
    work = folder / f".{path.name}.unfinished"
    try:
        with alone(folder):
            try:
                said = _write(settings, engine, work, backup_id=backup_id, now=now)
                checking.check(work, progress=progress)
                work.rename(path)
                manifest.flush(folder)
            finally:
                shutil.rmtree(work, ignore_errors=True)
    except (DomainError, OSError) as problem:
        _note_failure(engine, backup_id, path, now, problem)
        if isinstance(problem, DomainError):
            raise
        raise DomainError("backup_not_written", f"The backup failed: {problem}") from problem
    with write(engine, locations=EVERYWHERE) as connection:
        for each in said["locations"]:
            backups.note_verified(
                connection,
                each["location_id"],
                backup_id=backup_id,
                place=str(path),
                made_at=said["made_at"],
                verified_at=clock.now(),
                epoch=each["epoch"],
                position=each["position"],
            )
    # What was erased before this moment is not in this copy; it is in those that lie beside it.
    erasures.keep(settings, engine, server_key.load(settings.server_key_path), also=folder)
    return {
        "path": str(path),
        **{name: said[name] for name in ("backup_id", "made_at", "locations", "counts")},
        "same_disk": folder.stat().st_dev == settings.data_dir.stat().st_dev,
    }


def _write(
    settings: Settings, engine: Engine, work: Path, *, backup_id: str, now: datetime
) -> dict:
    signer = server_key.load(settings.server_key_path)
    recovery = keys.needed_public(settings)
    work.mkdir(mode=0o700)
    copied = copies.write_copy(settings.database_url, work)
    os.chmod(work / copied["file"], 0o600)
    keys.seal(
        settings, work / manifest.SEALED_KEYS, public=recovery["public_key"], backup_id=backup_id
    )
    made_at = rfc3339(now)
    said = {
        "backup_id": backup_id,
        "made_at": made_at,
        "program": version("dosebook"),
        "revision": run.current_revision(engine),
        "database": copied["database"],
        "file": copied["file"],
        "counts": copied["counts"],
        "locations": [
            {
                "location_id": row["location_id"],
                "epoch": row["epoch"],
                "position": row["position"],
                "link": row["link"].hex(),
                "head": sign_head(signer, row, at=made_at),
            }
            for row in copied["locations"]
        ],
        "server_public_key": signing.public_key_text(signer),
        "recovery_key": recovery,
    }
    manifest.write(work, said)
    return said


def _note_failure(
    engine: Engine, backup_id: str, path: Path, now: datetime, problem: Exception
) -> None:
    # Its code only: the words may quote a path or a row.
    code = getattr(problem, "code", "backup_not_written")
    with write(engine, locations=EVERYWHERE) as connection:
        for row in readers.locations(connection):
            backups.note_failed(
                connection,
                row["location_id"],
                backup_id=backup_id,
                place=str(path),
                made_at=rfc3339(now),
                problem=code,
            )


@contextmanager
def alone(folder: Path) -> Iterator[None]:
    """Let one process at a time make backups in a folder."""
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    with (folder / _LOCK).open("w") as file:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as problem:
            raise Conflict("backup_running", "A backup is being made there already.") from problem
        for left in folder.glob(".dosebook-*.unfinished"):
            # Of a run that was killed; it was never counted on.
            shutil.rmtree(left, ignore_errors=True)
        yield


def age_of_oldest(engine: Engine, now: datetime) -> timedelta | None:
    """Return how old the last verified backup is, of the location that is worst off.

    None where a location has none whose age is known, or where there is no location.
    """
    with read(engine, locations=EVERYWHERE) as connection:
        found = [
            backups.last_verified(connection, row["location_id"], now=now)
            for row in readers.locations(connection)
        ]
    if not found or None in found:
        return None
    return now - min(parse_rfc3339(each) for each in found)
