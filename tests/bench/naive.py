"""What pushes are measured against: the same bodies read by marshmallow and inserted, no more.

No signature, chain, verdict, dose, projection or access row; the same database, as durable.
"""

import os
from pathlib import Path

import marshmallow as ma
from flask import Flask, request
from sqlalchemy import Column, Integer, MetaData, Table, Text, create_engine, event, insert

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


def _open():
    engine = create_engine(f"sqlite:///{Path(os.environ['DOSEBOOK_DATA']) / 'naive.sqlite3'}")

    @event.listens_for(engine, "connect")
    def durable(connection, _record):
        connection.execute("PRAGMA journal_mode=WAL")
        connection.execute("PRAGMA synchronous=FULL")
        connection.execute("PRAGMA busy_timeout=5000")

    metadata.create_all(engine)
    return engine


application = Flask(__name__)
engine = _open()
batch = Batch()


@application.post("/api/v1/sync/push")
def post_push():
    items = batch.load(request.get_json())["items"]
    with engine.begin() as connection:
        connection.execute(insert(item), items)
    return {"results": [{"event_id": one["event_id"], "outcome": "applied"} for one in items]}
