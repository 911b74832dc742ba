"""Payloads of how long records are kept, and of what was erased. None says anything of a patient.

What is said here stays in the log for good: it cannot itself be erased.
"""

from marshmallow import fields

from api.events import shapes

# Why a record may go: its time is over, somebody who may ask for it did, or it was ordered.
BASES = ("retention_ended", "request", "order")


class RetentionRule(shapes.Payload):
    """How long records are kept after their last entry, and where that is written."""

    text = shapes.text()
    years = shapes.whole(least=0, most=200)
    citation = shapes.text()


class RetentionRuled(shapes.Payload):
    """The practice's own table; the longest rule counts."""

    rules = shapes.many(RetentionRule, most=50)


class RetentionHeld(shapes.Payload):
    """A record may not be erased, whatever the rules say."""

    reason = shapes.text(longest=shapes.LONGEST_NOTE)
    citation = shapes.text(optional=True)


class RetentionHoldEnded(shapes.Payload):
    reason = shapes.text(longest=shapes.LONGEST_NOTE)


class ErasureAsked(shapes.Payload):
    """Somebody asks that the content of a record go; a second person decides."""

    basis = shapes.one_of(*BASES)
    citation = shapes.text()
    reason = shapes.text(longest=shapes.LONGEST_NOTE)
    # Why it may go although the time of the rules is not over, or no rule was set.
    override = shapes.text(optional=True, longest=shapes.LONGEST_NOTE)
    keep_until = shapes.day(optional=True)
    # The place of the record's last entry: what came later was not asked about.
    position = shapes.whole(least=1)


class ErasureDeclined(shapes.Payload):
    reason = shapes.text(longest=shapes.LONGEST_NOTE)


class ErasedPaper(shapes.Payload):
    version = shapes.whole(least=1)
    kind = shapes.ident()
    sha256 = shapes.sha256_hex()


class KeptUse(shapes.Payload):
    """That a handpiece was used once more, and when: its count must not fall."""

    handpiece_id = shapes.ident()
    used_at = shapes.moment()


def _event_ids() -> fields.Field:
    # As they came: what was put aside may have an id of any form.
    return shapes.many(shapes.text(longest=64), most=500)


class RetentionErased(shapes.Payload):
    """The content of these entries, photographs and papers is gone, by the word of two people.

    One record may take several of these, since an event has a largest size.
    """

    asked_by = shapes.ident(optional=True)
    asked_at = shapes.moment()
    # Beside who made this event: after a restore the program makes it once more.
    confirmed_by = shapes.ident(optional=True)
    confirmed_at = shapes.moment()
    basis = shapes.one_of(*BASES)
    citation = shapes.text()
    event_ids = _event_ids()
    photographs = shapes.many(shapes.sha256_hex(), most=100)
    papers = shapes.many(ErasedPaper, most=100)
    handpieces = shapes.many(KeptUse, most=100)
