"""Push and pull of tablets; see the modules of ``api.sync`` for what they promise."""

from datetime import datetime, timedelta
from functools import partial

import marshmallow as ma
from flask import Response, jsonify, request

from api.clock import parse_rfc3339, rfc3339
from api.people import rights
from api.storage import access, tablet_states
from api.storage.engine import Connection, read, write
from api.sync import epochs, pull, push
from api.sync.judge import Authorise
from api.web import auth, witness
from api.web.blueprint import Blueprint, body_of, read_json, words
from api.web.context import context

blueprint = Blueprint("sync", __name__, description="Push and pull of tablets")

SEEN_AGAIN = timedelta(minutes=1)


class PushSchema(ma.Schema):
    """A batch of events, in the order of their sequence numbers."""

    protocol = ma.fields.Integer(required=True, strict=True)
    epoch = words(required=True, at_most=64)
    # An item is read one by one by the log, which keeps even what it cannot understand: a schema
    # that refused the batch for one of them would hold up all the others for ever.
    items = ma.fields.List(ma.fields.Raw(), required=True)
    waiting = ma.fields.Integer(
        metadata={"description": "How many entries wait on the tablet, these among them."}
    )


class PushResultSchema(ma.Schema):
    """What became of one event."""

    class Meta:
        unknown = ma.INCLUDE

    event_id = ma.fields.String(allow_none=True)
    tablet_seq = ma.fields.Integer(allow_none=True)
    outcome = ma.fields.String(required=True)
    position = ma.fields.Integer()
    verdict = ma.fields.String()
    reason = ma.fields.String()
    current = ma.fields.Integer(allow_none=True)
    expected_seq = ma.fields.Integer()


class PushedSchema(ma.Schema):
    """One result for each item, in the same order."""

    results = ma.fields.List(ma.fields.Nested(PushResultSchema), required=True)
    server_time = ma.fields.String(required=True)


class PullQuerySchema(ma.Schema):
    """Where to go on reading, and of what."""

    cursor = ma.fields.String(validate=ma.validate.Length(max=400))
    feed = ma.fields.String(load_default="house", validate=ma.validate.OneOf(["house", "records"]))
    limit = ma.fields.Integer(load_default=200, validate=ma.validate.Range(1, 200))
    waiting = ma.fields.Integer(validate=ma.validate.Range(0, 10**9 - 1))
    # How far the tablet has followed the log by itself, and to which link: see api.sync.witness.
    seen_position = ma.fields.Integer(validate=ma.validate.Range(1, 2**53))
    seen_link = ma.fields.String(validate=ma.validate.Regexp(r"[0-9a-f]{64}\Z"))


class PulledSchema(ma.Schema):
    """A page of changed documents, and what is needed to check the log."""

    documents = ma.fields.List(ma.fields.Dict(), required=True)
    entries = ma.fields.List(ma.fields.Dict(), required=True)
    previous_link = ma.fields.String(required=True)
    next_cursor = ma.fields.String(required=True)
    more = ma.fields.Boolean(required=True)
    head = ma.fields.Dict(required=True)
    server_time = ma.fields.String(required=True)
    durable_position = ma.fields.Integer(required=True, allow_none=True)


class KnownEpochSchema(ma.Schema):
    """The epoch of the log that a tablet knows."""

    epoch = words(required=True, at_most=64)


class RestoreNoticeSchema(ma.Schema):
    """How the log goes on after a restore, in the server's word."""

    text = ma.fields.String(required=True)
    signature = ma.fields.String(required=True)
    server_time = ma.fields.String(required=True)


class ReturningSchema(ma.Schema):
    """Entries that a tablet is about to hand in again, in the epoch that it goes on in."""

    epoch = words(required=True, at_most=64)
    event_ids = ma.fields.List(
        words(required=True, at_most=64), required=True, validate=ma.validate.Length(max=500)
    )


class ServerTimeSchema(ma.Schema):
    """What time it is at the server."""

    server_time = ma.fields.String(required=True)


@blueprint.route("/sync/push", methods=["POST"])
@blueprint.response(200, PushedSchema)
@blueprint.doc(requestBody=body_of(PushSchema))
@auth.rule(auth.ANY_TABLET)
def post_push():
    """Take events into the log, and say of each what became of it."""
    house = context()
    pushed = push.push(
        house.engine,
        house.clock,
        tablet=auth.caller().tablet,
        request=read_json(request.get_data()),
        projectors=house.projectors,
        # Nothing that a tablet may say changes a person: each is read once for all of a push.
        authorise=_on_tablet(partial(house.authorise, people={})),
    )
    # An answer that is made already: its schema, which describes it, has nothing to choose from.
    return jsonify(pushed)


def _on_tablet(authorise: Authorise) -> Authorise:
    """Return the same but for what is decided at desks only."""

    def judged(
        connection: Connection,
        location_id: str,
        actor_id: str | None,
        event_type: str,
        made_at: datetime,
    ) -> str | None:
        reason = authorise(connection, location_id, actor_id, event_type, made_at)
        return "desk_only" if reason is None and event_type in rights.DESK_ONLY else reason

    return judged


@blueprint.route("/sync/pull", methods=["GET"])
@blueprint.arguments(PullQuerySchema, location="query")
@blueprint.response(200, PulledSchema)
@auth.rule(auth.TABLET)
def get_pull(query):
    """Give what changed since the cursor; records only to a person who may read them."""
    house, tablet = context(), auth.caller()
    records = query["feed"] == "records"
    if records:
        with read(house.engine) as connection:
            who = auth.person_on(connection, tablet)
        auth.demand(who, "record.read")
    page = pull.pull_page(
        house.engine,
        house.clock,
        house.server_key,
        tablet_or_location=tablet.tablet,
        cursor=query.get("cursor"),
        feed=query["feed"],
        limit=query["limit"],
        include_records=records,
    )
    _note_seen(house, tablet, query.get("waiting"))
    witness.heed(tablet, query, epoch=page.epoch)
    if records and page.doc_ids:
        with write(house.engine) as connection:
            access.note(
                connection,
                location_id=who.location_id,
                at=house.clock.now(),
                action="pull",
                actor_id=who.person_id,
                tablet_id=who.tablet_id,
                subject_kind="record",
                subjects=page.doc_ids,
                detail={"records": len(page.doc_ids)},
            )
    # As it was written: what it holds was checked when it came in.
    return Response(page.text, mimetype="application/json")


def _note_seen(house, tablet, waiting):
    """Keep when the tablet was last heard of, not more often than an administrator looks."""
    before = tablet.tablet
    since = house.clock.now() - parse_rfc3339(before["last_seen_at"] or before["enrolled_at"])
    if waiting in (None, before["waiting"]) and since < SEEN_AGAIN:
        return
    with write(house.engine) as connection:
        tablet_states.see(connection, tablet.tablet_id, now=house.clock.now(), waiting=waiting)


@blueprint.route("/sync/restored", methods=["POST"])
@blueprint.arguments(KnownEpochSchema)
@blueprint.response(200, RestoreNoticeSchema)
@auth.rule(auth.ANY_TABLET)
def post_restored(body):
    """Say to a tablet of an earlier epoch how far what it knows still holds."""
    house = context()
    said = epochs.notice(
        house.engine,
        house.clock,
        house.server_key,
        tablet={"tablet_id": auth.caller().tablet_id},
        from_epoch=body["epoch"],
    )
    return {**said, "server_time": rfc3339(house.clock.now())}


@blueprint.route("/sync/returning", methods=["POST"])
@blueprint.arguments(ReturningSchema)
@blueprint.response(200, ServerTimeSchema)
@auth.rule(auth.ANY_TABLET)
def post_returning(body):
    """Note which entries a tablet will hand in again after a restore."""
    house = context()
    epochs.name_returning(
        house.engine,
        house.clock,
        tablet={"tablet_id": auth.caller().tablet_id},
        epoch=body["epoch"],
        event_ids=body["event_ids"],
    )
    return {"server_time": rfc3339(house.clock.now())}
