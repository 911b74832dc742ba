"""Payloads of one procedure: from the first tap to the paper in the chart."""

from api.events import shapes
from api.events.house_payloads import COOLANT, FOCUS, SPOT_KNOWN

ANSWERS = ("yes", "no", "not applicable")
ANSWERED_KINDS = ("before_patient", "pause", "after_use")
HANDED_OVER_ROLES = ("operator", "assistant", "recorder")
ON_TIME_SOURCES = ("timer", "device counter", "tone", "estimate")


class Patient(shapes.Payload):
    chart_number = shapes.text(longest=64)
    second_identifier = shapes.text(longest=64)


class ProcedureNamed(shapes.Payload):
    procedure_kind_id = shapes.ident(optional=True)
    text = shapes.text()
    code = shapes.text(optional=True)


class DeviceUsed(shapes.Payload):
    device_id = shapes.ident()
    label = shapes.text()
    maker = shapes.text(optional=True)
    model = shapes.text(optional=True)
    serial = shapes.text(optional=True)
    wavelength = shapes.quantity()
    delivery_part = shapes.text(optional=True)


class HandpieceUsed(shapes.Payload):
    handpiece_id = shapes.ident()
    label = shapes.text()
    kind = shapes.text(optional=True)
    use_count = shapes.whole(optional=True)
    # Which laser the house's register gives it to, where the writer knew.
    device_id = shapes.ident(optional=True)


class VerificationUsed(shapes.Payload):
    verification_id = shapes.ident()
    event_id = shapes.ident()
    ratio = shapes.decimal()
    ratio_uncertainty = shapes.decimal(optional=True)
    verified_at = shapes.moment()
    mode = shapes.text(optional=True)
    handpiece_id = shapes.ident(optional=True)
    verdict = shapes.one_of("ok", "warn", "fail")


class Consent(shapes.Payload):
    by = shapes.text()
    at = shapes.moment()


class ProcedureOpened(shapes.Payload):
    patient = shapes.part(Patient)
    procedure = shapes.part(ProcedureNamed)
    site = shapes.text()
    indication = shapes.text(longest=shapes.LONGEST_NOTE)
    why_laser = shapes.text(optional=True, longest=shapes.LONGEST_NOTE)
    operator_id = shapes.ident()
    supervising_id = shapes.ident(optional=True)
    assistant_ids = shapes.many(shapes.ident())
    others_present = shapes.text(optional=True)
    room = shapes.text(optional=True)
    device = shapes.part(DeviceUsed)
    handpiece = shapes.part(HandpieceUsed)
    verification = shapes.part(VerificationUsed, optional=True)
    consent = shapes.part(Consent, optional=True)
    anaesthesia = shapes.text(optional=True, longest=shapes.LONGEST_NOTE)
    alerts_reviewed = shapes.yes_or_no()
    started_at = shapes.moment()


class Answer(shapes.Payload):
    item_id = shapes.ident()
    text = shapes.text()
    answer = shapes.one_of(*ANSWERS)
    note = shapes.text(optional=True, longest=shapes.LONGEST_NOTE)
    answered_at = shapes.moment()
    by = shapes.ident(optional=True)


class TimeoutAnswered(shapes.Payload):
    list_id = shapes.ident()
    list_version = shapes.whole(least=1)
    title = shapes.text()
    answers = shapes.many(Answer, least=1)
    led_by = shapes.ident()


class ListAnswered(TimeoutAnswered):
    kind = shapes.one_of(*ANSWERED_KINDS)
    # By value from the list: how long after the end it might be answered [s].
    within_s = shapes.whole(optional=True, least=60)


class PresetUsed(shapes.Payload):
    preset_id = shapes.ident()
    version = shapes.whole(least=1)
    name = shapes.text()
    # The publication the values were copied from: of two with one number, which one it was.
    event_id = shapes.ident(optional=True)


class PassStarted(shapes.Payload):
    pass_id = shapes.ident()
    number = shapes.whole(least=1)
    settings = shapes.tree()
    verification_event_id = shapes.ident(optional=True)
    preset = shapes.part(PresetUsed, optional=True)
    changed_from_preset = shapes.yes_or_no()
    spot_known = shapes.one_of(*SPOT_KNOWN)
    focus = shapes.one_of(*FOCUS)
    coolant = shapes.one_of(*COOLANT)
    distance = shapes.quantity(optional=True)
    dose = shapes.tree(optional=True)
    # Of this pass alone; left out where the record's own hold.
    handpiece = shapes.part(HandpieceUsed, optional=True)
    verification = shapes.part(VerificationUsed, optional=True)


class LaserEmitted(shapes.Payload):
    pass_id = shapes.ident()
    laser_on_time = shapes.seconds()
    source = shapes.one_of(*ON_TIME_SOURCES)
    pulses = shapes.whole(optional=True)


class ProcedureNoted(shapes.Payload):
    text = shapes.text(longest=shapes.LONGEST_NOTE)


class ProcedurePaused(shapes.Payload):
    reason = shapes.text(optional=True, longest=shapes.LONGEST_NOTE)


class ProcedureResumed(shapes.Payload):
    """That it went on is all there is to say."""


class ProcedureHandedOver(shapes.Payload):
    from_id = shapes.ident()
    to_id = shapes.ident()
    role = shapes.one_of(*HANDED_OVER_ROLES)
    note = shapes.text(optional=True, longest=shapes.LONGEST_NOTE)


class OperatorFinding(shapes.Payload):
    code = shapes.ident()
    kind = shapes.ident(optional=True)
    expires_on = shapes.day(optional=True)


class OperatorAccepted(shapes.Payload):
    """It went on with this operator although something stood against them, and why."""

    operator_id = shapes.ident()
    findings = shapes.many(OperatorFinding, least=1, most=20)
    reason = shapes.text(longest=shapes.LONGEST_NOTE)


class EyewearWorn(shapes.Payload):
    label = shapes.text()
    # As marked on it: often a range, and not always in one unit.
    wavelength = shapes.text(optional=True, longest=64)
    optical_density = shapes.decimal(optional=True)
    wearer = shapes.text()
    # Which piece of the register it was, where it was chosen from there or its label was read.
    eyewear_id = shapes.ident(optional=True)


class ProtectionNoted(shapes.Payload):
    heads = shapes.whole()
    eyewear = shapes.many(EyewearWorn)
    evacuator = shapes.text(optional=True)
    masks = shapes.text(optional=True)
    deviations = shapes.text(optional=True, longest=shapes.LONGEST_NOTE)


class AttachmentAdded(shapes.Payload):
    attachment_id = shapes.ident()
    kind = shapes.one_of("photograph")
    sha256 = shapes.sha256_hex()
    media_type = shapes.one_of("image/jpeg")
    size_bytes = shapes.whole(least=1)
    width_px = shapes.whole(least=1)
    height_px = shapes.whole(least=1)
    caption = shapes.text(optional=True)
    taken_at = shapes.moment()


class Outcome(shapes.Payload):
    haemostasis = shapes.text(optional=True, longest=shapes.LONGEST_NOTE)
    specimens = shapes.text(optional=True, longest=shapes.LONGEST_NOTE)
    sutures = shapes.text(optional=True, longest=shapes.LONGEST_NOTE)
    complications = shapes.text(optional=True, longest=shapes.LONGEST_NOTE)
    instructions = shapes.text(optional=True, longest=shapes.LONGEST_NOTE)


class ProcedureEnded(shapes.Payload):
    outcome = shapes.part(Outcome)
    ended_at = shapes.moment()


class EntryWithdrawn(shapes.Payload):
    reason = shapes.text(longest=shapes.LONGEST_NOTE)


class RecordSigned(shapes.Payload):
    signer_id = shapes.ident()
    role = shapes.text(longest=64)
    content_hash = shapes.sha256_hex()
    statement = shapes.text(longest=shapes.LONGEST_NOTE)


class RecordAddended(shapes.Payload):
    text = shapes.text(longest=shapes.LONGEST_NOTE)
    reason = shapes.text(longest=shapes.LONGEST_NOTE)


class RecordPlacedInChart(shapes.Payload):
    how = shapes.one_of("pdf", "text", "other")
    note = shapes.text(optional=True, longest=shapes.LONGEST_NOTE)
    # Which version of the record was put there, where the writer knew.
    version = shapes.whole(optional=True, least=1)


class RecordRemovedFromChart(shapes.Payload):
    # The move or the voiding for which the paper had to go.
    because = shapes.ident()
    note = shapes.text(optional=True, longest=shapes.LONGEST_NOTE)


class _Reattributed(shapes.Payload):
    to = shapes.part(Patient)
    reason = shapes.text(longest=shapes.LONGEST_NOTE)


# "from" is a word of the language and cannot be a name in a class.
RecordReattributed = _Reattributed.from_dict(
    {"from": shapes.part(Patient)}, name="RecordReattributed"
)


class RecordVoided(shapes.Payload):
    reason = shapes.text(longest=shapes.LONGEST_NOTE)
