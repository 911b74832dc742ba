"""One laser under several ids: it is known by what stands on its plate. Pure.

A laser that was taken into the register anew, or on two tablets without a network, is the same
laser: what stands against it under one id stands against it under the other. Mirror:
``pwa/src/session/plate.ts``; both are held to ``tests/vectors/plates.json``.
"""

import unicodedata
from collections.abc import Iterable, Mapping
from typing import Any

Plate = tuple[str, ...]


def plate(device: Mapping[str, Any]) -> Plate | None:
    """Return maker, model and serial number, however they were typed; None without a number.

    Letters and digits count, neither their case nor what stands between them.
    """
    said = tuple(_plain(device.get(name)) for name in ("maker", "model", "serial"))
    return said if said[-1] else None


def under_all_ids(devices: Iterable[Mapping[str, Any]], device_id: str) -> list[str]:
    """Return every id of one laser among the documents of lasers, its own first."""
    known = list(devices)
    own = next((plate(one) for one in known if one["device_id"] == device_id), None)
    twins = (one["device_id"] for one in known if own is not None and plate(one) == own)
    return [device_id, *sorted(one for one in twins if one != device_id)]


def _plain(text: Any) -> str:
    composed = unicodedata.normalize("NFC", str(text or "")).lower()
    return "".join(each for each in composed if each.isalnum())
