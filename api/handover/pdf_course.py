"""The course of a procedure on paper, beside its passes: who, when, how protected, which lists."""

from collections.abc import Mapping, Sequence

from api.handover import list_states, phrases
from api.handover.page import RecordPage
from api.handover.phrases import BLANK, shown

_HASH_HALF = 32


def add_course(page: RecordPage, record: Mapping, names: Mapping[str, Mapping], zone: str) -> None:
    """Write going on with a laser out of service, protection, pauses and hand-overs."""
    _overrides(page, record.get("overrides") or [], names, zone)
    _protection(page, record.get("protection"), names)
    pauses = record.get("pauses") or []
    if pauses:
        page.section("Pauses")
        page.grid(
            ["From", "To", "Reason", "Noted by"],
            [
                [
                    phrases.time(one.get("from_at"), zone),
                    phrases.time(one.get("to_at"), zone),
                    shown(one.get("reason")),
                    phrases.person(one.get("by"), names),
                ]
                for one in pauses
            ],
            (3, 3, 8, 6),
        )
    handovers = record.get("handovers") or []
    if handovers:
        page.section("Hand-overs")
        page.grid(
            ["At", "As", "From", "To", "Note"],
            [
                [
                    phrases.time(one.get("at"), zone),
                    shown(one.get("role")),
                    phrases.person(one.get("from_id"), names),
                    phrases.person(one.get("to_id"), names),
                    shown(one.get("note")),
                ]
                for one in handovers
            ],
            (3, 3, 5, 5, 4),
        )


def _overrides(
    page: RecordPage, overrides: Sequence[Mapping], names: Mapping[str, Mapping], zone: str
) -> None:
    if not overrides:
        return
    page.section("Laser out of service")
    for one in overrides:
        page.pairs(
            [
                ("Stood against it", "\n".join(shown(each.get("text")) for each in one["causes"])),
                ("Went on because", shown(one.get("reason"))),
                (
                    "Said by",
                    f"{phrases.person(one.get('by'), names)}, "
                    f"{phrases.date_time(one.get('at'), zone)}",
                ),
            ]
        )


def add_lists(page: RecordPage, record: Mapping, names: Mapping[str, Mapping], zone: str) -> None:
    """Write what became of each list, then the time-out and every other list as answered."""
    page.section("Lists")
    page.pairs([(f"List: {name}", state) for name, state in list_states.states(record, zone)])
    time_out = record.get("time_out")
    page.section("Time-out")
    if time_out:
        _answered(page, time_out, names, zone)
    else:
        page.line_of(BLANK)
    for one in record.get("lists") or []:
        page.section(phrases.LIST_WORDS.get(one.get("kind"), shown(one.get("kind"))))
        _answered(page, one, names, zone)


def add_photographs(page: RecordPage, record: Mapping, zone: str) -> None:
    """Write which photographs belong to the record; the hash says that one is the one meant."""
    photographs = record.get("attachments") or []
    if not photographs:
        return
    page.section(f"Photographs: {len(photographs)}")
    page.grid(
        ["No.", "Taken", "Caption", "Size", "SHA-256"],
        [
            [
                str(number),
                phrases.time(one.get("taken_at"), zone),
                shown(one.get("caption")),
                f"{shown(one.get('width_px'))} x {shown(one.get('height_px'))} px",
                f"{one['sha256'][:_HASH_HALF]} {one['sha256'][_HASH_HALF:]}",
            ]
            for number, one in enumerate(photographs, start=1)
        ],
        (1, 2, 5, 4, 9),
    )


def _protection(page: RecordPage, protection: Mapping | None, names: Mapping) -> None:
    page.section("Protection")
    if not protection:
        page.line_of(BLANK)
        return
    page.pairs(
        [
            ("Heads in the room", shown(protection.get("heads"))),
            ("Evacuator", shown(protection.get("evacuator"))),
            ("Masks", shown(protection.get("masks"))),
            ("Deviations", shown(protection.get("deviations"))),
        ]
    )
    rows = [
        [
            phrases.person(one.get("wearer"), names),
            shown(one.get("label")),
            shown(one.get("wavelength")),
            shown(one.get("optical_density")),
        ]
        for one in protection.get("eyewear") or []
    ]
    page.ln(1)
    heads = ["Worn by", "Eyewear", "Wavelength as marked", "Optical density as marked"]
    page.grid(heads, rows or [[BLANK] * len(heads)], (6, 5, 5, 4))


def _answered(page: RecordPage, one: Mapping, names: Mapping, zone: str) -> None:
    answers = one.get("answers") or []
    page.pairs(
        [
            ("List", f"{shown(one.get('title'))}, version {shown(one.get('list_version'))}"),
            ("Led by", phrases.person(one.get("led_by"), names)),
            ("Completed", phrases.date_time(one.get("completed_at"), zone)),
        ]
    )
    heads, widths = ["Question", "Answer", "At"], [12, 5, 3]
    named = any(answer.get("by") for answer in answers)
    if named:
        heads, widths = [*heads, "By"], [9, 4, 3, 4]
    rows = [
        [
            shown(answer.get("text")),
            shown(answer.get("answer")) + (f": {answer['note']}" if answer.get("note") else ""),
            phrases.time(answer.get("answered_at"), zone),
            *([phrases.person(answer.get("by"), names)] if named else []),
        ]
        for answer in answers
    ]
    page.ln(1)
    page.grid(heads, rows, widths)
