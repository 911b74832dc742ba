"""What was erased, written down beside the backups, so that a restore lets go of it again.

A backup made before an erasure holds what was erased after it. So each erasure is kept as a line,
signed by the server, in the data folder and in every folder with backups that can be reached. The
lines say which entries, by whom, when and on which basis, and nothing of a patient. Restoring
reads them and erases again. What nothing here can reach: the older backups themselves, which hold
the content until they are thrown away.
"""

import json
import logging
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import Any

from api.backup.keys import write_private
from api.clock import Clock
from api.errors import DomainError
from api.events import parse, signing
from api.settings import Settings
from api.storage import backups, documents, erased, followed, purge, readers
from api.storage.engine import EVERYWHERE, Connection, Engine, read, write
from api.sync import desk, judge

NAME = "erasures.jsonl"
KIND = "dosebook-erasure-1"

_log = logging.getLogger(__name__)


def keep(
    settings: Settings, engine: Engine, signer: signing.PrivateKey, *, also: Path | None = None
) -> list[Path]:
    """Write every erasure of this database down; return the files that could not be written.

    What is written there already stays: a database that was put back may not know of it.
    """
    with read(engine, locations=EVERYWHERE) as connection:
        lines = list(_lines(connection, signer))
        folders = {settings.data_dir, *_reachable(connection), *([also] if also else [])}
    if not lines:
        return []
    missing = []
    for folder in sorted(folders):
        try:
            _add(folder / NAME, lines)
        except OSError as problem:
            _log.error("erasures could not be written down beside backups: %s", problem.strerror)
            missing.append(folder / NAME)
    return missing


def known(files: Iterable[Path], public_key: str) -> list[dict[str, Any]]:
    """Return the erasures that these files hold, each once, in the order they were made.

    Each {location_id, record_id, epoch, position, payload}. A line that this server did not sign,
    or that was torn by a kill, is passed over.
    """
    found: dict[tuple, dict] = {}
    for file in files:
        for line in _read(file):
            said = _signed(line, public_key)
            if said is not None:
                key = (said["location_id"], said["epoch"], said["position"])
                found.setdefault(key, said)
    return sorted(found.values(), key=lambda one: (one["payload"]["confirmed_at"], one["position"]))


def apply(
    engine: Engine,
    clock: Clock,
    signer: signing.PrivateKey,
    random: Callable[[int], bytes],
    *,
    erasures: Iterable[Mapping],
    projectors: judge.Projectors,
) -> int:
    """Erase in a restored database what was erased before; return how many erasures that were.

    Each becomes an entry of the log as the first one was, made by nobody's hand: who asked and who
    decided stands in it. Entries that come back later are taken without their content.
    """
    with write(engine, locations=EVERYWHERE) as connection:
        here = {row["location_id"] for row in readers.locations(connection)}
        todo = [
            one for one in erasures if one["location_id"] in here and not _is_done(connection, one)
        ]
        for one in todo:
            location_id = one["location_id"]
            place = documents.get(connection, location_id, "location", location_id)
            desk.append_in(
                connection,
                clock,
                signer,
                location_id=location_id,
                actor_id=None,
                type=erased.ERASED,
                entity_id=one["record_id"],
                payload=one["payload"],
                projectors=projectors,
                zone=place["zone"],
                random=random,
            )
    return len(todo)


def rewrite(engine: Engine, *, owner_url: str | None) -> bool:
    """Write the restored files anew at once; False where that is left to the worker's job."""
    try:
        purge.purge(engine, owner_url=owner_url)
    except DomainError as problem:
        _log.error("what was erased is still among the bytes of the files: %s", problem.message)
        return False
    return True


def _is_done(connection: Connection, one: Mapping) -> bool:
    listed = erased.of_record(connection, one["location_id"], one["record_id"])
    gone = {(row["kind"], row["what"]) for row in listed}
    wanted = {(erased.PAYLOAD, event_id) for event_id in one["payload"]["event_ids"]}
    return {(erased.RECORD, one["record_id"]), *wanted} <= gone


def _lines(connection: Connection, signer: signing.PrivateKey) -> Iterable[str]:
    for row in readers.locations(connection):
        # What a practice erased, its own log says to its group.
        if followed.get(connection, row["location_id"]) is not None:
            continue
        for stored in erased.orders(connection, row["location_id"]):
            text = json.dumps(
                {
                    "kind": KIND,
                    "location_id": stored["location_id"],
                    "record_id": stored["entity_id"],
                    "epoch": stored["epoch"],
                    "position": stored["position"],
                    "payload": json.loads(stored["payload"]),
                },
                ensure_ascii=False,
                separators=(",", ":"),
            )
            yield json.dumps({"text": text, "signature": signing.sign(signer, text)})


def _reachable(connection: Connection) -> set[Path]:
    """Return the folders in which verified backups lie, as far as they are there now."""
    folders = {
        Path(place).parent
        for row in readers.locations(connection)
        for place in backups.places(connection, row["location_id"])
    }
    return {folder for folder in folders if folder.is_dir()}


def _add(file: Path, lines: Iterable[str]) -> None:
    """Add what is not there yet, whole or not at all."""
    there = _read(file)
    names = {_name(line) for line in there}
    new = [line for line in lines if _name(line) not in names]
    if new:
        write_private(file, ("\n".join([*there, *new]) + "\n").encode())


def _read(file: Path) -> list[str]:
    try:
        # A line that a disk has spoilt is no erasure, and must not hide the others.
        return file.read_text(encoding="utf-8", errors="replace").splitlines()
    except FileNotFoundError:
        return []


def _name(line: str) -> str:
    # A signature is another each time; the text is not.
    try:
        return str(parse.read_object(line).get("text"))
    except parse.Unreadable:
        return line


def _signed(line: str, public_key: str) -> dict[str, Any] | None:
    try:
        outer = parse.read_object(line)
        if not signing.verify(public_key, outer["text"], outer["signature"]):
            return None
        said = parse.read_object(outer["text"])
        return said if said["kind"] == KIND else None
    except (parse.Unreadable, KeyError, TypeError, ValueError):
        return None
