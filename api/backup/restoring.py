"""Restoring a backup: checked first, put beside what is there, and begun as a new epoch."""

from collections.abc import Callable, Iterable, Mapping
from datetime import UTC, datetime
from pathlib import Path

from api.backup import checking, erasures, keys, manifest, targets
from api.clock import Clock
from api.errors import Conflict
from api.events import signing
from api.ids import new_id
from api.settings import Settings
from api.storage import after_restore, backups, documents, followed
from api.storage.engine import EVERYWHERE, Connection, Engine, open_engine, write
from api.sync import desk, judge, server_key

Random = Callable[[int], bytes]


def restore(
    settings: Settings,
    clock: Clock,
    random: Random,
    *,
    folder: Path,
    who: str,
    why: str,
    replace: bool,
    ask_recovery_key: Callable[[], str],
    projectors: judge.Projectors,
    progress: checking.Progress | None = None,
    erased_in: Iterable[Path] = (),
) -> dict:
    """Put the backup in ``folder`` into the place that ``settings`` name.

    A database that is there stays untouched unless ``replace`` says that it may be set aside, and
    is set aside then, never removed. ``ask_recovery_key`` is called only where the server's key is
    not here. In the log of each location a new epoch begins with ``log.restored``; every session
    ends. What was erased since the backup is erased again, by the lists in the data folder, beside
    the backup and in ``erased_in``. What is put in place has been verified.

    Returns {backup_id, made_at, locations: [{location_id, old_epoch, epoch, position}], set_aside,
    erased_again, rewritten}; the last says that nothing of it is among the bytes of the files.
    Raises ``BadInput``, ``Conflict`` "database_exists", "database_in_use" and "server_key_other",
    and ``DomainError`` "backup_broken"; nothing has been changed then.
    """
    said = checking.check(folder, progress=progress)
    pem = _server_key(settings, said, folder, ask_recovery_key, replace=replace)
    signer = server_key.read_pem(pem)
    now = clock.now().astimezone(UTC)
    target = targets.of(settings, said, now=now)
    target.refuse_what_is_there(replace=replace)
    engine_url = target.load(folder / said["file"], projectors)
    try:
        engine = open_engine(engine_url, reach=EVERYWHERE)
        try:
            begun = _begin_epochs(
                engine,
                clock,
                signer,
                random,
                said=said,
                folder=folder,
                who=who,
                why=why,
                projectors=projectors,
            )
            again = erasures.apply(
                engine,
                clock,
                signer,
                random,
                erasures=erasures.known(
                    [
                        settings.data_dir / erasures.NAME,
                        folder.parent / erasures.NAME,
                        *erased_in,
                    ],
                    said["server_public_key"],
                ),
                projectors=projectors,
            )
            checking.check_log(engine, said, progress)
            rewritten = not again or erasures.rewrite(engine, owner_url=settings.database_owner_url)
        finally:
            engine.dispose()
    except BaseException:
        target.undo()
        raise
    set_aside = [*target.put_in_place(), *put_key(settings, pem, now)]
    keys.keep_public(settings, said["recovery_key"])
    return {
        "backup_id": said["backup_id"],
        "made_at": said["made_at"],
        "locations": begun,
        "set_aside": set_aside,
        "erased_again": again,
        "rewritten": rewritten,
    }


def _server_key(
    settings: Settings,
    said: Mapping,
    folder: Path,
    ask: Callable[[], str],
    *,
    replace: bool,
) -> bytes:
    path = settings.server_key_path
    if path.exists():
        here = signing.public_key_text(server_key.load(path))
        if here == said["server_public_key"]:
            return path.read_bytes()
        if not replace:
            raise Conflict(
                "server_key_other",
                f"{path} holds the key of another server than this backup's. "
                "--replace sets it aside.",
            )
    return keys.unseal(
        folder / manifest.SEALED_KEYS,
        ask(),
        backup_id=said["backup_id"],
        server_public_key=said["server_public_key"],
    )


def put_key(settings: Settings, pem: bytes, now: datetime) -> list[str]:
    """Put the server's key in its place; return where another one that was there is kept."""
    path = settings.server_key_path
    aside = []
    if path.exists():
        if path.read_bytes() == pem:
            return []
        moved = targets.aside_name(path, now)
        path.rename(moved)
        aside.append(str(moved))
    path.parent.mkdir(parents=True, exist_ok=True)
    keys.write_private(path, pem)
    return aside


def _begin_epochs(
    engine: Engine,
    clock: Clock,
    signer: signing.PrivateKey,
    random: Random,
    *,
    said: Mapping,
    folder: Path,
    who: str,
    why: str,
    projectors: judge.Projectors,
) -> list[dict]:
    begun = []
    with write(engine) as connection:
        after_restore.let_nobody_in(connection, now=clock.now())
        for each in said["locations"]:
            location_id = each["location_id"]
            if followed.get(connection, location_id) is not None:
                # A practice's own log: the practice sends again what came after this backup.
                continue
            epoch = new_id(clock.now(), random)
            after_restore.begin_epoch(connection, location_id, epoch)
            payload = {
                "old_epoch": each["epoch"],
                "position": each["position"],
                "link": each["link"],
                "backup_id": said["backup_id"],
                "backup_made_at": said["made_at"],
                "who": who,
                "why": why,
            }
            desk.append_in(
                connection,
                clock,
                signer,
                location_id=location_id,
                actor_id=None,
                type="log.restored",
                entity_id=location_id,
                payload=payload,
                projectors=projectors,
                zone=_zone(connection, location_id),
                random=random,
            )
            backups.note_verified(
                connection,
                location_id,
                backup_id=said["backup_id"],
                place=str(folder),
                made_at=said["made_at"],
                verified_at=clock.now(),
                epoch=each["epoch"],
                position=each["position"],
            )
            begun.append(
                {
                    "location_id": location_id,
                    "old_epoch": each["epoch"],
                    "epoch": epoch,
                    "position": each["position"],
                }
            )
    return begun


def _zone(connection: Connection, location_id: str) -> str:
    return documents.get(connection, location_id, "location", location_id)["zone"]
