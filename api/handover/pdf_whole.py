"""What was said about the record as a whole after it was made, at the head of the paper."""

import textwrap
from collections.abc import Mapping

from api.handover import phrases
from api.handover.page import RecordPage
from api.handover.phrases import shown

HEAD_REASON = 100


def head(record: Mapping, names: Mapping[str, Mapping], zone: str) -> list[str]:
    """Return what each page has to begin with, where the record does not hold."""
    voided = record.get("voided")
    if not voided:
        return []
    # At the head of each page there is no room for a long reason; below it stands in full.
    reason = textwrap.shorten(shown(voided.get("reason")), HEAD_REASON, placeholder=" [...]")
    return [phrases.void_line({**voided, "reason": reason}, names, zone)]


def add(page: RecordPage, record: Mapping, names: Mapping[str, Mapping], zone: str) -> None:
    """Write the voiding, the moves to this chart and the addenda."""
    voided = record.get("voided")
    if voided:
        page.section("This record is void")
        page.line_of(phrases.VOID_MEANS)
        page.pairs(_said(voided, names, zone))
    for entry in record.get("reattributions") or []:
        # The other number is another patient's, and must not stand in this one's chart.
        page.section("Moved from another chart number")
        page.pairs(_said(entry, names, zone))
    for number, entry in enumerate(record.get("addenda") or [], start=1):
        page.section(f"Addendum {number}")
        page.pairs(
            [
                ("Text", shown(entry.get("text"))),
                *_said(entry, names, zone),
                ("Adds to", "the record as signed, which is version 1"),
            ]
        )


def _said(entry: Mapping, names: Mapping[str, Mapping], zone: str) -> list[tuple[str, str]]:
    return [
        ("Reason", shown(entry.get("reason"))),
        ("By", phrases.person(entry.get("by"), names)),
        ("At", phrases.date_time(entry.get("at"), zone)),
    ]
