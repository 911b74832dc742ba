"""The catalogue: every type of event there is, what it is about, and how its payload looks.

A new required field without an honest old value is a new type, never a change of an old one.
"""

from dataclasses import dataclass

from marshmallow import Schema, fields

from api.events import check_payloads as checks
from api.events import house_payloads as house
from api.events import offer_payloads as offer
from api.events import optic_payloads as optic
from api.events import procedure_payloads as procedure
from api.events import register_payloads as registers
from api.events import retention_payloads as retention
from api.events import service_payloads as service
from api.events import upkeep_payloads as upkeep
from api.events.fits import Fits, compiled

EVENT_VERSION = 1

HOUSE = "house"
PROCEDURE = "procedure"


@dataclass(frozen=True, kw_only=True)
class EventType:
    """One type of event.

    ``subject`` says what entity_id names. ``group`` is ``house`` or ``procedure``. A type with
    ``versioned`` carries the version it builds on; if another came first, it is a conflict.
    ``needs_corrects`` types must name the event they are about. ``fits`` says of a payload whether
    ``schema`` would find nothing wrong, and says it sooner.
    """

    name: str
    subject: str
    group: str
    schema: Schema
    fits: Fits
    versioned: bool = False
    needs_corrects: bool = False


def _type(name: str, subject: str, group: str, schema: type[Schema], **more: bool) -> EventType:
    made = schema()
    fits = compiled(made)
    return EventType(name=name, subject=subject, group=group, schema=made, fits=fits, **more)


_TYPES = (
    _type("location.opened", "location", HOUSE, house.LocationOpened),
    _type("location.offline_limit_set", "location", HOUSE, house.OfflineLimitSet),
    _type("log.restored", "location", HOUSE, house.LogRestored),
    _type("person.registered", "person", HOUSE, house.PersonRegistered),
    _type("person.left", "person", HOUSE, house.PersonLeft),
    _type("credential.noted", "person", HOUSE, house.CredentialNoted),
    _type("credential.withdrawn", "person", HOUSE, house.CredentialWithdrawn),
    _type("scope.decided", "person", HOUSE, house.ScopeDecided),
    _type("emergency.opened", "emergency", HOUSE, house.EmergencyOpened),
    _type("emergency.acknowledged", "emergency", HOUSE, house.EmergencyAcknowledged),
    _type("tablet.enrolled", "tablet", HOUSE, house.TabletEnrolled),
    _type("tablet.renamed", "tablet", HOUSE, house.TabletRenamed),
    _type("tablet.revoked", "tablet", HOUSE, house.TabletRevoked),
    _type("aside.released", "aside", HOUSE, house.AsideReleased),
    _type("aside.rejected", "aside", HOUSE, house.AsideRejected),
    _type("witness.alarmed", "witness_alarm", HOUSE, house.WitnessAlarmed),
    _type("witness.answered", "witness_alarm", HOUSE, house.WitnessAnswered),
    _type("retention.ruled", "retention", HOUSE, retention.RetentionRuled),
    _type("retention.held", "retention_hold", HOUSE, retention.RetentionHeld),
    _type("retention.hold_ended", "retention_hold", HOUSE, retention.RetentionHoldEnded),
    _type("erasure.asked", "erasure", HOUSE, retention.ErasureAsked),
    _type("erasure.declined", "erasure", HOUSE, retention.ErasureDeclined),
    _type("retention.erased", "erasure", HOUSE, retention.RetentionErased),
    _type("device.registered", "device", HOUSE, house.DeviceRegistered),
    _type("handpiece.registered", "handpiece", HOUSE, house.HandpieceRegistered),
    _type("device.retired", "device", HOUSE, registers.Retired),
    _type("handpiece.retired", "handpiece", HOUSE, registers.Retired),
    _type("eyewear.registered", "eyewear", HOUSE, registers.EyewearRegistered),
    _type("eyewear.inspected", "eyewear", HOUSE, registers.EyewearInspected),
    _type("eyewear.retired", "eyewear", HOUSE, registers.Retired),
    _type("key.registered", "key", HOUSE, registers.KeyRegistered),
    _type("key.moved", "key", HOUSE, registers.KeyMoved),
    _type("key.retired", "key", HOUSE, registers.Retired),
    _type("meter.registered", "meter", HOUSE, registers.MeterRegistered),
    _type("meter.calibrated", "meter", HOUSE, registers.MeterCalibrated),
    _type("meter.retired", "meter", HOUSE, registers.Retired),
    _type("inventory.taken", "inventory", HOUSE, registers.InventoryTaken),
    _type("due_rule.set", "due_rule", HOUSE, registers.DueRuleSet),
    _type("maintenance.recorded", "maintenance", HOUSE, upkeep.MaintenanceRecorded),
    _type("maintenance.withdrawn", "maintenance", HOUSE, upkeep.MaintenanceWithdrawn),
    _type("incident.recorded", "incident", HOUSE, upkeep.IncidentRecorded),
    _type("incident.assessed", "incident", HOUSE, upkeep.IncidentAssessed),
    _type("incident.action_set", "incident", HOUSE, upkeep.IncidentActionSet),
    _type("incident.closed", "incident", HOUSE, upkeep.IncidentClosed),
    _type("incident.reopened", "incident", HOUSE, upkeep.IncidentReopened),
    _type("procedure_kind.listed", "procedure_kind", HOUSE, house.ProcedureKindListed),
    _type("list.published", "list", HOUSE, house.ListPublished, versioned=True),
    _type("list.set_aside", "list", HOUSE, house.ListSetAside, needs_corrects=True),
    _type("list.acknowledged", "list", HOUSE, house.ListAcknowledged),
    _type("preset.published", "preset", HOUSE, house.PresetPublished, versioned=True),
    _type("preset.withdrawn", "preset", HOUSE, house.PresetWithdrawn),
    _type("rollout.made", "rollout", HOUSE, offer.RolloutMade),
    _type("list.offered", "offer", HOUSE, offer.Offered),
    _type("list.offer_declined", "offer", HOUSE, offer.OfferDeclined),
    _type("preset.offered", "offer", HOUSE, offer.Offered),
    _type("preset.offer_declined", "offer", HOUSE, offer.OfferDeclined),
    _type("verification.recorded", "verification", HOUSE, house.VerificationRecorded),
    _type("device.checked", "device_check", HOUSE, checks.DeviceChecked),
    _type("optic.cleaned", "cleaning", HOUSE, optic.OpticCleaned),
    _type("test_cut.referenced", "test_cut_reference", HOUSE, optic.CutReferenced),
    _type("test_cut.recorded", "test_cut", HOUSE, optic.CutRecorded),
    _type("device.taken_out", "device", HOUSE, service.DeviceTakenOut),
    _type("device.key_held", "device", HOUSE, service.DeviceKeyHeld),
    _type("device.release_asked", "device", HOUSE, service.DeviceReleaseAsked),
    _type("device.released", "device", HOUSE, service.DeviceReleased),
    _type("room.drawn", "room", HOUSE, house.RoomDrawn),
    _type("zone.decided", "room", HOUSE, house.ZoneDecided),
    _type("procedure.opened", "record", PROCEDURE, procedure.ProcedureOpened),
    _type("timeout.answered", "record", PROCEDURE, procedure.TimeoutAnswered),
    _type("list.answered", "record", PROCEDURE, procedure.ListAnswered),
    _type("operator.accepted", "record", PROCEDURE, procedure.OperatorAccepted),
    _type("service.overridden", "record", PROCEDURE, service.ServiceOverridden),
    _type("protection.noted", "record", PROCEDURE, procedure.ProtectionNoted),
    _type("pass.started", "record", PROCEDURE, procedure.PassStarted),
    _type("laser.emitted", "record", PROCEDURE, procedure.LaserEmitted),
    _type("procedure.noted", "record", PROCEDURE, procedure.ProcedureNoted),
    _type("procedure.paused", "record", PROCEDURE, procedure.ProcedurePaused),
    _type("procedure.resumed", "record", PROCEDURE, procedure.ProcedureResumed),
    _type("procedure.handed_over", "record", PROCEDURE, procedure.ProcedureHandedOver),
    _type("attachment.added", "record", PROCEDURE, procedure.AttachmentAdded),
    _type("procedure.ended", "record", PROCEDURE, procedure.ProcedureEnded),
    _type("entry.withdrawn", "record", PROCEDURE, procedure.EntryWithdrawn, needs_corrects=True),
    _type("record.signed", "record", PROCEDURE, procedure.RecordSigned),
    _type("record.addended", "record", PROCEDURE, procedure.RecordAddended),
    _type("record.placed_in_chart", "record", PROCEDURE, procedure.RecordPlacedInChart),
    _type("record.reattributed", "record", PROCEDURE, procedure.RecordReattributed),
    _type("record.removed_from_chart", "record", PROCEDURE, procedure.RecordRemovedFromChart),
    _type("record.voided", "record", PROCEDURE, procedure.RecordVoided),
)

EVENT_TYPES: dict[str, EventType] = {each.name: each for each in _TYPES}


def payload_problems(type_name: str, payload: object) -> dict[str, list[str]]:
    """Return what is wrong with a payload, by field path; empty when it fits its type."""
    if not isinstance(payload, dict):
        return {"payload": ["Must be an object."]}
    event_type = EVENT_TYPES[type_name]
    found: dict[str, list[str]] = {}
    if not event_type.fits(payload):
        _flatten(event_type.schema.validate(payload), "", found)
    return found


def declared(type_name: str, payload: dict) -> dict:
    """Return of a payload what its type declares, also inside of its parts.

    The log keeps what was said as it was said. What is derived from it holds only what somebody
    has thought about: a field that this version does not know could pass for one of its own.
    """
    return _declared(EVENT_TYPES[type_name].schema, payload)


def _declared(field: Schema | fields.Field, value: object) -> object:
    if value is None:
        return None
    if isinstance(field, fields.Nested):
        return _declared(field.schema, value)
    if isinstance(field, fields.List):
        return [_declared(field.inner, each) for each in value]
    if isinstance(field, Schema):
        return {
            name: _declared(inner, value[name])
            for name, inner in field.fields.items()
            if name in value
        }
    return value


def _flatten(errors: object, path: str, found: dict[str, list[str]]) -> None:
    if isinstance(errors, dict):
        for key, inner in errors.items():
            _flatten(inner, f"{path}.{key}" if path else str(key), found)
    elif isinstance(errors, list):
        found.setdefault(path or "payload", []).extend(str(each) for each in errors)
    else:
        found.setdefault(path or "payload", []).append(str(errors))
