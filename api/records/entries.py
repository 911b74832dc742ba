"""What each kind of entry does to a record. Pure."""

from collections.abc import Callable, Iterable, Mapping

from api.records import entries_course as course
from api.records import entries_passes as passes
from api.records import entries_signed as about_the_whole
from api.records.order import Entry
from api.records.unfinished import Unfinished

_HANDLERS: Mapping[str, Callable[[Unfinished, Entry], bool]] = {
    "procedure.opened": course.opened,
    "timeout.answered": course.timeout_answered,
    "list.answered": course.list_answered,
    "operator.accepted": course.operator_accepted,
    "service.overridden": course.service_overridden,
    "protection.noted": course.protection_noted,
    "pass.started": passes.pass_started,
    "procedure.noted": course.noted,
    "procedure.paused": course.paused,
    "procedure.resumed": course.resumed,
    "procedure.handed_over": course.handed_over,
    "attachment.added": course.attachment_added,
    "procedure.ended": course.ended,
    "record.signed": about_the_whole.signed,
    "record.addended": about_the_whole.addended,
    "record.placed_in_chart": about_the_whole.placed,
    "record.removed_from_chart": about_the_whole.removed,
    "record.reattributed": about_the_whole.reattributed,
    "record.voided": about_the_whole.voided,
}


def apply(draft: Unfinished, entries: Iterable[Entry]) -> set[str]:
    """Put the entries into the record; return the ids of events that had no effect after all."""
    without_effect = set()
    emissions = []
    for entry in entries:
        kind = entry.event["body"]["type"]
        if kind == "laser.emitted":
            # Kept until all passes are known: a corrected pass may stand behind its emissions.
            emissions.append(entry)
        elif kind not in _HANDLERS or not _HANDLERS[kind](draft, entry):
            without_effect.add(entry.event["body"]["event_id"])
    passes.close_passes(draft)
    without_effect |= {
        entry.event["body"]["event_id"] for entry in emissions if not passes.emitted(draft, entry)
    }
    passes.sum_emissions(draft.record)
    return without_effect
