"""POST commands/{type}: what a desk does becomes an event of the location's desk writer."""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import datetime

import marshmallow as ma

from api.errors import Conflict, NotFound
from api.events import catalogue
from api.group import offers
from api.people import changes, homes, rights
from api.presets import service as presets
from api.records import service as records
from api.storage import documents, reach, readers
from api.storage.engine import EVERYWHERE, Connection, read
from api.sync import desk
from api.web import auth, idempotency
from api.web.blueprint import Blueprint, words
from api.web.context import context

blueprint = Blueprint("commands", __name__, description="What a desk does")

_ABOUT_SIGNED = frozenset({"record.addended", "record.placed_in_chart"})
# What the chart's own entries may be taken back with by those who make them.
_AT_THE_CHART = frozenset({"record.placed_in_chart", "record.removed_from_chart"})
_ABOUT_SOMETHING = frozenset(
    {
        *rights.DESK_ONLY - {"person.registered"},
        "emergency.acknowledged",
        "location.offline_limit_set",
        "preset.withdrawn",
        "list.set_aside",
        "list.acknowledged",
        "list.offer_declined",
        "preset.offer_declined",
        "device.retired",
        "handpiece.retired",
        "eyewear.inspected",
        "eyewear.retired",
        "key.moved",
        "key.retired",
        "meter.calibrated",
        "meter.retired",
    }
    | {
        name
        for name, each in catalogue.EVENT_TYPES.items()
        if each.group == catalogue.PROCEDURE and name != "procedure.opened"
    }
)
# What an event is about, where its own document may not be there yet.
_ABOUT: Mapping[str, str] = {"retention.ruled": "location", "retention.held": "record"}


class CommandSchema(ma.Schema):
    """What happened, and to what."""

    entity_id = words(required=True, at_most=64)
    payload = ma.fields.Dict(keys=ma.fields.String(), required=True)
    base_version = ma.fields.Integer(strict=True, allow_none=True, load_default=None)
    corrects = ma.fields.String(
        allow_none=True, load_default=None, validate=ma.validate.Length(min=1, max=64)
    )


class CommandDoneSchema(ma.Schema):
    """The event that was made, and where it stands in the log."""

    event_id = ma.fields.String(required=True)
    position = ma.fields.Integer(required=True)


@blueprint.route(
    "/commands/<type>",
    methods=["POST"],
    parameters=[idempotency.PARAMETER],
)
@blueprint.arguments(CommandSchema)
@blueprint.response(201, CommandDoneSchema)
@auth.rule(auth.DESK)
def post_command(body, type):
    """Do something at a desk; the same key again does it once."""
    house, who = context(), auth.caller()
    right = rights.EVENT_RIGHTS.get(type)
    if right is None:
        raise NotFound("command_unknown", "There is no such command.")
    taken_back = _taken_back(who.location_id, type, body["entity_id"], body["corrects"])
    if taken_back in _AT_THE_CHART:
        right = rights.EVENT_RIGHTS[taken_back]
    auth.demand(who, right)
    key = idempotency.key()
    with read(house.engine) as connection:
        _check_subject(connection, who.location_id, type, body)
        location = documents.get(connection, who.location_id, "location", who.location_id)

    def authorise(
        connection: Connection,
        location_id: str,
        actor_id: str | None,
        type: str,
        made_at: datetime,
    ):
        # Inside the transaction, and only for a key that is new: a repeated signing is answered,
        # not refused because the record is signed by now.
        if type == "record.signed":
            records.check_signature(
                connection,
                location_id=location_id,
                record_id=body["entity_id"],
                actor_id=actor_id,
                payload=body["payload"],
            )
        if type == "preset.published":
            presets.check_publication(
                connection,
                location_id=location_id,
                preset_id=body["entity_id"],
                payload=body["payload"],
                corrects=body["corrects"],
                may_publish=rights.may_publish,
            )
        if type.endswith(".offer_declined"):
            offers.check_declining(connection, location_id, type, body["entity_id"])
        if type in changes.EVENT_TYPES:
            changes.check(
                connection,
                location_id=location_id,
                actor_id=actor_id,
                type=type,
                person_id=body["entity_id"],
                payload=body["payload"],
                now=made_at,
            )
        if type == "person.left":
            homes.hand_on(
                connection,
                house.server_key,
                location_id=location_id,
                person_id=body["entity_id"],
                now=made_at,
                random=house.random,
            )
        # Who may put a paper into a chart may say that it is not there after all, and no more.
        meant = taken_back if taken_back in _AT_THE_CHART else type
        return house.authorise(connection, location_id, actor_id, meant, made_at)

    with _in_reach(who.location_id, type, body["entity_id"]):
        return desk.append_as_desk(
            house.engine,
            house.clock,
            house.server_key,
            location_id=who.location_id,
            actor_id=who.person_id,
            type=type,
            entity_id=body["entity_id"],
            payload=body["payload"],
            base_version=body["base_version"],
            corrects=body["corrects"],
            idempotency_key=key,
            projectors=house.projectors,
            zone=location["zone"],
            authorise=authorise,
            random=house.random,
        )


@contextmanager
def _in_reach(location_id: str, type: str, entity_id: str) -> Iterator[None]:
    """Reach this location, and where else somebody works whose work ends here."""
    engine = context().engine
    if type == "person.registered":
        with read(engine, locations=EVERYWHERE) as connection:
            homes.must_not_be_anothers(connection, location_id=location_id, person_id=entity_id)
    leaves = type == "person.left"
    more = homes.home_of(engine, entity_id, here=location_id).reach if leaves else (location_id,)
    with reach.within(*more):
        yield


def _taken_back(location_id: str, type: str, entity_id: str, event_id: str | None) -> str | None:
    """Return which type of entry of this very record a withdrawal names, or None."""
    if type != "entry.withdrawn" or event_id is None:
        return None
    with read(context().engine) as connection:
        entry = readers.entry_by_event(connection, location_id, event_id)
    if entry is None or entry["body"] is None or entry["body"]["entity_id"] != entity_id:
        return None
    return entry["body"]["type"]


def _check_subject(connection: Connection, location_id: str, type: str, body: dict) -> None:
    """Refuse what would be about nothing, or about a record that is not at that point yet.

    From a tablet the log takes such events, because there they have already happened.
    """
    if type not in _ABOUT_SOMETHING:
        return
    kind = _ABOUT.get(type, catalogue.EVENT_TYPES[type].subject)
    document = documents.get(connection, location_id, kind, body["entity_id"])
    if document is None:
        raise NotFound(f"{kind}_unknown", f"There is no such {kind}.")
    if type in _ABOUT_SIGNED and document["version"] == 0:
        raise Conflict("not_signed", "This record is not signed.")
    version = body["payload"].get("version") if type == "record.placed_in_chart" else None
    if isinstance(version, int) and version > document["version"]:
        raise Conflict("version_unknown", "This record has no such version.")
