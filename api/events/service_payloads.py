"""Payloads of a laser out of service: taken out, its key, the asking for its release, the release.

A failed power verification or check puts a laser out by itself; these say the rest.
"""

from api.events import shapes

# Why somebody took it out; "other" is told in the reason's own words, as each of them is.
TAKEN_OUT_REASONS = ("suspicion", "damage", "repair", "other")
CAUSE_KINDS = ("verification", "check", "taken_out")
MOST_CAUSES = 200


class DeviceTakenOut(shapes.Payload):
    reason_code = shapes.one_of(*TAKEN_OUT_REASONS)
    reason = shapes.text(longest=shapes.LONGEST_NOTE)
    key_held_by = shapes.text(optional=True)


class DeviceKeyHeld(shapes.Payload):
    """Who holds the key of a laser that is out of service, or where it is locked away."""

    held_by = shapes.text()


class DeviceReleaseAsked(shapes.Payload):
    """The first of two people: what put it out, what was done, and the tests it passed since."""

    # Events: the failures and takings-out that this lets go of, and no others.
    causes = shapes.many(shapes.ident(), least=1, most=MOST_CAUSES)
    tests = shapes.many(shapes.ident(), least=1, most=MOST_CAUSES)
    done = shapes.text(longest=shapes.LONGEST_NOTE)


class DeviceReleased(shapes.Payload):
    """The second person confirms."""

    asked = shapes.ident()
    note = shapes.text(optional=True, longest=shapes.LONGEST_NOTE)


class ServiceCause(shapes.Payload):
    """Why a laser was out of service, by value, as it was known where this was written."""

    event_id = shapes.ident()
    kind = shapes.one_of(*CAUSE_KINDS)
    at = shapes.moment()
    text = shapes.text(longest=shapes.LONGEST_NOTE)


class ServiceOverridden(shapes.Payload):
    """A procedure was begun on a laser that was out of service, and why."""

    device_id = shapes.ident()
    causes = shapes.many(ServiceCause, least=1, most=MOST_CAUSES)
    reason = shapes.text(longest=shapes.LONGEST_NOTE)
