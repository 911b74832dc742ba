"""Flags on a record about the presets it used; the values that were used stay what they are."""

from collections.abc import Mapping
from typing import Any

from api.records.reflag import reflag
from api.storage import documents, preset_history

WITHDRAWN, NOT_IN_FORCE = "preset_withdrawn", "preset_not_in_force"
CODES = (WITHDRAWN, NOT_IN_FORCE)


def preset_flags(house: documents.Once, record: Mapping[str, Any]) -> list[dict[str, str]]:
    """Return a flag for each pass whose preset had been withdrawn, or had come second."""
    flags = []
    for one in record["passes"]:
        preset = one.get("preset")
        if not preset:
            continue
        used = f"Pass {one['number']}: version {preset['version']} of the preset “{preset['name']}”"
        withdrawn = preset_history.withdrawn_before(
            house,
            preset_id=preset["preset_id"],
            version=preset["version"],
            at=one["started_at"],
        )
        if withdrawn is not None:
            text = f"{used} had been withdrawn on {withdrawn['at'][:10]}: {withdrawn['reason']}"
            flags.append({"code": WITHDRAWN, "text": text, "event_id": one["event_id"]})
        if preset.get("event_id") and preset_history.never_in_force(
            house,
            preset_id=preset["preset_id"],
            event_id=preset["event_id"],
        ):
            text = f"{used} was that of one tablet; another one with this number came into force."
            flags.append({"code": NOT_IN_FORCE, "text": text, "event_id": one["event_id"]})
    return flags


def preset_changed(connection: Any, entry: Mapping[str, Any]) -> None:
    """Look again at the records that used a preset, after something was said about it.

    A withdrawal can arrive after the records that it concerns: it was made on a tablet without a
    network, or they were.
    """
    location_id, preset_id = entry["location_id"], entry["body"]["entity_id"]
    house = documents.Once(connection, location_id)
    taken_up = (entry["payload"] or {}).get("from_draft")
    if not taken_up and not preset_history.is_flagged(house, preset_id=preset_id):
        # A version that simply follows another says nothing about any record.
        return
    used_it = documents.holding(
        connection, location_id, "record", field="preset_id", value=preset_id
    )
    for record in list(used_it):
        found = preset_flags(house, record)
        reflag(connection, record, found, codes=CODES, position=entry["position"])
