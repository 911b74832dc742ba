"""The signed record as plain text for the chart: at most 1,500 characters."""

from collections.abc import Mapping

from api.dose import display
from api.handover import phrases, text_course
from api.handover.phrases import BLANK, shown

MAXIMUM_CHARACTERS = 1500
CUT = " [...]"
# Steps to fit: (characters of a free text, irradiance too?, brief about what is beside the passes?,
# passes kept). The passes' irradiance goes first, then what is beside them is counted instead of
# told, then free text is shortened, then whole passes are left to the PDF. What is cut says so,
# because a chart entry that silently ends early reads as complete.
_STEPS = (
    (400, True, False, None),
    (400, False, False, None),
    *((width, False, True, None) for width in (400, 200, 120, 80, 60, 40)),
    *((40, False, True, kept) for kept in (10, 8, 6, 5, 4, 3, 2, 1, 0)),
)


def render_text(
    record: Mapping,
    names: Mapping[str, Mapping],
    facts: Mapping,
    *,
    limit: int = MAXIMUM_CHARACTERS,
) -> str:
    """Return the record as lines of text with at most ``limit`` characters.

    ``record``: record document (see records/fold.py). ``names``: person id -> person document.
    ``facts``: ``position``, ``link``, ``practice_name``, ``location_name``, ``zone``.
    Only fields of the record appear; those it lacks are shown as blanks. What had to be shortened
    ends in ``[...]`` and stands in full in the PDF.
    """
    text = ""
    for width, full, brief, kept in _STEPS:
        lines = _lines(record, names, facts, width=width, full=full, brief=brief, kept=kept)
        text = "\n".join(lines)
        if len(text) <= limit:
            return text
    return text[: limit - len(CUT)] + CUT


def _lines(
    record, names, facts, *, width: int, full: bool, brief: bool, kept: int | None
) -> list[str]:
    zone = facts["zone"]

    def short(value: object) -> str:
        return _short(shown(value), width)

    patient = record.get("patient") or {}
    procedure = record.get("procedure") or {}
    code = f" [{shown(procedure['code'])}]" if procedure.get("code") else ""
    lines = [
        *text_course.whole(record, names, zone, short),
        f"LASER PROCEDURE, {shown(facts.get('practice_name'))}, "
        f"{shown(facts.get('location_name'))}",
        f"Date of service: {phrases.date_time(record.get('started_at'), zone)} to "
        f"{phrases.minute(record.get('ended_at'), zone)}",
        f"Patient: chart {shown(patient.get('chart_number'))}, "
        f"{shown(patient.get('second_identifier'))}",
        f"Provider: {phrases.person(record.get('operator_id'), names)}",
        f"Procedure: {short(procedure.get('text'))}{code}; site: {short(record.get('site'))}",
        f"Indication: {short(record.get('indication'))}; why a laser: "
        f"{short(record.get('why_laser'))}",
        f"Consent: {_consent(record, names, zone)}; anaesthesia: "
        f"{short(record.get('anaesthesia'))}",
        _laser(record),
        _time_out(record, names, zone),
        *text_course.before(record, zone, short, brief=brief),
    ]
    lines += _passes(record, names, zone, full=full, kept=kept)
    outcome = record.get("outcome") or {}
    lines.append(
        "Outcome: "
        + "; ".join(
            f"{word.lower()}: {short(outcome.get(key))}"
            for key, word in phrases.OUTCOME_WORDS.items()
        )
    )
    lines += [f"Note: {short(note['text'])}" for note in record.get("notes") or []]
    lines += text_course.beside(record, names, zone, short, brief=brief)
    lines += _remarks(record)
    lines += _sign_off(record, names, facts)
    lines += [
        f"Addendum {number} ({phrases.date(entry.get('at'), zone)}, "
        f"{phrases.person(entry.get('by'), names)}): {short(entry.get('text'))}"
        for number, entry in enumerate(record.get("addenda") or [], start=1)
    ]
    if record.get("voided"):
        # Whoever reads the end only must not take it for a record that holds.
        lines.append("This record is VOID.")
    return [*lines, phrases.SHORT_CAUTION]


def _short(text: str, width: int) -> str:
    return text if len(text) <= width else text[: width - len(CUT)].rstrip() + CUT


def _consent(record, names, zone) -> str:
    consent = record.get("consent")
    if not consent:
        return BLANK
    return (
        f"{phrases.person(consent.get('by'), names)} {phrases.date_time(consent.get('at'), zone)}"
    )


def _laser(record) -> str:
    device = record.get("device") or {}
    handpiece = record.get("handpiece") or {}
    return (
        f"Laser: {shown(device.get('maker'))} {shown(device.get('model'))}, serial "
        f"{shown(device.get('serial'))}, {shown(device.get('wavelength'))}, "
        f"{shown(device.get('delivery_part'))}; {shown(handpiece.get('label'))}"
    )


def _time_out(record, names, zone) -> str:
    time_out = record.get("time_out")
    if not time_out:
        return f"Time-out: {BLANK}"
    return (
        f"Time-out: {phrases.answer_count(time_out)}, "
        f"{phrases.minute(time_out.get('completed_at'), zone)}, "
        f"led by {phrases.person(time_out.get('led_by'), names)}"
    )


def _passes(record, names, zone, *, full: bool, kept: int | None) -> list[str]:
    passes = record.get("passes") or []
    if not passes:
        return [f"Passes: {BLANK}"]
    lines = []
    # The record's own tip and operator stand above; a pass names its own where they are others.
    said = {"tip": _tip(record), "operator": _operator(record, names)}
    for one in passes if kept is None else passes[:kept]:
        lines.append(_pass(one, said, names, zone, full=full))
    if len(lines) < len(passes):
        left = len(passes) - len(lines)
        lines.append(f"[{left} of {len(passes)} passes do not fit here: see the PDF]")
    return lines


def _pass(one, said: dict[str, str], names, zone, *, full: bool) -> str:
    """One line for a pass; what is the same as in the pass before is not said again."""
    settings = one["settings"]
    dose = one.get("dose") or {}
    delivered = (dose.get("delivered") or {}).get("average_power")
    power = BLANK if delivered is None else display.format_value("average_power", delivered)
    parts = {
        "operator": _operator(one, names) if one.get("operator_id") else said["operator"],
        "tip": _tip(one) if one.get("handpiece") else said["tip"],
        "panel": phrases.emission_short(settings),
        "power": f"delivered {power}",
        "check": phrases.basis(one, zone),
        "spot": f"spot {phrases.spot_short(settings)}, {shown(one.get('focus'))}",
        "dose": "; ".join(_doses(dose, full=full)),
    }
    same = {name for name, words in parts.items() if said.get(name) == words}
    said |= parts
    if parts.keys() - same <= _WHO_AND_WITH_WHAT:
        changed = [parts[name] for name in parts if name not in same]
        words = "; ".join([*changed, f"settings and dose as pass {said['number']}"])
    else:
        words = "; ".join(
            words for name, words in parts.items() if words and name not in same & _SAID_ONCE
        )
        said["number"] = str(one["number"])
    return f"Pass {one['number']}: {words}; on {phrases.laser_on(one)}"


# Panel and dose stand in every line that differs; these only where they change.
_WHO_AND_WITH_WHAT = {"operator", "tip"}
_SAID_ONCE = {*_WHO_AND_WITH_WHAT, "check", "spot"}


def _tip(holder: Mapping) -> str:
    return f"with {shown((holder.get('handpiece') or {}).get('label'))}"


def _operator(one: Mapping, names: Mapping[str, Mapping]) -> str:
    return f"by {phrases.person(one.get('operator_id'), names)}"


def _doses(dose: Mapping, *, full: bool) -> list[str]:
    fluence, irradiance = _pair(dose, "fluence_mean"), _pair(dose, "irradiance_mean")
    found = [f"fluence {fluence}"] if fluence else []
    if irradiance and (full or not fluence):
        found.append(f"irradiance {irradiance}")
    return found


def _pair(dose: Mapping, name: str) -> str | None:
    value = (dose.get("set") or {}).get(name)
    if value is None:
        return None
    delivered = (dose.get("delivered") or {}).get(name)
    right = display.format_value(name, delivered) if delivered is not None else BLANK
    return f"{display.format_value(name, value)} set / {right} delivered"


def _remarks(record) -> list[str]:
    """What the fold found odd, by code: a signature must not be pasted without what mars it."""
    codes = sorted({flag["code"] for flag in record.get("flags") or []})
    return [f"Remarks on the entries, see the PDF: {', '.join(codes)}"] if codes else []


def _sign_off(record, names, facts) -> list[str]:
    sign_off = record.get("sign_off")
    if not sign_off:
        return [f"Signed: {BLANK}"]
    return [
        f"Signed: {phrases.person(sign_off.get('signer_id'), names)} "
        f"({shown(sign_off.get('role'))}), "
        f"{phrases.date_time(sign_off.get('at'), facts['zone'])}",
        f"Record {record['record_id']} v{record.get('version')}, log position "
        f"{shown(facts.get('position'))}, content {shown(sign_off.get('content_hash'))[:16]}",
    ]
