"""What stands in a backup's folder, written down beside it, and whether it is still that."""

import hashlib
import json
import os
from collections.abc import Iterator, Mapping
from pathlib import Path

from api.errors import BadInput, DomainError

FORMAT = "dosebook-backup-1"
NAME = "manifest.json"
SEALED_KEYS = "server_keys.sealed"
_A_READ = 1 << 20


def fingerprint(path: Path) -> dict:
    """Return {sha256, bytes} of a file."""
    digest = hashlib.sha256()
    with path.open("rb") as file:
        while part := file.read(_A_READ):
            digest.update(part)
    return {"sha256": digest.hexdigest(), "bytes": path.stat().st_size}


def write(folder: Path, said: Mapping) -> None:
    """Write the manifest, with the fingerprints of all other files, and wait for the disk."""
    files = {path.name: fingerprint(path) for path in sorted(folder.iterdir())}
    text = json.dumps({"format": FORMAT, **said, "files": files}, ensure_ascii=False, indent=1)
    (folder / NAME).write_text(text + "\n", encoding="utf-8")
    (folder / NAME).chmod(0o600)
    for path in (*folder.iterdir(), folder):
        flush(path)


def flush(path: Path) -> None:
    """Wait until a file, or a folder's list of names, is on the disk."""
    descriptor = os.open(path, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def read(folder: Path) -> dict:
    """Return a backup's manifest after comparing every file with it.

    Raises ``BadInput`` "backup_missing" where there is no backup and "backup_format" for a form
    that this version does not know; ``DomainError`` "backup_broken" that names the file at fault.
    """
    said = _parse(folder)
    for problem in _problems(folder, said["files"]):
        raise DomainError("backup_broken", problem)
    return said


def backup_id(folder: Path) -> str | None:
    """Return which backup stands in a folder, without looking whether it holds; None for none."""
    try:
        return _parse(folder).get("backup_id")
    except DomainError:
        return None


def _parse(folder: Path) -> dict:
    path = folder / NAME
    if not path.is_file():
        others = sorted(each.parent.name for each in folder.glob(f"*/{NAME}"))
        hint = f" It holds backups: {', '.join(others)}." if others else ""
        raise BadInput("backup_missing", f"There is no backup in {folder}.{hint}")
    try:
        said = json.loads(path.read_text(encoding="utf-8"))
        form = said["format"]
    except (ValueError, KeyError, TypeError) as problem:
        raise DomainError("backup_broken", f"{NAME} cannot be read.") from problem
    if form != FORMAT:
        raise BadInput("backup_format", f"This version does not read backups of form {form!r}.")
    return said


def _problems(folder: Path, files: Mapping[str, Mapping]) -> Iterator[str]:
    for name, expected in files.items():
        path = folder / name
        # A name from a file that may have been tampered with must not lead elsewhere.
        if Path(name).name != name or not path.is_file():
            yield f"{name} is missing."
        elif path.stat().st_size != expected["bytes"]:
            yield f"{name} has {path.stat().st_size} bytes, and had {expected['bytes']}."
        elif fingerprint(path) != dict(expected):
            yield f"{name} is not the file that was written: its SHA-256 is another."
