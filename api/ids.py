"""Identifiers: UUID version 7 (RFC 9562), so that they sort by the time they were made."""

import os
import uuid
from collections.abc import Callable
from datetime import datetime


def new_id(now: datetime, random: Callable[[int], bytes] = os.urandom) -> str:
    """Return a UUIDv7 for the moment ``now``; ``random(n)`` supplies n bytes."""
    milliseconds = int(now.timestamp() * 1000)
    tail = int.from_bytes(random(10), "big")
    value = (milliseconds & (1 << 48) - 1) << 80 | tail
    value = value & ~(0xF << 76) | 0x7 << 76
    value = value & ~(0x3 << 62) | 0x2 << 62
    return str(uuid.UUID(int=value))
