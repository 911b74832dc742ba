"""Payloads of what keeps lasers in order, and of what went wrong: maintenance and incidents.

What is said here is read by everybody who works at the location: of a patient it names the record,
never the person.
"""

from api.events import paper_payloads, shapes

MAINTENANCE_KINDS = ("service", "repair", "move", "inspection")
INCIDENT_KINDS = (
    "eye_exposure",
    "skin_exposure",
    "fire",
    "plume",
    "unintended_emission",
    "equipment",
    "electrical",
    "near_miss",
    "other",
)
HARM = ("none", "possible", "minor", "serious")
CONCERNED = ("patient", "operator", "assistant", "visitor", "other")
REPORTABLE = ("yes", "no", "not_yet_known")


class PowerFound(shapes.Payload):
    """What was measured where a power was set, before or after the work."""

    expected = shapes.quantity()
    measured = shapes.quantity()


class MaintenanceRecorded(shapes.Payload):
    """Work that was done on a laser; recorded again under its id, it replaces itself."""

    device_id = shapes.ident()
    kind = shapes.one_of(*MAINTENANCE_KINDS)
    done_on = shapes.day()
    # A firm's technician is no person of the practice.
    done_by = shapes.text()
    what = shapes.text(longest=shapes.LONGEST_NOTE)
    parts = shapes.text(optional=True, longest=shapes.LONGEST_NOTE)
    power_before = shapes.part(PowerFound, optional=True)
    power_after = shapes.part(PowerFound, optional=True)
    certificates = paper_payloads.certificates()
    # Who took the laser back into use.
    released_by = shapes.ident(optional=True)
    # Whether checks from then on are to be held against a new baseline.
    restarts_trend = shapes.yes_or_no()
    next_due_on = shapes.day(optional=True)


class MaintenanceWithdrawn(shapes.Payload):
    """It was not so; what was said stays in the log."""

    reason = shapes.text(longest=shapes.LONGEST_NOTE)


class Concerned(shapes.Payload):
    role = shapes.one_of(*CONCERNED)
    person_id = shapes.ident(optional=True)


class IncidentRecorded(shapes.Payload):
    """What went wrong, as far as it is known; recorded again under its id, it replaces itself."""

    happened_at = shapes.moment()
    kind = shapes.one_of(*INCIDENT_KINDS)
    harm = shapes.one_of(*HARM)
    what = shapes.text(longest=shapes.LONGEST_NOTE)
    people = shapes.many(Concerned, optional=True, most=20)
    device_id = shapes.ident(optional=True)
    handpiece_id = shapes.ident(optional=True)
    # As they stood on the panel, by value.
    settings = shapes.tree(optional=True)
    settings_text = shapes.text(optional=True)
    record_id = shapes.ident(optional=True)
    # What was done at once: who was seen by whom, what was made safe.
    done_at_once = shapes.text(longest=shapes.LONGEST_NOTE)
    device_taken_out = shapes.yes_or_no()


class IncidentAssessed(shapes.Payload):
    """Whether it has to be reported, and why; a later one replaces an earlier one."""

    reportable = shapes.one_of(*REPORTABLE)
    reasons = shapes.text(longest=shapes.LONGEST_NOTE)
    citation = shapes.text(optional=True)
    to_whom = shapes.text(optional=True)
    report_by = shapes.day(optional=True)
    reported_on = shapes.day(optional=True)


class IncidentActionSet(shapes.Payload):
    """What is done so that it does not happen again; set again under its id, it replaces itself."""

    action_id = shapes.ident()
    what = shapes.text(longest=shapes.LONGEST_NOTE)
    who_id = shapes.ident(optional=True)
    by_day = shapes.day(optional=True)
    done_on = shapes.day(optional=True)


class IncidentClosed(shapes.Payload):
    conclusion = shapes.text(longest=shapes.LONGEST_NOTE)


class IncidentReopened(shapes.Payload):
    reason = shapes.text(longest=shapes.LONGEST_NOTE)
