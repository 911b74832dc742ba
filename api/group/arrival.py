"""Whether entries that arrive are what their log says: hashes, signatures, epochs. Pure.

The verdict of each stands in its header and is not gone into again. What only the whole log shows,
such as a number of a writer that is missing, is for ``dosebook log verify``, here as there.
"""

import json
from collections.abc import Iterable, Mapping

from api.events import chain, parse, signing
from api.group.entries import Damaged

RESTORED = "log.restored"
QUARANTINED = "quarantined"


def check(
    rows: Iterable[Mapping],
    *,
    position: int,
    link: bytes,
    epoch: str | None,
    keys: Mapping[str, str],
) -> None:
    """Check rows that go on from an entry of an epoch, by the keys of their writers.

    ``epoch`` is None before the first entry. Raises :class:`Damaged` for the first that does not
    hold, with the reasons of ``audit.verify``: "epoch", "body", "columns", "payload_hash",
    "tablet_unknown", "signature".
    """
    for row in rows:
        reason = (
            _epoch_problem(row, epoch, position, link)
            or _body_problem(row)
            or _signature_problem(row, keys)
        )
        if reason is not None:
            raise Damaged(row["position"], reason)
        epoch, position, link = row["epoch"], row["position"], row["link"]


def goes_on_from(row: Mapping) -> tuple[str, int, str] | None:
    """Return (epoch, position, link in hex) that a ``log.restored`` goes on from, else None."""
    if row["type"] != RESTORED or row["verdict"] == QUARANTINED or row["payload"] is None:
        return None
    try:
        said = json.loads(row["payload"])
        return said["old_epoch"], said["position"], said["link"]
    except (ValueError, KeyError, TypeError):
        return None


def _epoch_problem(row: Mapping, epoch: str | None, position: int, link: bytes) -> str | None:
    if epoch in (None, row["epoch"]) or goes_on_from(row) == (epoch, position, link.hex()):
        return None
    return "epoch"


def _body_problem(row: Mapping) -> str | None:
    if row["verdict"] == QUARANTINED:
        # Kept because something was wrong with it; its text and its hash are in the chain.
        return None
    try:
        body = parse.read_object(row["body"])
    except parse.Unreadable:
        return "body"
    if (row["event_id"], row["tablet_seq"]) != (body.get("event_id"), body.get("tablet_seq")):
        return "columns"
    if row["payload"] is None:
        return None
    found = chain.payload_hash(salt=row["salt"], payload=row["payload"])
    return None if found == body.get("payload_hash") else "payload_hash"


def _signature_problem(row: Mapping, keys: Mapping[str, str]) -> str | None:
    key = keys.get(row["tablet_id"])
    if key is None:
        return "tablet_unknown"
    return None if signing.verify(key, row["body"], row["signature"]) else "signature"
