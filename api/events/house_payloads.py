"""Payloads of the house's registers: who and what there is, and what was checked."""

from marshmallow import fields

from api.events import shapes

FOCUS = ("focused", "defocused")
COOLANT = ("none", "air", "water")
SPOT_KNOWN = ("label", "measured", "estimated")
DELIVERY_PARTS = ("articulated arm", "hollow waveguide")
HANDPIECE_KINDS = ("focusing handpiece", "waveguide tip")


class Room(shapes.Payload):
    room_id = shapes.ident()
    name = shapes.text()


class LocationOpened(shapes.Payload):
    name = shapes.text()
    practice_name = shapes.text()
    zone = shapes.text(longest=64)
    rooms = shapes.many(Room)


class OfflineLimitSet(shapes.Payload):
    # The tablet holds itself to the same bounds (pwa/src/store/identity.ts).
    offline_days = shapes.whole(least=1, most=30)


class LogRestored(shapes.Payload):
    """The log goes on from a backup: which epoch ended with it, where, and who decided why."""

    old_epoch = shapes.ident()
    position = shapes.whole(least=0)
    link = shapes.sha256_hex()
    backup_id = shapes.ident()
    backup_made_at = shapes.moment()
    who = shapes.text()
    why = shapes.text(longest=shapes.LONGEST_NOTE)


class PersonRegistered(shapes.Payload):
    display_name = shapes.text()
    initials = shapes.text(longest=8)
    roles = shapes.many(shapes.ident())
    credential = shapes.text(optional=True)
    licence_expires = shapes.day(optional=True)
    # The last day on which the role of auditor counts; without one it does not count at all.
    auditor_until = shapes.day(optional=True)


class PersonLeft(shapes.Payload):
    reason = shapes.text(optional=True, longest=shapes.LONGEST_NOTE)


CREDENTIAL_KINDS = ("licence", "course", "hands_on", "device_training")


class CredentialNoted(shapes.Payload):
    """A proof of what a person may or can do; noted again under its id, it replaces itself."""

    credential_id = shapes.ident()
    kind = shapes.one_of(*CREDENTIAL_KINDS)
    text = shapes.text()
    # Of training on one laser: which one.
    device_id = shapes.ident(optional=True)
    hours = shapes.decimal(optional=True)
    issued_on = shapes.day(optional=True)
    # Good through this day; without one it does not end.
    expires_on = shapes.day(optional=True)


class CredentialWithdrawn(shapes.Payload):
    credential_id = shapes.ident()
    reason = shapes.text(longest=shapes.LONGEST_NOTE)


class ScopeDecided(shapes.Payload):
    """What an operator may do here: null means every laser, every kind of procedure."""

    device_ids = shapes.many(shapes.ident(), optional=True)
    procedure_kind_ids = shapes.many(shapes.ident(), optional=True)
    # Which credentials it takes; where nothing is said, a licence.
    needs = shapes.many(shapes.one_of(*CREDENTIAL_KINDS), optional=True)
    note = shapes.text(optional=True, longest=shapes.LONGEST_NOTE)


class EmergencyOpened(shapes.Payload):
    """Patients' records were opened to somebody whose role does not: which rights, until when.

    Whoever has no role at this location is known here by nothing but what is said with it: their
    name, their initials, and the location where they work.
    """

    person_id = shapes.ident()
    display_name = shapes.text(optional=True)
    initials = shapes.text(optional=True, longest=8)
    works_at = shapes.text(optional=True)
    rights = shapes.many(shapes.ident(), least=1, most=10)
    reason = shapes.text(longest=shapes.LONGEST_NOTE)
    until = shapes.moment()


class EmergencyAcknowledged(shapes.Payload):
    """Somebody who answers for the practice has seen it; that is all there is to say."""


class TabletEnrolled(shapes.Payload):
    label = shapes.text()
    # The enrolment from which this one goes on, and the number its own events begin with.
    replaces = shapes.ident(optional=True)
    first_seq = shapes.whole(optional=True, least=1)


class TabletRenamed(shapes.Payload):
    label = shapes.text()


class TabletRevoked(shapes.Payload):
    reason = shapes.text(longest=shapes.LONGEST_NOTE)


class AsideReleased(shapes.Payload):
    """What was put aside counts from now on, at the place in the log where it stands."""

    event_id = shapes.ident()
    # What its verdict would have been but for what stood against it; nobody judges again.
    verdict = shapes.one_of("applied", "conflict")
    reason = shapes.text(longest=shapes.LONGEST_NOTE)


class AsideRejected(shapes.Payload):
    """What was put aside stays aside; nothing of it is discarded."""

    # As it came: what is put aside may have an id of any form.
    event_id = shapes.text(longest=64)
    reason = shapes.text(longest=shapes.LONGEST_NOTE)


class WitnessAlarmed(shapes.Payload):
    """A tablet's own reckoning of the log is not the server's: where, what it had, what it got."""

    tablet_id = shapes.ident()
    position = shapes.whole()
    expected = shapes.text()
    found = shapes.text()


class WitnessAnswered(shapes.Payload):
    """Somebody has looked into an alarm, and says what it was."""

    found_out = shapes.text(longest=shapes.LONGEST_NOTE)


class DeviceBeam(shapes.Payload):
    """The beam where it leaves the laser, and how each value of it is known."""

    diameter = shapes.quantity(optional=True)
    diameter_known = shapes.one_of(*SPOT_KNOWN, optional=True)
    full_divergence = shapes.quantity(optional=True)
    full_divergence_known = shapes.one_of(*SPOT_KNOWN, optional=True)
    beam_quality_m2 = shapes.decimal(optional=True)
    beam_quality_m2_known = shapes.one_of(*SPOT_KNOWN, optional=True)


class DeviceRegistered(shapes.Payload):
    label = shapes.text()
    maker = shapes.text()
    model = shapes.text()
    serial = shapes.text()
    wavelength = shapes.quantity()
    laser_class = shapes.text(longest=8)
    delivery_part = shapes.one_of(*DELIVERY_PARTS)
    modes = shapes.many(shapes.text(longest=64))
    limits = shapes.tree(optional=True)
    room_id = shapes.ident(optional=True)
    beam = shapes.part(DeviceBeam, optional=True)


class HandpieceOptics(shapes.Payload):
    """What is known of lens, waist or bore, by the names of a dose request."""

    focal_length = shapes.quantity(optional=True)
    beam_diameter_at_lens = shapes.quantity(optional=True)
    beam_quality_m2 = shapes.decimal(optional=True)
    waist_diameter = shapes.quantity(optional=True)
    bore_diameter = shapes.quantity(optional=True)
    full_divergence = shapes.quantity(optional=True)


class HandpieceOpticsKnown(shapes.Payload):
    """How each value of the optics is known, by the same names."""

    focal_length = shapes.one_of(*SPOT_KNOWN, optional=True)
    beam_diameter_at_lens = shapes.one_of(*SPOT_KNOWN, optional=True)
    beam_quality_m2 = shapes.one_of(*SPOT_KNOWN, optional=True)
    waist_diameter = shapes.one_of(*SPOT_KNOWN, optional=True)
    bore_diameter = shapes.one_of(*SPOT_KNOWN, optional=True)
    full_divergence = shapes.one_of(*SPOT_KNOWN, optional=True)


class HandpieceRegistered(shapes.Payload):
    device_id = shapes.ident()
    label = shapes.text()
    kind = shapes.one_of(*HANDPIECE_KINDS)
    spot_diameter = shapes.quantity()
    diameter_definition = shapes.text(longest=16)
    spot_known = shapes.one_of(*SPOT_KNOWN)
    working_distance = shapes.quantity(optional=True)
    use_limit = shapes.whole(optional=True, least=1)
    optics = shapes.part(HandpieceOptics, optional=True)
    optics_known = shapes.part(HandpieceOpticsKnown, optional=True)


class ProcedureKindListed(shapes.Payload):
    text = shapes.text()
    code = shapes.text(optional=True)
    notes = shapes.text(optional=True, longest=shapes.LONGEST_NOTE)
    cautions = shapes.text(optional=True, longest=shapes.LONGEST_NOTE)
    retired = shapes.yes_or_no(optional=True)
    # Procedures of the published cases that the practice wants to see beside this kind.
    reported = shapes.many(shapes.text(), most=50, optional=True)


class ListItem(shapes.Payload):
    item_id = shapes.ident()
    text = shapes.text()
    group = shapes.text(optional=True)
    why = shapes.text(optional=True, longest=shapes.LONGEST_NOTE)
    # Whether "not applicable" may be answered; "plain" where nothing is said.
    not_applicable = shapes.one_of("plain", "reason", "never", optional=True)
    # What stands beside it: a picture, or what is known of today's check of the laser.
    beside = shapes.one_of("aiming_beam", "test_exposure", "nozzle", "todays_check", optional=True)


class ListPublished(shapes.Payload):
    kind = shapes.text(longest=64)
    version = shapes.whole(least=1)
    title = shapes.text()
    items = shapes.many(ListItem, least=1)
    effective_from = shapes.day(optional=True)
    needs_acknowledgement = shapes.yes_or_no(optional=True)
    # How long after the end of a procedure a list of after use may be answered [s].
    within_s = shapes.whole(optional=True, least=60)
    # The event of the draft that this version was made of.
    from_draft = shapes.ident(optional=True)
    # What a group offered, of which this version was made.
    from_offer = shapes.ident(optional=True)


class ListSetAside(shapes.Payload):
    reason = shapes.text(longest=shapes.LONGEST_NOTE)


class ListAcknowledged(shapes.Payload):
    version = shapes.whole(least=1)


class PresetPublished(shapes.Payload):
    version = shapes.whole(least=1)
    name = shapes.text()
    procedure_kind_id = shapes.ident(optional=True)
    device_id = shapes.ident()
    handpiece_id = shapes.ident()
    settings = shapes.tree()
    spot_known = shapes.one_of(*SPOT_KNOWN)
    focus = shapes.one_of(*FOCUS)
    coolant = shapes.one_of(*COOLANT)
    note = shapes.text(optional=True, longest=shapes.LONGEST_NOTE)
    reviewed_by = shapes.ident()
    # The event id of the draft whose content this is, published again on the current version.
    from_draft = shapes.ident(optional=True)
    # What a group offered, of which this version was made.
    from_offer = shapes.ident(optional=True)


class PresetWithdrawn(shapes.Payload):
    reason = shapes.text(longest=shapes.LONGEST_NOTE)


class Meter(shapes.Payload):
    label = shapes.text()
    serial = shapes.text()
    calibrated_on = shapes.day()


class Reading(shapes.Payload):
    settings = shapes.tree()
    expected_average_power = shapes.quantity()
    measured = shapes.many(shapes.quantity(), least=1, most=50)


class VerificationRecorded(shapes.Payload):
    device_id = shapes.ident()
    handpiece_id = shapes.ident()
    mode = shapes.text(longest=64)
    meter = fields.Nested(Meter, required=True)
    readings = shapes.many(Reading, least=1, most=50)
    ratio = shapes.decimal()
    ratio_uncertainty = shapes.decimal()
    meter_uncertainty = shapes.decimal()
    verdict = shapes.one_of("ok", "warn", "fail")
    rule = shapes.text()
    note = shapes.text(optional=True, longest=shapes.LONGEST_NOTE)


class Point(shapes.Payload):
    """A place in a room's plan, from its corner of reference."""

    x_mm = shapes.whole()
    y_mm = shapes.whole()


class WallOpening(shapes.Payload):
    kind = shapes.one_of("door", "window")
    # The wall that begins at this corner, counted from 0.
    wall = shapes.whole()
    from_mm = shapes.whole()
    width_mm = shapes.whole(least=1)


class Chair(shapes.Payload):
    x_mm = shapes.whole()
    y_mm = shapes.whole()
    turn_deg = shapes.whole()


class RoomDrawn(shapes.Payload):
    name = shapes.text()
    corners = shapes.many(Point, least=3, most=40)
    openings = shapes.many(WallOpening, most=40)
    chairs = shapes.many(Chair, most=20)
    # Where the beam is used: the mouth of whoever lies in the chair.
    source = shapes.part(Point)


class SmallerZone(shapes.Payload):
    distance = shapes.quantity()
    reason = shapes.text(longest=shapes.LONGEST_NOTE)


class ZoneDecided(shapes.Payload):
    device_id = shapes.ident()
    handpiece_id = shapes.ident(optional=True)
    # The hazard request and what came of it, by value, so that the decision can be read alone.
    request = shapes.tree()
    edition = shapes.text(longest=64)
    results = shapes.tree()
    everybody = shapes.yes_or_no()
    smaller = shapes.part(SmallerZone, optional=True)
