"""On the group's side: a list or a preset of the group's own is offered to its practices."""

from collections.abc import Mapping, Sequence
from typing import Any

from api.errors import BadInput, Conflict, NotFound
from api.group import offers
from api.presets import row
from api.presets import service as presets
from api.storage import documents, followed, practices, readers
from api.storage.engine import Connection

# Of a list, what a practice can use; who published it here is in the roll-out itself.
_OF_LIST = ("kind", "title", "items", "needs_acknowledgement", "within_s")
# Another practice has none of these ids; what is named there is looked for by its name.
_IDS = ("preset_id", "version", "reviewed_by", "reviewer", *row.NAMED.values())


def payload(
    connection: Connection,
    *,
    location_id: str,
    kind: str,
    source_id: str,
    wanted: Sequence[str] | None,
    effective_from: str | None,
    note: str | None,
    may_publish: presets.MayPublish,
) -> dict[str, Any]:
    """Return what ``rollout.made`` says of the version that is the last one here, by value.

    ``wanted`` are the practices it goes to, or None for all. Raises ``NotFound``, ``Conflict``
    "not_in_force" and ``BadInput`` for a practice that is not followed.
    """
    known = {one["practice_id"] for one in practices.every_one(connection)}
    if wanted is not None and (not wanted or set(wanted) - known):
        raise BadInput("practice_unknown", "There is no such practice.", field="practices")
    document = documents.get(connection, location_id, kind, source_id)
    if document is None:
        raise NotFound(f"{kind}_unknown", f"There is no such {kind}.")
    if document.get("status") != "current":
        raise Conflict("not_in_force", "It is not in force here.")
    stated = {
        "source_id": source_id,
        "version": document["version"],
        "effective_from": effective_from,
        "note": note,
        "practices": None if wanted is None else sorted(set(wanted)),
    }
    if kind == "list":
        content = {name: document.get(name) for name in _OF_LIST}
        return {**stated, "title": document["title"], "list": content, "row": None}
    house = presets.house(connection, location_id, may_publish)
    names = {
        column: {
            i: str(one[house.register(column)[1]]) for i, one in house.register(column)[0].items()
        }
        for column in row.NAMED
    }
    said = row.to_row(document, names)
    said = {name: text for name, text in said.items() if text and name not in _IDS}
    return {**stated, "title": document["name"], "list": None, "row": said}


def for_practice(connection: Connection, practice_id: str) -> list[dict]:
    """Return the roll-outs of this server that go to a practice, of each source the newest."""
    newest: dict[tuple[str, str], dict] = {}
    for one in every_one(connection):
        if one["practices"] is not None and practice_id not in one["practices"]:
            continue
        source = (one["kind"], one["source_id"])
        if source not in newest or offers.order(newest[source]) < offers.order(one):
            newest[source] = one
    return sorted(newest.values(), key=lambda one: one["rollout_id"])


def offer(
    connection: Connection, practice_id: str, rollout_id: str, *, group_key: str
) -> dict[str, Any]:
    """Return one roll-out as it is said to a practice. Raises ``NotFound``."""
    for one in for_practice(connection, practice_id):
        if one["rollout_id"] == rollout_id:
            person = documents.get(connection, one["location_id"], "person", one["made_by"] or "")
            place = documents.get(connection, one["location_id"], "location", one["location_id"])
            return {
                "rollout_id": rollout_id,
                "subject": one["kind"],
                "content": {
                    **offers.content(one),
                    "made_at": one["made_at"],
                    "made_by": (person or {}).get("display_name") or "-",
                    "group_name": (place or {}).get("practice_name") or (place or {})["name"],
                    "group_key": group_key,
                },
            }
    raise NotFound("rollout_unknown", "There is no such roll-out.")


def every_one(connection: Connection) -> list[dict]:
    """Return the roll-outs made at locations of this server's own, with their location."""
    return [
        {**one, "location_id": place["location_id"]}
        for place in readers.locations(connection)
        if followed.get(connection, place["location_id"]) is None
        for one in documents.list(connection, place["location_id"], offers.ROLLOUT)
    ]


def states(connection: Connection, location_id: str) -> list[dict]:
    """Return the roll-outs of a location, the newest first, with what became of each.

    ``practices`` of one says of each practice that it goes to {practice_id, name, places}, of each
    of its locations {location_id, name, state, at, by, reason, version}: state None as long as the
    practice's own log does not say that it has been received.
    """
    whom = [one for one in practices.every_one(connection) if one["revoked_at"] is None]
    logs = {
        one["practice_id"]: [
            history
            for history in followed.of_practice(connection, one["practice_id"])
            if history["state"] == followed.CURRENT
        ]
        for one in whom
    }
    found = []
    for one in documents.list(connection, location_id, offers.ROLLOUT):
        person = documents.get(connection, location_id, "person", one["made_by"] or "")
        goes_to = [
            {
                "practice_id": each["practice_id"],
                "name": each["name"],
                "places": [
                    _state(connection, history, one["rollout_id"])
                    for history in logs[each["practice_id"]]
                ],
            }
            for each in whom
            if one["practices"] is None or each["practice_id"] in one["practices"]
        ]
        name = (person or {}).get("display_name")
        found.append(
            {**one, "made_by_name": name, "to_all": one["practices"] is None}
            | {"practices": goes_to}
        )
    return sorted(found, key=lambda one: (one["made_at"], one["rollout_id"]), reverse=True)


def _state(connection: Connection, history: Mapping, rollout_id: str) -> dict:
    log = history["location_id"]
    place = documents.get(connection, log, "location", history["of_location"]) or {}
    said = {"location_id": history["of_location"], "name": place.get("name") or "-"}
    document = documents.get(connection, log, offers.OFFER, rollout_id)
    nothing = dict.fromkeys(("at", "by", "reason", "version"))
    if document is None:
        return {**said, "state": None, **nothing}
    answered = document["answered"]
    if answered is None:
        return {**said, "state": document["state"], **nothing, "at": document["received_at"]}
    person = documents.get(connection, log, "person", answered["by"] or "") or {}
    return {
        **said,
        "state": document["state"],
        "at": answered["at"],
        "by": person.get("display_name"),
        "reason": answered["reason"],
        "version": answered["version"],
    }
