"""Erasing the content of records: looking at what is lost, asking for it, deciding about it."""

import marshmallow as ma

from api.backup import erasures as keeping
from api.clock import rfc3339
from api.errors import BadInput
from api.events.retention_payloads import BASES
from api.people import standing
from api.records import erasure, service
from api.storage import documents, erased, jobs, readers
from api.storage.engine import again, read, write
from api.sync import erasing
from api.sync.house_tablets import Doing
from api.web import auth
from api.web.blueprint import Blueprint, words
from api.web.context import context
from api.web.records import who_reads

blueprint = Blueprint("erasure", __name__, description="How long records are kept, and erasing")

ERASE, DECLINE = "erase", "decline"
# Whoever asks and whoever decides, each has to have this.
RIGHT = "retention.write"


class RuleSchema(ma.Schema):
    """How long records are kept after their last entry, and where that is written."""

    text = ma.fields.String(required=True)
    years = ma.fields.Integer(required=True)
    citation = ma.fields.String(required=True)


class ErasureSchema(ma.Schema):
    """What was asked and decided about a record, and whether its bytes are gone from the files."""

    record_id = ma.fields.String(required=True)
    status = ma.fields.String(required=True)
    asked = ma.fields.Dict(allow_none=True, required=True)
    declined = ma.fields.Dict(allow_none=True, required=True)
    erased = ma.fields.Dict(allow_none=True, required=True)
    entries = ma.fields.Integer(required=True)
    photographs = ma.fields.Integer(required=True)
    rewritten = ma.fields.Boolean(required=True)


class LookSchema(ma.Schema):
    """What there is to lose of a record, and what stands for and against it."""

    record_id = ma.fields.String(required=True)
    status = ma.fields.String(allow_none=True, required=True)
    entries = ma.fields.Integer(required=True)
    aside = ma.fields.Integer(required=True)
    photographs = ma.fields.Integer(required=True)
    papers = ma.fields.Integer(required=True)
    position = ma.fields.Integer(required=True)
    last_day = ma.fields.String(required=True)
    keep_until = ma.fields.String(allow_none=True, required=True)
    rule = ma.fields.Nested(RuleSchema, allow_none=True, required=True)
    over = ma.fields.Boolean(required=True)
    held = ma.fields.Boolean(required=True)
    erasure = ma.fields.Nested(ErasureSchema, allow_none=True, required=True)
    # From when on whoever looks counts as one of the two; null where that is so already.
    counts_from = ma.fields.String(allow_none=True, required=True)


class ErasuresSchema(ma.Schema):
    """Every erasure that was asked for, the rules, and which records are held."""

    erasures = ma.fields.List(ma.fields.Nested(ErasureSchema), required=True)
    rules = ma.fields.List(ma.fields.Nested(RuleSchema), required=True)
    held = ma.fields.List(ma.fields.String(), required=True)


class AskSchema(ma.Schema):
    """On which basis a record's content should go, where that is written, and why."""

    basis = ma.fields.String(required=True, validate=ma.validate.OneOf(BASES))
    citation = words(required=True, at_most=400)
    reason = words(required=True, at_most=1000)
    override = ma.fields.String(
        allow_none=True, load_default=None, validate=ma.validate.Length(max=1000)
    )


class DecideSchema(ma.Schema):
    """Whether it is to go; why not, where not."""

    decision = ma.fields.String(required=True, validate=ma.validate.OneOf([ERASE, DECLINE]))
    reason = ma.fields.String(
        allow_none=True, load_default=None, validate=ma.validate.Length(max=1000)
    )


class ErasureDoneSchema(ma.Schema):
    """The event that says so, and where it stands in the log."""

    event_id = ma.fields.String(required=True)
    position = ma.fields.Integer(required=True)


def _doing(connection) -> Doing:
    house, who = context(), auth.caller()
    return Doing(
        connection=connection,
        clock=house.clock,
        server_key=house.server_key,
        projectors=house.projectors,
        random=house.random,
        location_id=who.location_id,
        actor_id=who.person_id,
    )


def _told(connection, location_id: str, document: dict) -> dict:
    """Return an erasure with the reasons, which stand in the log only."""

    def reason(part: dict | None, *names: str) -> dict | None:
        if part is None:
            return None
        entry = readers.entry_by_event(connection, location_id, part["event_id"]) or {}
        said = entry.get("payload") or {}
        return {**part, **{name: said.get(name) for name in names}}

    work = jobs.of_record(connection, location_id, document["record_id"])
    return {
        "record_id": document["record_id"],
        "status": document["status"],
        "asked": reason(document["asked"], "reason", "override"),
        "declined": reason(document["declined"], "reason"),
        "erased": document["erased"],
        "entries": len(document["event_ids"]),
        "photographs": len(document["photographs"]),
        "rewritten": document["erased"] is not None
        and all(one["state"] == jobs.DONE for one in work if one["kind"] == erasure.PURGE),
    }


@blueprint.route("/erasures", methods=["GET"])
@blueprint.response(200, ErasuresSchema)
@auth.rule(auth.desk("retention.read"))
def get_erasures():
    """List what was erased or is to be, with the rules; nothing of it is a patient's data."""
    location_id = auth.caller().location_id
    with read(context().engine) as connection:
        rules = documents.get(connection, location_id, erasure.RULES, location_id) or {}
        held = documents.list(connection, location_id, erasure.HOLD)
        return {
            "erasures": [
                _told(connection, location_id, one)
                for one in documents.list(connection, location_id, erased.KIND)
            ],
            "rules": rules.get("rules") or [],
            "held": [one["record_id"] for one in held if one["held"]],
        }


@blueprint.route("/records/<record_id>/erasure", methods=["GET"])
@blueprint.response(200, LookSchema)
@auth.rule(auth.desk("retention.read"))
def get_erasure(record_id):
    """Look at what there is to lose of a record, and what stands for and against erasing it."""
    with write(context().engine) as connection:
        doing = _doing(connection)
        seen = erasing.look_at(connection, doing.location_id, record_id, erasing.today_at(doing))
        service.note(**_noted(who_reads(connection)), record_id=record_id, action="read")
        if seen["erasure"] is not None:
            seen["erasure"] = _told(connection, doing.location_id, seen["erasure"])
    start = standing.counts_from(context().engine, **_whose())
    waits = start is not None and context().clock.now() < start
    return {**seen, "counts_from": rfc3339(start) if waits else None}


def _whose() -> dict:
    who = auth.caller()
    return {"location_id": who.location_id, "person_id": who.person_id, "right": RIGHT}


def _must_count() -> None:
    """Refuse whoever may have been made the second person for this: see ``people.standing``."""
    house = context()
    standing.must_count(house.engine, now=house.clock.now(), **_whose())


def _noted(who: dict) -> dict:
    return {**who, "detail": {"erasure": True}}


@blueprint.route("/records/<record_id>/erasure", methods=["POST"])
@blueprint.arguments(AskSchema)
@blueprint.response(201, ErasureDoneSchema)
@auth.rule(auth.desk(RIGHT))
def post_erasure(body, record_id):
    """Ask that the content of a record go; another person decides."""
    for name in ("citation", "reason"):
        if not body[name].strip():
            raise BadInput(f"{name}_missing", "Please say it.", field=name)
    override = (body["override"] or "").strip() or None
    _must_count()
    return again(
        context().engine,
        lambda connection: erasing.ask(
            _doing(connection),
            record_id=record_id,
            basis=body["basis"],
            citation=body["citation"].strip(),
            reason=body["reason"].strip(),
            override=override,
        ),
    )


@blueprint.route("/records/<record_id>/erasure/decision", methods=["POST"])
@blueprint.arguments(DecideSchema)
@blueprint.response(200, ErasureDoneSchema)
@auth.rule(auth.desk(RIGHT))
def post_decision(body, record_id):
    """Let the content of a record go, as somebody else asked; or say why it is not to."""
    if body["decision"] == ERASE:
        _must_count()
        house = context()
        done = again(
            house.engine,
            lambda connection: erasing.confirm(_doing(connection), record_id=record_id),
        )
        # It is erased; where this list cannot be written now, the next backup writes it.
        keeping.keep(house.settings, house.engine, house.server_key)
        return done
    reason = (body["reason"] or "").strip()
    if not reason:
        raise BadInput("reason_missing", "Please say why.", field="reason")
    return again(
        context().engine,
        lambda connection: erasing.decline(_doing(connection), record_id=record_id, reason=reason),
    )
