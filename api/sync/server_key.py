"""The server's own key: signs heads, certificates, and what desks do."""

import os
import tempfile
from pathlib import Path

from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric import ec

from api.errors import BadInput
from api.events import signing


def load_or_create(path: Path) -> signing.PrivateKey:
    """Return the key in the PEM file at ``path``; make key and file (mode 600) if there is none.

    Of several processes that start at once, one makes the key and all use it. Raises
    ``BadInput`` when the file is there but holds no P-256 key.
    """
    if not path.exists():
        _create(path)
    return load(path)


def load(path: Path) -> signing.PrivateKey:
    """Return the key in the PEM file at ``path``. Raises ``BadInput`` without a usable one."""
    try:
        pem = path.read_bytes()
    except FileNotFoundError:
        raise BadInput("server_key_missing", "there is no server key") from None
    return read_pem(pem)


def read_pem(pem: bytes) -> signing.PrivateKey:
    """Return the key in a PEM text. Raises ``BadInput`` where it is no P-256 key."""
    try:
        key = serialization.load_pem_private_key(pem, password=None)
    except (ValueError, TypeError) as problem:
        raise BadInput("server_key_unreadable", "the server key cannot be read") from problem
    if not isinstance(key, ec.EllipticCurvePrivateKey) or key.curve.name != "secp256r1":
        raise BadInput("server_key_unreadable", "the server key must be on P-256")
    return key


def _create(path: Path) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    pem = signing.new_private_key().private_bytes(
        serialization.Encoding.PEM,
        serialization.PrivateFormat.PKCS8,
        serialization.NoEncryption(),
    )
    # Written beside, with mode 600 from its first byte, and then linked: the name never stands
    # for half a key, and if another process was first, its key stays.
    descriptor, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
    draft = Path(name)
    try:
        with os.fdopen(descriptor, "wb") as file:
            file.write(pem)
            file.flush()
            os.fsync(file.fileno())
        try:
            os.link(draft, path)
        except FileExistsError:
            return
    finally:
        draft.unlink()
