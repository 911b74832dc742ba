"""What the practice's side works with, when it is in contact with its group."""

from collections.abc import Callable
from dataclasses import dataclass

from api.clock import Clock
from api.events import signing
from api.storage.engine import Engine
from api.sync import judge


@dataclass(frozen=True, kw_only=True)
class Practice:
    """What the practice's side works with."""

    engine: Engine
    clock: Clock
    server_key: signing.PrivateKey
    random: Callable[[int], bytes]
    projectors: judge.Projectors
