"""Roll-outs at the group and offers at the practice as documents, made from either's own log.

An offer is one roll-out at one location. It counts for nothing by itself: somebody there takes it
over by publishing what they make of it (``from_offer``), or declines it. The group reads what
became of it in the copy of the practice's log, by the same code.
"""

from collections.abc import Mapping
from typing import Any

from api.errors import Conflict, NotFound
from api.storage import documents

ROLLOUT, OFFER = "rollout", "offer"
OPEN, TAKEN, DECLINED, REPLACED = "open", "taken", "declined", "replaced"
# Read at desks that ask for it; no tablet needs it.
FEED = "offers"
EVENT_TYPES = (
    "rollout.made",
    "list.offered",
    "list.offer_declined",
    "preset.offered",
    "preset.offer_declined",
)
_CONTENT = ("source_id", "version", "title", "list", "row", "effective_from", "note")
_ORIGIN = ("made_at", "made_by", "group_name", "group_key")


def content(said: Mapping[str, Any]) -> dict[str, Any]:
    """Return of a payload or a document what is rolled out."""
    return {name: said.get(name) for name in _CONTENT}


def kind_of(said: Mapping[str, Any]) -> str:
    """Return whether a list or a preset is rolled out."""
    return "list" if said.get("list") is not None else "preset"


def order(said: Mapping[str, Any]) -> tuple:
    """Return what the newest roll-out of one source is the greatest by."""
    return (said["version"], said["made_at"])


def check_declining(connection: Any, location_id: str, type: str, offer_id: str) -> None:
    """Refuse, at a desk, to decline what is no such offer or was answered or replaced already.

    Raises ``NotFound`` "offer_unknown", ``Conflict`` "offer_closed".
    """
    known = documents.get(connection, location_id, OFFER, offer_id)
    if known is None or f"{known['kind']}.offer_declined" != type:
        raise NotFound("offer_unknown", "There is no such offer.")
    if known["state"] != OPEN:
        raise Conflict("offer_closed", "Something was decided about this offer already.")


def project(connection: Any, entry: Mapping[str, Any]) -> None:
    """Put what an entry says about a roll-out or an offer into its document."""
    subject, _, what = entry["body"]["type"].partition(".")
    if what == "made":
        _put(connection, entry, ROLLOUT, _rollout(entry))
    elif what == "offered":
        _offered(connection, entry)
    else:
        known = documents.get(connection, entry["location_id"], OFFER, entry["body"]["entity_id"])
        if known is not None and known["kind"] == subject and known["state"] != TAKEN:
            _put(connection, entry, OFFER, {**known, "state": DECLINED, **_answer(entry)})


def published(connection: Any, entry: Mapping[str, Any]) -> None:
    """Note at an offer that a version was published that says it was made of it."""
    offer_id = (entry["payload"] or {}).get("from_offer")
    if offer_id is None or entry["verdict"] == "conflict":
        return
    known = documents.get(connection, entry["location_id"], OFFER, offer_id)
    if known is not None and f"{known['kind']}.published" == entry["body"]["type"]:
        taken = {**known, "state": TAKEN, **_answer(entry)}
        _put(connection, entry, OFFER, taken, offer_id)


def _rollout(entry: Mapping) -> dict:
    body, payload = entry["body"], entry["payload"] or {}
    return {
        **content(payload),
        "rollout_id": body["entity_id"],
        "kind": kind_of(payload),
        "practices": payload.get("practices"),
        "made_at": body["occurred_at"],
        "made_by": body["actor_id"],
        "event_id": body["event_id"],
    }


def _offered(connection: Any, entry: Mapping) -> None:
    body, payload = entry["body"], entry["payload"] or {}
    offer_id = body["entity_id"]
    if documents.get(connection, entry["location_id"], OFFER, offer_id) is not None:
        # Said twice: whatever became of it stays.
        return
    made = {
        **content(payload),
        **{name: payload.get(name) for name in _ORIGIN},
        "offer_id": offer_id,
        "kind": body["type"].partition(".")[0],
        "event_id": body["event_id"],
        "received_at": body["occurred_at"],
        "state": OPEN,
        "answered": None,
    }
    if made["source_id"] is None:
        # Its content was erased; nothing can be taken over of it.
        return
    for other in documents.list(connection, entry["location_id"], OFFER):
        if (other["kind"], other["source_id"]) != (made["kind"], made["source_id"]):
            continue
        if order(other) > order(made):
            # It came late: a newer one is here already.
            made["state"] = REPLACED
        elif other["state"] == OPEN:
            gone = {**other, "state": REPLACED}
            _put(connection, entry, OFFER, gone, other["offer_id"])
    _put(connection, entry, OFFER, made)


def _answer(entry: Mapping) -> dict:
    body, payload = entry["body"], entry["payload"] or {}
    published = body["type"].endswith(".published")
    return {
        "answered": {
            "at": body["occurred_at"],
            "by": body["actor_id"],
            "reason": None if published else payload.get("reason"),
            "subject_id": body["entity_id"] if published else None,
            "version": payload.get("version") if published else None,
        }
    }


def _put(
    connection: Any, entry: Mapping, kind: str, document: dict, doc_id: str | None = None
) -> None:
    documents.put(
        connection,
        entry["location_id"],
        kind,
        doc_id or entry["body"]["entity_id"],
        document,
        position=entry["position"],
        feed=FEED,
    )
