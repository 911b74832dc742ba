"""Which group follows this practice: its address and key, kept where the server's key is kept."""

import json
import os
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from pathlib import Path

from api.errors import BadInput, Conflict
from api.settings import Settings

_NAME = "group.json"


@dataclass(frozen=True, kw_only=True)
class Link:
    """The group, as it was met when the practice joined; ``certificate`` is what it signed then.

    ``key_left`` is the public half of the recovery key to which the practice's own key was sealed
    when it was left there, None before.
    """

    address: str
    group_key: str
    practice_id: str
    name: str
    certificate: Mapping[str, str]
    joined_at: str
    key_left: str | None = None


def place(settings: Settings) -> Path:
    """Return where the link lies."""
    return settings.server_key_path.with_name(_NAME)


def get(settings: Settings) -> Link | None:
    """Return the link, or None where no group follows this practice."""
    try:
        return Link(**json.loads(place(settings).read_text(encoding="utf-8")))
    except FileNotFoundError:
        return None
    except (ValueError, TypeError) as problem:
        raise BadInput(
            "group_unreadable",
            f"{place(settings)} cannot be read; `dosebook replicate join` writes it anew.",
        ) from problem


def needed(settings: Settings) -> Link:
    """As :func:`get`. Raises ``Conflict`` "group_none" without one."""
    link = get(settings)
    if link is None:
        raise Conflict(
            "group_none",
            "No group follows this practice. The group makes a code with `dosebook group code`; "
            "here `dosebook replicate join ADDRESS CODE` uses it.",
        )
    return link


def keep(settings: Settings, link: Link) -> None:
    """Write the link, whole or not at all, for its owner only."""
    path = place(settings)
    draft = path.with_name(f".{path.name}.new")
    draft.unlink(missing_ok=True)
    descriptor = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(descriptor, "w", encoding="utf-8") as file:
        json.dump(asdict(link), file, ensure_ascii=False, indent=1)
        file.flush()
        os.fsync(file.fileno())
    draft.replace(path)


def drop(settings: Settings) -> None:
    """Let no group follow this practice any more; what it holds it keeps."""
    place(settings).unlink(missing_ok=True)
