"""The signed record as a PDF for the chart: every pass, its dose, and what proves the record."""

from collections.abc import Mapping

import segno

from api.clock import parse_rfc3339
from api.dose import display
from api.handover import phrases
from api.handover.page import RecordPage
from api.handover.phrases import BLANK, shown

QR_SIDE_MM = 38
# A pass is kept on one page: heading, settings and remark, then a row for each result.
PASS_MM = 48
DOSE_ROW_MM = 6.2
LASER_WORDS = {
    "label": "Laser",
    "maker": "Maker",
    "model": "Model",
    "serial": "Serial number",
    "wavelength": "Wavelength",
    "delivery_part": "Delivery part",
}
# Whose absence is worth a reason; without motion nobody misses the energy along a line.
EXPECTED = ("average_power", "irradiance_mean", "fluence_mean")
DOSE_WORDS = {
    "average_power": "average power",
    "peak_power": "peak power",
    "pulse_energy": "pulse energy",
    "gate_energy": "energy of a gate",
    "irradiance_mean": "mean irradiance over the spot",
    "irradiance_peak": "irradiance at the centre",
    "pulse_irradiance_mean": "mean irradiance while emitting",
    "fluence_mean": "mean fluence of a pulse",
    "fluence_peak": "fluence of a pulse at the centre",
    "line_energy": "energy along the line",
    "track_fluence_mean": "mean fluence along the line",
}


def render_pdf(record: Mapping, names: Mapping[str, Mapping], facts: Mapping) -> bytes:
    """Return the PDF of a record; the same arguments give the same bytes.

    ``record``: record document (see records/fold.py). ``names``: person id -> person document.
    ``facts``: ``position`` and ``link`` [hex] of the signing or addendum in the log,
    ``practice_name``, ``location_name``, ``zone`` [IANA].
    Fields the record lacks are printed as blanks. The dates in the file are the record's own.
    """
    zone = facts["zone"]
    patient = record.get("patient") or {}
    page = RecordPage(
        head=[
            f"Chart {shown(patient.get('chart_number'))} · "
            f"{shown(patient.get('second_identifier'))}   |   Date of service "
            f"{phrases.date(record.get('started_at'), zone)}",
            f"Provider {phrases.person(record.get('operator_id'), names)}   |   "
            f"{shown(facts.get('practice_name'))}, {shown(facts.get('location_name'))}",
        ],
        foot=f"Record {record['record_id']}, version {record.get('version')}",
        title=f"Laser procedure record {record['record_id']} version {record.get('version')}",
        made_at=_made_at(record),
    )
    page.add_page()
    page.line_of("Laser procedure record", bold=True, size=15)
    _addenda(page, record, names, zone)
    _case(page, record, names, zone)
    _laser(page, record, zone)
    for one in record.get("passes") or []:
        _pass(page, one, zone)
    if not record.get("passes"):
        page.section("Passes")
        page.line_of(BLANK)
    _outcome(page, record, names, zone)
    _time_out(page, record, names, zone)
    _remarks(page, record)
    _sign_off(page, record, names, zone)
    _proof(page, record, facts)
    page.section("Cautions")
    for caution in phrases.CAUTIONS:
        page.line_of(f"- {caution}", size=8)
    return bytes(page.output())


def _made_at(record):
    """The moment of the latest entry that the document shows, not that of the rendering."""
    addenda = record.get("addenda") or []
    sign_off = record.get("sign_off") or {}
    moment = addenda[-1]["at"] if addenda else sign_off.get("at") or record.get("started_at")
    return parse_rfc3339(moment)


def _addenda(page, record, names, zone) -> None:
    for number, entry in enumerate(record.get("addenda") or [], start=1):
        page.section(f"Addendum {number}")
        page.pairs(
            [
                ("Text", shown(entry.get("text"))),
                ("Reason", shown(entry.get("reason"))),
                ("By", phrases.person(entry.get("by"), names)),
                ("At", phrases.date_time(entry.get("at"), zone)),
                ("Adds to", f"version {number}; the record as signed is version 1"),
            ]
        )


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
        ("Handpiece or tip", f"{shown(handpiece.get('label'))} ({shown(handpiece.get('kind'))})"),
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


def _pass(page, one, zone) -> None:
    settings = one["settings"]
    dose = one.get("dose") or {}
    rows = _dose_rows(one, dose)
    page.room_for(PASS_MM + DOSE_ROW_MM * (len(rows) + 1))
    page.section(
        f"Pass {one['number']}   {phrases.time(one.get('started_at'), zone)} to "
        f"{phrases.time(one.get('ended_at'), zone)}"
    )
    distance = shown(one.get("distance"))
    page.pairs(
        [
            ("Panel", phrases.emission(settings)),
            ("Spot", f"{phrases.spot(settings)}, known by: {shown(one.get('spot_known'))}"),
            ("Focus, distance", f"{shown(one.get('focus'))}, {distance}"),
            ("Air or water", shown(one.get("coolant"))),
            ("Preset", _preset(one)),
            ("Laser-on time", phrases.laser_on(one)),
        ]
    )
    page.ln(1)
    page.grid(["Dose", "From set power", f"Delivered: {phrases.basis(one, zone)}"], rows, (7, 5, 8))
    missing = dose.get("absent") or {}
    absent = [f"{DOSE_WORDS[name]}: {missing[name]}" for name in EXPECTED if name in missing]
    if absent:
        page.line_of("Not computed. " + "; ".join(absent), size=8)


def _preset(one) -> str:
    preset = one.get("preset")
    if not preset:
        return "none, entered by hand"
    changed = ", changed for this pass" if one.get("changed_from_preset") else ", as published"
    return f"{shown(preset.get('name'))}, version {shown(preset.get('version'))}{changed}"


def _dose_rows(one, dose) -> list[list[str]]:
    set_dose = dose.get("set") or {}
    delivered = dose.get("delivered") or {}
    rows = [
        [word, _value(name, set_dose.get(name)), _value(name, delivered.get(name))]
        for name, word in DOSE_WORDS.items()
        if name in set_dose or name in delivered
    ]
    total = one.get("total_energy_j") or {}
    rows.append(
        [
            "total energy of the pass",
            _value("total_energy", total.get("set")),
            _value("total_energy", total.get("delivered")),
        ]
    )
    return rows


def _value(name: str, value: float | None) -> str:
    return BLANK if value is None else display.format_value(name, value)


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


def _time_out(page, record, names, zone) -> None:
    time_out = record.get("time_out")
    page.section("Time-out")
    if not time_out:
        page.line_of(BLANK)
        return
    page.pairs(
        [
            (
                "List",
                f"{shown(time_out.get('title'))}, version {shown(time_out.get('list_version'))}",
            ),
            ("Led by", phrases.person(time_out.get("led_by"), names)),
            ("Completed", phrases.date_time(time_out.get("completed_at"), zone)),
        ]
    )
    rows = [
        [
            shown(answer.get("text")),
            shown(answer.get("answer")) + (f": {answer['note']}" if answer.get("note") else ""),
            phrases.time(answer.get("answered_at"), zone),
        ]
        for answer in time_out.get("answers") or []
    ]
    page.ln(1)
    page.grid(["Question", "Answer", "At"], rows, (12, 5, 3))


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
    """Return what the QR code holds: nothing about the patient, only what finds the entry."""
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
