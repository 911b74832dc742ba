"""Whether a backup holds: every file, every row, and the log inside, as verification reads it."""

import shutil
import tempfile
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

from api.audit.verify import verify_log
from api.backup import manifest
from api.errors import DomainError
from api.migrations import run
from api.storage import copies, readers
from api.storage.engine import EVERYWHERE, Engine, open_engine, read

Progress = Callable[[int, int], None]


def check(folder: Path, *, progress: Progress | None = None) -> dict:
    """Open the backup in ``folder`` and check all of it; return its manifest.

    Raises ``BadInput`` where there is no backup that can be read, ``DomainError`` "backup_broken"
    with words that name what does not hold.
    """
    said = manifest.read(folder)
    with tempfile.TemporaryDirectory(prefix="dosebook-check-") as scratch:
        if said["revision"] == run.newest_revision():
            with copies.opened(folder / said["file"], Path(scratch)) as engine:
                _check_copy(engine, said, progress)
        else:
            _check_older(folder, said, Path(scratch), progress)
    return said


def check_log(engine: Engine, said: Mapping, progress: Progress | None = None) -> dict:
    """Verify the log in ``engine`` and compare it with the heads that the server signed.

    Returns the report of the verification. Raises ``DomainError`` "backup_broken".
    """
    report = verify_log(
        engine,
        progress=progress,
        heads=[each["head"] for each in said["locations"]],
        server_public_key=said["server_public_key"],
    )
    bad = report["first_bad"]
    if bad is not None:
        raise _broken(
            f"the log of location {bad['location_id']} does not hold at position "
            f"{bad['position']} ({bad['reason']})"
        )
    return report


def _check_copy(engine: Engine, said: Mapping, progress: Progress | None) -> None:
    wrong = copies.is_whole(engine)
    if wrong is not None:
        raise _broken(f"{said['file']} is damaged ({wrong})")
    with read(engine) as connection:
        found = copies.row_counts(connection)
        ends = {row["location_id"]: row for row in readers.locations(connection)}
    for table, expected in said["counts"].items():
        if found.get(table) != expected:
            raise _broken(f"table {table} has {found.get(table)} rows, and had {expected}")
    if set(ends) != {each["location_id"] for each in said["locations"]}:
        raise _broken("it holds other locations than its manifest says")
    for each in said["locations"]:
        row = ends[each["location_id"]]
        found_end = {
            **{name: row[name] for name in ("epoch", "position")},
            "link": row["link"].hex(),
        }
        if found_end != {name: each[name] for name in found_end}:
            raise _broken(f"the log of location {each['location_id']} ends elsewhere")
    check_log(engine, said, progress)


def _check_older(folder: Path, said: Mapping, scratch: Path, progress: Progress | None) -> None:
    """Check a backup of an older version, lifted in a copy of it first.

    A dump cannot be lifted without a server: its log is verified once it is restored.
    """
    if said["file"] != copies.SQLITE_FILE:
        return
    with lifted(folder / said["file"], scratch) as engine:
        check_log(engine, said, progress)


@contextmanager
def lifted(file: Path, scratch: Path) -> Iterator[Engine]:
    """Open a copy of an SQLite backup, lifted to this version of the program."""
    target = scratch / "lifted.sqlite3"
    shutil.copyfile(file, target)
    url = f"sqlite:///{target}"
    run.upgrade(url)
    engine = open_engine(url, reach=EVERYWHERE)
    try:
        yield engine
    finally:
        engine.dispose()


def _broken(words: str) -> DomainError:
    return DomainError("backup_broken", f"This backup does not hold: {words}.")
