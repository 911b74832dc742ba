"""On the practice's side: what a group offers, and what each offer would come to here."""

from collections.abc import Mapping, Sequence
from typing import Any

from api.group import offers
from api.presets import exchange, row
from api.presets import service as presets
from api.storage import documents
from api.storage.engine import Connection


def here(
    connection: Connection, location_id: str, may_publish: presets.MayPublish, *, person_id: str
) -> list[dict]:
    """Return a practice's offers, the newest first, each with what it would come to at a location.

    ``subject_id`` of one is what it would be the next version of, None where it would be new. Of a
    preset ``preset`` is its content with the laser and the tip that are called as the group's, None
    where ``errors`` say what stands against it.
    """
    known = documents.list(connection, location_id, offers.OFFER)
    house = presets.house(connection, location_id, may_publish)
    lists = documents.list(connection, location_id, "list")
    found = []
    for one in known:
        before = _taken_before(known, one)
        if one["kind"] == "list":
            wanted = one["list"]["kind"]
            same = [each["list_id"] for each in lists if each.get("kind") == wanted]
            subject = before if before in same else next(iter(same), None)
            comes_to = {"subject_id": subject, "settings": None, "preset": None, "errors": {}}
        else:
            comes_to = _preset(one, before, house, person_id)
        person = documents.get(
            connection, location_id, "person", (one["answered"] or {}).get("by") or ""
        )
        found.append({**one, **comes_to, "answered_by_name": (person or {}).get("display_name")})
    return sorted(found, key=lambda one: (one["received_at"], one["offer_id"]), reverse=True)


def _taken_before(known: Sequence[Mapping], one: Mapping) -> str | None:
    """Return what here the last roll-out of the same source was taken over as."""
    taken = [
        each
        for each in known
        if each["state"] == offers.TAKEN
        and (each["kind"], each["source_id"]) == (one["kind"], one["source_id"])
    ]
    return max(taken, key=offers.order)["answered"]["subject_id"] if taken else None


def _preset(
    one: Mapping, before: str | None, house: exchange.House, person_id: str
) -> dict[str, Any]:
    said = {name: str(text) for name, text in (one["row"] or {}).items()}
    if (house.presets.get(before or "") or {}).get("status") == "current":
        said["preset_id"] = before
    [planned] = exchange.plan([said], house, importer=person_id)
    content = planned.payload
    if planned.outcome == exchange.SAME:
        content = house.presets[planned.preset_id]
    return {
        "subject_id": planned.preset_id or said.get("preset_id"),
        "settings": row.to_settings(said),
        "preset": None if content is None else dict(content),
        "errors": dict(planned.errors),
    }
