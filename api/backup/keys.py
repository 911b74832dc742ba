"""The server's own key inside a backup, and the public half of the recovery key beside it."""

import json
import os
from collections.abc import Callable
from pathlib import Path

from api.backup import recovery_key
from api.clock import Clock, rfc3339
from api.errors import BadInput, Conflict
from api.events import signing
from api.settings import Settings
from api.sync import server_key

_NAME = "recovery_key.json"


def place(settings: Settings) -> Path:
    """Return where the public half of the recovery key lies: beside the server's key."""
    return settings.server_key_path.with_name(_NAME)


def new_recovery_key(settings: Settings, clock: Clock, random: Callable[[int], bytes]) -> str:
    """Make a recovery key and return its words, which are kept nowhere.

    Backups that are made from now on open with it; older ones with the one before.
    """
    words = recovery_key.make(random)
    public = recovery_key.public_text(recovery_key.private_key(words))
    keep_public(settings, {"public_key": public, "made_at": rfc3339(clock.now())})
    return words


def keep_public(settings: Settings, said: dict) -> None:
    """Write the public half down, in place of the one before."""
    path = place(settings)
    path.parent.mkdir(parents=True, exist_ok=True)
    write_private(path, (json.dumps(said) + "\n").encode())


def recovery_public(settings: Settings) -> dict | None:
    """Return {public_key, made_at} of the recovery key, or None where none was made."""
    try:
        said = json.loads(place(settings).read_text())
        return {"public_key": said["public_key"], "made_at": said["made_at"]}
    except FileNotFoundError:
        return None
    except (ValueError, KeyError, TypeError) as problem:
        raise BadInput(
            "recovery_key_unreadable",
            f"{place(settings)} cannot be read; `dosebook recovery-key new` makes another key.",
        ) from problem


def needed_public(settings: Settings) -> dict:
    """As :func:`recovery_public`. Raises ``Conflict`` "recovery_key_missing" without one."""
    said = recovery_public(settings)
    if said is None:
        raise Conflict(
            "recovery_key_missing",
            "There is no recovery key yet, and a backup without the server's key is of little use. "
            "`dosebook recovery-key new` makes one.",
        )
    return said


def seal(settings: Settings, target: Path, *, public: str, backup_id: str) -> None:
    """Write the server's key into a backup, sealed."""
    content = settings.server_key_path.read_bytes()
    write_private(target, recovery_key.seal(public, content, about=backup_id))


def unseal(sealed: Path, typed: str, *, backup_id: str, server_public_key: str) -> bytes:
    """Return the server's key [PEM] out of a backup.

    Raises ``BadInput`` for a recovery key that was mistyped or is another one.
    """
    key = recovery_key.private_key(typed)
    content = recovery_key.unseal(key, sealed.read_bytes(), about=backup_id)
    if signing.public_key_text(server_key.read_pem(content)) != server_public_key:
        raise BadInput("recovery_key_wrong", "The key in this backup is not that of its log.")
    return content


def is_right(settings: Settings, typed: str) -> bool:
    """Say whether these words are the recovery key of this server. Raises as reading it does."""
    mine = needed_public(settings)["public_key"]
    return recovery_key.public_text(recovery_key.private_key(typed)) == mine


def write_private(path: Path, content: bytes) -> None:
    """Write a file that only its owner reads, whole or not at all."""
    draft = path.with_name(f".{path.name}.new")
    draft.unlink(missing_ok=True)
    descriptor = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(descriptor, "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    draft.replace(path)
