"""The server's key as it is left with the group: sealed to the recovery key, like in a backup."""

from api.backup import keys, recovery_key
from api.errors import BadInput
from api.events import signing
from api.settings import Settings
from api.sync import server_key


def seal(settings: Settings, *, public: str, about: str) -> bytes:
    """Return the server's key, sealed; ``about`` is the practice's id at the group."""
    return recovery_key.seal(public, settings.server_key_path.read_bytes(), about=about)


def unseal(content: bytes, typed: str, *, about: str, server_public_key: str) -> bytes:
    """Return the key [PEM] that a group kept. Raises ``BadInput`` for other words."""
    pem = recovery_key.unseal(recovery_key.private_key(typed), content, about=about)
    if signing.public_key_text(server_key.read_pem(pem)) != server_public_key:
        raise BadInput("recovery_key_wrong", "The key that the group kept is another one.")
    return pem


def recovery_public(settings: Settings) -> str:
    """Return the public half of the recovery key. Raises ``Conflict`` without one."""
    return keys.needed_public(settings)["public_key"]
