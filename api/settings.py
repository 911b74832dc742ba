"""Everything the program is told from outside, read once into one frozen object."""

import ipaddress
import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlsplit

from api.errors import BadInput

API_PREFIX = "/api/v1"
PROTOCOL_VERSION = 1
BUILT_PWA = Path(__file__).resolve().parent.parent / "pwa" / "dist"


@dataclass(frozen=True, kw_only=True)
class Settings:
    """The settings of one server process.

    ``data_dir`` holds the database and the server's key unless they are placed elsewhere.
    On PostgreSQL the tables belong to the role of ``database_owner_url``, by default that of
    ``database_url``; reports may be read from a copy at ``database_read_url``.
    ``secure_cookies`` is off only for plain HTTP on the loopback address. ``origin`` is the address
    people type ("https://dose.practice.example"), to which passkeys are bound; without it only
    localhost has them. ``proxies`` is how many proxies of our own stand before this server and say
    who asks. ``limit_factor`` multiplies how often one address may ask for what is counted.
    ``backups_dir`` is where ``dosebook work`` makes a backup every ``backup_hours`` and keeps the
    ``backups_kept`` newest; without it backups are made by hand or by another timer only.
    """

    data_dir: Path
    database_url: str
    database_owner_url: str | None = None
    database_read_url: str | None = None
    server_key_path: Path
    static_dir: Path
    secure_cookies: bool
    origin: str | None = None
    proxies: int = 0
    limit_factor: int = 1
    backups_dir: Path | None = None
    backup_hours: int = 12
    backups_kept: int = 60

    @classmethod
    def from_env(cls, env: Mapping[str, str] | None = None) -> "Settings":
        """Read the settings from environment variables.

        Raises ``BadInput`` that names the variable when one is missing or cannot be used.
        """
        env = os.environ if env is None else env
        data = env.get("DOSEBOOK_DATA")
        if not data:
            raise BadInput(
                "setting_missing",
                "DOSEBOOK_DATA must name the folder for data",
                field="DOSEBOOK_DATA",
            )
        data_dir = Path(data).resolve()
        return cls(
            data_dir=data_dir,
            database_url=env.get("DATABASE_URL") or f"sqlite:///{data_dir / 'dosebook.sqlite3'}",
            database_owner_url=env.get("DATABASE_OWNER_URL") or None,
            database_read_url=env.get("DATABASE_READ_URL") or None,
            server_key_path=Path(env.get("DOSEBOOK_SERVER_KEY") or data_dir / "server_key.pem"),
            static_dir=Path(env.get("DOSEBOOK_STATIC") or BUILT_PWA),
            secure_cookies=_switch(env, "DOSEBOOK_SECURE_COOKIES", default=False),
            origin=_origin(env, "DOSEBOOK_ORIGIN"),
            proxies=_count(env, "DOSEBOOK_PROXIES", default=0, at_most=5),
            limit_factor=_count(
                env, "DOSEBOOK_LIMIT_FACTOR", default=1, at_least=1, at_most=1_000_000
            ),
            backups_dir=Path(env["DOSEBOOK_BACKUPS"]).resolve()
            if env.get("DOSEBOOK_BACKUPS")
            else None,
            backup_hours=_count(env, "DOSEBOOK_BACKUP_HOURS", default=12, at_least=1, at_most=24),
            backups_kept=_count(
                env, "DOSEBOOK_BACKUPS_KEPT", default=60, at_least=1, at_most=10_000
            ),
        )


def _switch(env: Mapping[str, str], name: str, *, default: bool) -> bool:
    text = env.get(name)
    if text is None or text == "":
        return default
    if text not in ("0", "1"):
        raise BadInput("setting_unusable", f"{name} must be 0 or 1, not {text!r}", field=name)
    return text == "1"


def _count(
    env: Mapping[str, str], name: str, *, default: int, at_least: int = 0, at_most: int
) -> int:
    text = env.get(name) or str(default)
    if not (text.isascii() and text.isdigit() and at_least <= int(text) <= at_most):
        raise BadInput(
            "setting_unusable",
            f"{name} must be from {at_least} to {at_most}, not {text!r}",
            field=name,
        )
    return int(text)


def _origin(env: Mapping[str, str], name: str) -> str | None:
    text = env.get(name)
    if not text:
        return None
    parts = urlsplit(text)
    if (
        parts.scheme not in ("http", "https")
        or not parts.hostname
        or f"{parts.scheme}://{parts.netloc}" != text
        or "@" in parts.netloc
        or _is_address(parts.hostname)
    ):
        raise BadInput(
            "setting_unusable",
            f"{name} must be like https://dose.practice.example, with a name and without a path, "
            f"not {text!r}",
            field=name,
        )
    return text


def _is_address(host: str) -> bool:
    try:
        ipaddress.ip_address(host)
    except ValueError:
        return False
    return True
