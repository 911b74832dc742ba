"""Payloads of what a group rolls out, and of what its practices say to it."""

from api.events import shapes
from api.events.house_payloads import ListItem


class OfferedList(shapes.Payload):
    """A list by value; its version and its day are the offer's."""

    kind = shapes.text(longest=64)
    title = shapes.text()
    items = shapes.many(ListItem, least=1)
    needs_acknowledgement = shapes.yes_or_no(optional=True)
    within_s = shapes.whole(optional=True, least=60)


class _Content(shapes.Payload):
    """One of the two is there: a list, or the row of a preset as a file of presets has it."""

    source_id = shapes.ident()
    version = shapes.whole(least=1)
    title = shapes.text()
    list = shapes.part(OfferedList, optional=True)
    row = shapes.tree(optional=True)
    # From when the group asks it to count; the practice says when it does.
    effective_from = shapes.day(optional=True)
    note = shapes.text(optional=True, longest=shapes.LONGEST_NOTE)


class RolloutMade(_Content):
    # None: every practice, also one that joins later.
    practices = shapes.many(shapes.ident(), least=1, optional=True)


class Offered(_Content):
    made_at = shapes.moment()
    made_by = shapes.text()
    group_name = shapes.text()
    # What people compare a key by.
    group_key = shapes.text(longest=64)


class OfferDeclined(shapes.Payload):
    reason = shapes.text(longest=shapes.LONGEST_NOTE)
