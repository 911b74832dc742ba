"""What was put aside: what stands against letting it count, and what follows when it does.

The verdict of an entry stands in its header for good. A release is a later event that says what
the verdict would have been; from then on the entry counts at the place in the log where it is.
A rejection says that it stays where it is. Neither takes anything away.
"""

from collections.abc import Iterable, Mapping
from typing import Any

from api.errors import Conflict, NotFound
from api.events import catalogue, parse
from api.people import rights
from api.storage import access, accounts, aside, documents, event_store, readers, tablet_states
from api.storage.engine import Connection, DBAPIError
from api.sync import judge
from api.sync.house_tablets import Doing, append
from api.sync.protocol import APPLIED, CONFLICT

RELEASE = "release"
REJECT = "reject"
# Nobody vouches for these: such an entry is made at a desk by whoever may, or not at all.
_NEVER = frozenset({"server_only", "actor_missing", "actor_unknown"})


def read(row: Mapping[str, Any]) -> parse.Parsed:
    """Read an entry that was put aside; with ``reason`` "erased" where its content is gone."""
    if row["payload"] is None:
        found = parse.parse_event(body=row["body"], payload="{}", salt=row["salt"] or bytes(16))
        return parse.Parsed(found.body, None, "erased")
    return parse.parse_event(body=row["body"], payload=row["payload"], salt=row["salt"])


def right_for(parsed: parse.Parsed) -> str:
    """Return which right it takes to decide about an entry."""
    event_type = catalogue.EVENT_TYPES.get(str((parsed.body or {}).get("type")))
    about_record = event_type is not None and event_type.group == catalogue.PROCEDURE
    return "aside.settle_record" if about_record else "aside.settle"


def rights_for(connection: Connection, location_id: str, positions: Iterable[int]) -> list[str]:
    """Return the rights that it takes to decide about all of these, sorted; or ``NotFound``."""
    rows = [aside.at(connection, location_id, position) for position in positions]
    if None in rows:
        raise NotFound("aside_unknown", "Nothing was put aside there.")
    return sorted({right_for(read(row)) for row in rows})


def obstacle(
    connection: Connection,
    row: Mapping[str, Any],
    parsed: parse.Parsed,
    *,
    authorise: judge.Authorise,
) -> str | None:
    """Return the stable reason why an entry cannot be released, or None where it can.

    That its tablet was revoked or not confirmed is what a release overrules, and that whoever
    recorded something at the chair had left or had no such role. Nothing else is.
    """
    if parsed.reason is not None:
        return parsed.reason
    body, location_id = parsed.body, row["location_id"]
    if (body["event_id"], body["tablet_seq"], body["location_id"]) != (
        row["event_id"],
        row["tablet_seq"],
        location_id,
    ):
        return "envelope_mismatch"
    writer = accounts.tablet_by_id(connection, row["tablet_id"]) or {}
    writers = (row["tablet_id"], *tablet_states.earlier(connection, writer.get("replaces")))
    if body["tablet_id"] not in writers:
        return "envelope_mismatch"
    if body["type"] in rights.DESK_ONLY:
        return "desk_only"
    refused = authorise(
        connection, location_id, body["actor_id"], body["type"], judge.made_at(body)
    )
    vouched_for = rights.EVENT_RIGHTS[body["type"]] in rights.VOUCHED_FOR
    if refused in _NEVER or (refused is not None and not vouched_for):
        return refused
    if body["type"] == judge.PLACED and not judge.has_version(
        connection, location_id, body["entity_id"], parsed.payload
    ):
        return "version_unknown"
    return None


def hold(doing: Doing) -> None:
    """Let nobody else decide or write here until the transaction ends."""
    writer = accounts.desk_writer(doing.connection, doing.location_id)
    accounts.lock_tablet(doing.connection, writer["tablet_id"], now=doing.clock.now())
    event_store.lock_log(doing.connection, doing.location_id)


def settle(
    doing: Doing,
    *,
    position: int,
    decision: str,
    reason: str,
    authorise: judge.Authorise,
) -> dict:
    """Release or reject the entry at a position for good; return {event_id, position}.

    Asked again by the same person for the same, it answers as the first time. A rejected entry
    may be released later, a released one is taken back like any other. Raises ``NotFound``
    "aside_unknown", ``Conflict`` "aside_settled" {status} and "aside_not_releasable" {because}.
    """
    connection = doing.connection
    row = aside.at(connection, doing.location_id, position)
    if row is None:
        raise NotFound("aside_unknown", "Nothing was put aside there.")
    key = aside.key_of(row)
    known = aside.decided(connection, doing.location_id, key)
    wanted = "released" if decision == RELEASE else "rejected"
    if known is not None and known["status"] == wanted and known["by"] == doing.actor_id:
        return {"event_id": known["event_id"], "position": known["position"]}
    if known is not None and (known["status"] == "released" or known["status"] == wanted):
        raise Conflict(
            "aside_settled", "Somebody has decided about this already.", status=known["status"]
        )
    payload = {"event_id": row["event_id"], "reason": reason}
    parsed = read(row)
    if decision == RELEASE:
        because = obstacle(connection, row, parsed, authorise=authorise)
        if because is not None:
            raise _not_releasable(because)
        payload["verdict"] = _verdict(connection, doing.location_id, parsed.body)
    try:
        done = append(doing, f"aside.{wanted}", key, payload)
    except (DBAPIError, Conflict, NotFound):
        raise
    except Exception as problem:
        if decision == REJECT:
            raise
        raise _not_releasable("not_projectable") from problem
    if decision == RELEASE:
        _note_change(doing, row, parsed.body)
    return done


def project(connection: Connection, entry: dict, projectors: judge.Projectors) -> None:
    """Keep what was decided for the tablets, and let a released entry count."""
    body, location_id, position = entry["body"], entry["location_id"], entry["position"]
    payload = entry["payload"] or {}
    released = body["type"] == readers.RELEASED
    row = readers.entry_by_event(connection, location_id, payload.get("event_id", "")) or {}
    documents.put(
        connection,
        location_id,
        aside.KIND,
        body["entity_id"],
        {
            "aside_id": body["entity_id"],
            "event_id": payload.get("event_id"),
            # By its number its tablet finds it again.
            "tablet_seq": (row.get("body") or {}).get("tablet_seq"),
            "status": "released" if released else "rejected",
            "at": body["occurred_at"],
            "by": body["actor_id"],
            "position": row.get("position"),
        },
        position=position,
    )
    if released and row:
        _count(connection, row, position, judge.project_with(projectors))


def _count(connection: Connection, row: dict, position: int, project: event_store.Project) -> None:
    """Work a released entry into what the log came to, as if it had been applied where it stands.

    A record is made from all its entries anyway. Another document is made of one entry after the
    other, so it is made anew; it changed at the place of the release, or no tablet would hear.
    """
    event_type = catalogue.EVENT_TYPES[row["body"]["type"]]
    location_id, entity_id = row["location_id"], row["body"]["entity_id"]
    if event_type.group == catalogue.PROCEDURE:
        project(connection, [{**row, "verdict": APPLIED, "position": position}])
        return
    documents.drop(connection, location_id, event_type.subject, entity_id)
    for one in readers.entries_about(
        connection, location_id, event_type.subject, entity_id, upto=position
    ):
        project(connection, [{**one, "position": position}])


def _verdict(connection: Connection, location_id: str, body: Mapping[str, Any]) -> str:
    event_type = catalogue.EVENT_TYPES[body["type"]]
    current = judge.version_in_force(connection, location_id, body)
    return CONFLICT if event_type.versioned and current != body["base_version"] else APPLIED


def _not_releasable(because: str) -> Conflict:
    return Conflict("aside_not_releasable", "This cannot be released.", because=because)


def _note_change(doing: Doing, row: Mapping[str, Any], body: Mapping[str, Any]) -> None:
    """Write down, as a push does, whose entry changed what; and who let it."""
    access.note(
        doing.connection,
        location_id=doing.location_id,
        at=doing.clock.now(),
        action="change",
        actor_id=body["actor_id"],
        tablet_id=row["tablet_id"],
        subject_kind=catalogue.EVENT_TYPES[body["type"]].subject,
        subject_id=body["entity_id"],
        detail={"events": 1, "types": [body["type"]], "by": doing.actor_id},
    )
