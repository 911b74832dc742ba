"""Payloads about what a beam passes last: cleanings of optics, and test cuts into damp paper."""

from api.events import shapes

OPTICS = ("output optic", "handpiece lens", "tip", "other")
AIMING_BEAM = ("as usual", "fainter", "not seen")


class OpticCleaned(shapes.Payload):
    """An optic was cleaned as its maker says, key out, and dry before the next emission."""

    device_id = shapes.ident()
    what = shapes.one_of(*OPTICS)
    handpiece_id = shapes.ident(optional=True)
    note = shapes.text(optional=True, longest=shapes.LONGEST_NOTE)


class CutReferenced(shapes.Payload):
    """A laser's own set-up for test cuts, so that each cut is like the one before."""

    device_id = shapes.ident()
    handpiece_id = shapes.ident()
    mode = shapes.text(longest=64)
    settings = shapes.tree()
    expected_average_power = shapes.quantity()
    spot_diameter = shapes.quantity()
    distance = shapes.quantity()
    # What the stack is made of, how thick, and how it is wetted, so that somebody else can do it.
    stack = shapes.text()
    wetness = shapes.text()
    cut_length = shapes.quantity()
    cut_time = shapes.quantity()
    note = shapes.text(optional=True, longest=shapes.LONGEST_NOTE)


class CutRecorded(shapes.Payload):
    """One cut by a set-up: its depths at some places along it. Never a power in watts."""

    device_id = shapes.ident()
    reference_id = shapes.ident()
    cut_length = shapes.quantity()
    cut_time = shapes.quantity()
    depths = shapes.many(shapes.quantity(), least=1, most=20)
    # The depth of the energy balance as it was shown.
    expected_depth = shapes.quantity()
    aiming_beam = shapes.one_of(*AIMING_BEAM, optional=True)
    note = shapes.text(optional=True, longest=shapes.LONGEST_NOTE)
