"""Payloads of the registers beside lasers and handpieces: eyewear, keys, meters, the inventory."""

from api.events import paper_payloads, shapes

DIRECTIONS = ("out", "in")
OUTCOMES = ("passed", "failed")
# What may be counted in an inventory.
COUNTED = ("device", "handpiece", "eyewear", "meter", "key")


class Retired(shapes.Payload):
    """It is not used here any more, and why; what was said of it stays in the log."""

    reason = shapes.text(longest=shapes.LONGEST_NOTE)


class EyewearRegistered(shapes.Payload):
    """One piece of eyewear, as the marking on it says; registered again, it replaces itself."""

    label = shapes.text(longest=80)
    shortest_wavelength = shapes.quantity()
    longest_wavelength = shapes.quantity()
    optical_density = shapes.decimal()
    # The marking letter by letter, where it says more than range and density.
    marking = shapes.text(optional=True)
    room_id = shapes.ident(optional=True)
    note = shapes.text(optional=True, longest=shapes.LONGEST_NOTE)


class EyewearInspected(shapes.Payload):
    outcome = shapes.one_of(*OUTCOMES)
    note = shapes.text(optional=True, longest=shapes.LONGEST_NOTE)


class KeyRegistered(shapes.Payload):
    label = shapes.text(longest=80)
    device_id = shapes.ident()
    kept_at = shapes.text()


class KeyMoved(shapes.Payload):
    """A key was taken out or brought back; whoever is not of the practice is named in words."""

    direction = shapes.one_of(*DIRECTIONS)
    holder_id = shapes.ident(optional=True)
    holder = shapes.text(optional=True)
    note = shapes.text(optional=True, longest=shapes.LONGEST_NOTE)


class MeterCalibrated(shapes.Payload):
    calibrated_on = shapes.day()
    # As its certificate says; without it the practice's rule counts from the calibration.
    due_on = shapes.day(optional=True)
    # Relative, with coverage factor 2 [1].
    uncertainty = shapes.decimal(optional=True)
    certificate = shapes.text(optional=True)
    certificates = paper_payloads.certificates()


class MeterRegistered(MeterCalibrated):
    label = shapes.text()
    serial = shapes.text()


class Counted(shapes.Payload):
    """One thing of the inventory, by value: where it is kept, in which state, and if seen."""

    kind = shapes.one_of(*COUNTED)
    subject_id = shapes.ident()
    label = shapes.text()
    where = shapes.text(optional=True)
    state = shapes.text(optional=True)
    seen = shapes.yes_or_no()


class InventoryTaken(shapes.Payload):
    seen_on = shapes.day()
    items = shapes.many(Counted, least=1, most=150)
    citation = shapes.text(optional=True)
    note = shapes.text(optional=True, longest=shapes.LONGEST_NOTE)


class DueRuleSet(shapes.Payload):
    """How often something is due here, and on whose word; the entity is what is due."""

    every_days = shapes.whole(optional=True, least=1, most=3660)
    every_months = shapes.whole(optional=True, least=1, most=120)
    citation = shapes.text()
