"""What pushes are measured against: the same bodies read by marshmallow and inserted, no more.

What anybody would write first: what a request says is checked by its schemas, the payload by that
of its type, and all of it goes into one table by one insert. No signature, chain, verdict, dose,
projection or access row; the same web server, the same database, as durable. Beside it stands an
``/envelope`` that keeps the texts of an event without looking into them, which is less than anybody
may do who answers for what is in the table.
"""

import json
import os

import marshmallow as ma
from flask import Flask, request
from sqlalchemy import Column, Integer, MetaData, Table, Text, create_engine, event, insert

from api.events.catalogue import EVENT_TYPES

metadata = MetaData()
item = Table(
    "item",
    metadata,
    Column("event_id", Text, primary_key=True),
    Column("tablet_seq", Integer, nullable=False),
    Column("body", Text, nullable=False),
    Column("payload", Text, nullable=False),
    Column("salt", Text, nullable=False),
    Column("signature", Text, nullable=False),
)


class Item(ma.Schema):
    """One event on the wire."""

    event_id = ma.fields.String(required=True)
    tablet_seq = ma.fields.Integer(required=True)
    body = ma.fields.String(required=True)
    payload = ma.fields.String(required=True)
    salt = ma.fields.String(required=True)
    signature = ma.fields.String(required=True)


class Batch(ma.Schema):
    """What a tablet pushes."""

    class Meta:
        unknown = ma.EXCLUDE

    items = ma.fields.List(ma.fields.Nested(Item), required=True)


class Body(ma.Schema):
    """What an event says of itself."""

    v = ma.fields.Integer(required=True, validate=ma.validate.Equal(1))
    event_id = ma.fields.String(required=True)
    tablet_id = ma.fields.String(required=True)
    tablet_seq = ma.fields.Integer(required=True)
    location_id = ma.fields.String(required=True)
    actor_id = ma.fields.String(required=True, allow_none=True)
    type = ma.fields.String(required=True, validate=ma.validate.OneOf(EVENT_TYPES))
    entity_id = ma.fields.String(required=True)
    base_version = ma.fields.Integer(required=True, allow_none=True)
    corrects = ma.fields.String(required=True, allow_none=True)
    occurred_at = ma.fields.AwareDateTime(required=True)
    zone = ma.fields.String(required=True)
    clock_offset_ms = ma.fields.Integer(required=True, allow_none=True)
    app_build = ma.fields.String(required=True)
    engine_version = ma.fields.String(required=True)
    payload_hash = ma.fields.String(required=True)


def create(url: str) -> None:
    """Make the table, once, before a server's processes are started."""
    metadata.create_all(create_engine(url))


def _open(url: str):
    opened = create_engine(url)
    if opened.dialect.name == "sqlite":

        @event.listens_for(opened, "connect")
        def durable(connection, _record):
            connection.execute("PRAGMA journal_mode=WAL")
            connection.execute("PRAGMA synchronous=FULL")
            connection.execute("PRAGMA busy_timeout=5000")

    return opened


application = Flask(__name__)
engine = _open(os.environ.get("DATABASE_URL") or "sqlite://")
batch, body = Batch(), Body()


@application.post("/api/v1/sync/push")
def post_push():
    items = batch.load(request.get_json())["items"]
    for one in items:
        said = body.load(json.loads(one["body"]))
        EVENT_TYPES[said["type"]].schema.load(json.loads(one["payload"]))
    return _kept(items)


@application.post("/envelope")
def post_envelope():
    return _kept(batch.load(request.get_json())["items"])


def _kept(items):
    with engine.begin() as connection:
        connection.execute(insert(item), items)
    return {"results": [{"event_id": one["event_id"], "outcome": "applied"} for one in items]}
