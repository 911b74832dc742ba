"""Payload of a check of one laser by a list: what was looked at, when, and what came of it."""

from api.events import procedure_payloads, shapes

# The lists about a laser, in the order of a laser's life and then of its days.
DEVICE_LIST_KINDS = (
    "commissioning",
    "after_move",
    "start_of_day",
    "end_of_day",
    "weekly",
    "monthly",
    "yearly",
)


class DeviceChecked(shapes.Payload):
    """A list about a laser as answered. The entry's own moment is when it was written down."""

    device_id = shapes.ident()
    kind = shapes.one_of(*DEVICE_LIST_KINDS)
    list_id = shapes.ident()
    list_version = shapes.whole(least=1)
    # The publication that was answered: of two with one number, which one it was.
    list_event_id = shapes.ident(optional=True)
    title = shapes.text()
    # "yes" is passed, "no" is failed, and says with what.
    answers = shapes.many(procedure_payloads.Answer, least=1)
    verdict = shapes.one_of("passed", "failed")
    # When it was done, as whoever wrote it down says: often now, sometimes earlier.
    done_at = shapes.moment()
    note = shapes.text(optional=True, longest=shapes.LONGEST_NOTE)
