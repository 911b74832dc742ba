"""The signed record as a PDF for the chart: every pass, its dose, and what proves the record."""

from collections.abc import Mapping

import segno

from api.clock import parse_rfc3339
from api.handover import pdf_course, pdf_passes, pdf_whole, phrases
from api.handover.page import RecordPage
from api.handover.phrases import BLANK, shown

QR_SIDE_MM = 38
LASER_WORDS = {
    "label": "Laser",
    "maker": "Maker",
    "model": "Model",
    "serial": "Serial number",
    "wavelength": "Wavelength",
    "delivery_part": "Delivery part",
}


def render_pdf(record: Mapping, names: Mapping[str, Mapping], facts: Mapping) -> bytes:
    """Return the PDF of a record; the same arguments give the same bytes.

    ``record``: record document (see records/fold.py). ``names``: person id -> person document.
    ``facts``: ``position`` and ``link`` [hex] of the entry that made this version,
    ``practice_name``, ``location_name``, ``zone`` [IANA]; ``address``, where the practice's server
    shows the record's proof, or None.
    Fields the record lacks are printed as blanks. The dates in the file are the record's own.
    """
    zone = facts["zone"]
    patient = record.get("patient") or {}
    page = RecordPage(
        head=[
            *pdf_whole.head(record, names, zone),
            f"Chart {shown(patient.get('chart_number'))} · "
            f"{shown(patient.get('second_identifier'))}   |   Date of service "
            f"{phrases.date(record.get('started_at'), zone)}",
            f"Provider {phrases.person(record.get('operator_id'), names)}   |   "
            f"{shown(facts.get('practice_name'))}, {shown(facts.get('location_name'))}",
        ],
        foot=f"Record {record['record_id']}, version {record.get('version')}",
        title=f"Laser procedure record {record['record_id']} version {record.get('version')}",
        made_at=_made_at(record),
        across="VOID" if record.get("status") == "void" else None,
    )
    page.add_page()
    page.line_of("Laser procedure record", bold=True, size=15)
    pdf_whole.add(page, record, names, zone)
    _case(page, record, names, zone)
    _laser(page, record, zone)
    pdf_passes.add(page, record, names, zone)
    pdf_course.add_course(page, record, names, zone)
    _outcome(page, record, names, zone)
    pdf_course.add_lists(page, record, names, zone)
    pdf_course.add_photographs(page, record, zone)
    _remarks(page, record)
    _sign_off(page, record, names, zone)
    _proof(page, record, facts)
    page.section("Cautions")
    for caution in phrases.CAUTIONS:
        page.line_of(f"- {caution}", size=8)
    return bytes(page.output())


def _made_at(record):
    """The moment of the latest entry that the document shows, not that of the rendering."""
    sign_off = record.get("sign_off") or {}
    latest = [*(record.get("addenda") or []), *(record.get("versions") or [])][-1:] or [sign_off]
    return parse_rfc3339(latest[0].get("at") or record.get("started_at"))


def _case(page, record, names, zone) -> None:
    procedure = record.get("procedure") or {}
    consent = record.get("consent") or {}
    page.section("Procedure")
    reviewed = {True: "yes", False: "no"}.get(record.get("alerts_reviewed"), BLANK)
    page.pairs(
        [
            ("Procedure", shown(procedure.get("text"))),
            ("Practice's own code", shown(procedure.get("code"))),
            ("Site", shown(record.get("site"))),
            ("Indication", shown(record.get("indication"))),
            ("Why a laser", shown(record.get("why_laser"))),
            ("Anaesthesia", shown(record.get("anaesthesia"))),
            ("Consent taken by", phrases.person(consent.get("by"), names)),
            ("Consent at", phrases.date_time(consent.get("at"), zone)),
            ("Alerts reviewed", reviewed),
            ("Started", phrases.date_time(record.get("started_at"), zone)),
            ("Ended", phrases.date_time(record.get("ended_at"), zone)),
            ("Operator", phrases.person(record.get("operator_id"), names)),
            ("Supervising", phrases.person(record.get("supervising_id"), names)),
            ("Assisting", phrases.people(record.get("assistant_ids"), names)),
            ("Others in the room", shown(record.get("others_present"))),
            ("Room", shown(record.get("room"))),
        ]
    )


def _laser(page, record, zone) -> None:
    device = record.get("device") or {}
    handpiece = record.get("handpiece") or {}
    check = record.get("verification")
    page.section("Laser and power verification")
    count = handpiece.get("use_count")
    rows = [(word, shown(device.get(key))) for key, word in LASER_WORDS.items()]
    rows += [
        ("Handpiece or tip", phrases.handpiece(handpiece)),
        ("Use count", shown(count)),
    ]
    if check:
        spread = check.get("ratio_uncertainty")
        rows += [
            ("Last verified", phrases.date_time(check.get("verified_at"), zone)),
            (
                "Ratio",
                f"{phrases.percent(check['ratio'])} of the set power, standard uncertainty "
                + (f"{phrases.percent(spread)} of it" if spread is not None else "not stated"),
            ),
            (
                "Valid for",
                f"this handpiece and mode {shown(check.get('mode'))} only; verdict "
                f"{shown(check.get('verdict'))}",
            ),
        ]
    else:
        rows.append(("Last verified", BLANK))
    page.pairs(rows)


def _outcome(page, record, names, zone) -> None:
    outcome = record.get("outcome") or {}
    page.section("Outcome and notes")
    page.pairs([(word, shown(outcome.get(key))) for key, word in phrases.OUTCOME_WORDS.items()])
    page.pairs(
        [
            (
                f"Note {phrases.time(note.get('at'), zone)}",
                f"{shown(note.get('text'))} ({phrases.person(note.get('by'), names)})",
            )
            for note in record.get("notes") or []
        ]
    )


def _remarks(page, record) -> None:
    """What the fold found odd in the entries: a reader of the paper must see it too."""
    flags = record.get("flags") or []
    if flags:
        page.section("Remarks on the entries")
        page.pairs([(shown(flag.get("code")), shown(flag.get("text"))) for flag in flags])


def _sign_off(page, record, names, zone) -> None:
    sign_off = record.get("sign_off") or {}
    page.section("Sign-off")
    page.pairs(
        [
            ("Signed by", phrases.person(sign_off.get("signer_id"), names)),
            ("Role", shown(sign_off.get("role"))),
            ("At", phrases.date_time(sign_off.get("at"), zone)),
            ("Statement", shown(sign_off.get("statement"))),
        ]
    )


def _proof(page, record, facts) -> None:
    sign_off = record.get("sign_off") or {}
    content_hash = shown(sign_off.get("content_hash"))
    page.room_for(QR_SIDE_MM + 14)
    page.section("Proof")
    rows = [
        ("Record", shown(record["record_id"])),
        ("Version", shown(record.get("version"))),
        ("Content hash", _two_lines(content_hash)),
        ("Log position", shown(facts.get("position"))),
        ("Entry link", _two_lines(shown(facts.get("link")))),
    ]
    if facts.get("address"):
        rows.append(("Checked at", facts["address"]))
    code = segno.make(qr_text(record, facts), error="m", micro=False)
    top = page.get_y()
    page.squares([list(row) for row in code.matrix], side_mm=QR_SIDE_MM)
    right = page.r_margin
    page.set_right_margin(right + QR_SIDE_MM + 4)
    page.pairs(rows)
    page.set_right_margin(right)
    page.set_y(max(page.get_y(), top + QR_SIDE_MM + 2))


def _two_lines(digest: str) -> str:
    """Break a hash where a reader comparing it by eye would pause: in the middle."""
    return f"{digest[:32]}\n{digest[32:]}".strip()


def qr_text(record: Mapping, facts: Mapping) -> str:
    """Return what the QR code holds: nothing about the patient, only what finds the entry.

    That is the address at which it is checked, or where there is none, what it would be found by.
    """
    if facts.get("address"):
        return facts["address"]
    sign_off = record.get("sign_off") or {}
    return "\n".join(
        [
            "dosebook-record-1",
            f"record {record['record_id']}",
            f"version {record.get('version')}",
            f"content {sign_off.get('content_hash') or BLANK}",
            f"position {facts.get('position')}",
            f"link {facts.get('link')}",
        ]
    )
