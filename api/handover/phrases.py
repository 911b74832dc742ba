"""How the fields of a record are said on paper: shared by the text and the PDF.

Everything here is pure. What a record does not hold is shown as :data:`BLANK`, never guessed.
"""

from collections.abc import Mapping
from datetime import datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from api.clock import parse_rfc3339

BLANK = "____"

CAUTIONS = (
    "Decision support only: the maker's instructions, local law and the licensed clinician decide.",
    "Doses are computed from the panel's numbers and the last power verification; they were not "
    "measured in tissue. A low ratio is no reason to raise the panel.",
    "Settings are what was used in this case. They are not a recommendation, and are not judged "
    'against a "normal" band.',
    "Exposure limits protect the eyes and skin of people in the room. They are not treatment "
    "limits.",
    "Never fire at a hand or towards people. Test exposures go into damp paper on a fire-safe "
    "backing, everybody in eyewear.",
    "Eyewear, plume evacuation close to the site, wet gauze, no alcohol-wet prep, oxygen and "
    "nitrous oxide off or reduced.",
)
SHORT_CAUTION = "Computed, not measured in tissue; not advice. The licensed clinician decides."

EMISSION_WORDS = {
    "power": "power",
    "average_power": "average power",
    "peak_power": "peak power",
    "pulse_energy": "pulse energy",
    "pulse_duration": "pulse duration",
    "repetition_rate": "repetition rate",
    "pulse_period": "pulse period",
    "duty_cycle": "duty cycle",
    "pulse_shape": "pulse shape",
    "gate_on": "gate on",
    "gate_off": "gate off",
}
EMISSION_SHORT = {
    "average_power": "{} average",
    "peak_power": "{} peak",
    "pulse_energy": "{} a pulse",
    "pulse_duration": "{} pulses",
    "repetition_rate": "{}",
    "pulse_period": "period {}",
    "duty_cycle": "duty cycle {}",
    "pulse_shape": "{} pulse shape",
    "gate_on": "gate {} on",
    "gate_off": "{} off",
}
SPOT_WORDS = {
    "diameter": "diameter",
    "focal_length": "focal length",
    "beam_diameter_at_lens": "beam at the lens",
    "beam_quality_m2": "M2",
    "defocus": "defocus",
    "waist_diameter": "waist",
    "bore_diameter": "bore",
    "distance": "distance",
    "full_divergence": "full divergence",
}
OUTCOME_WORDS = {
    "haemostasis": "Haemostasis",
    "specimens": "Specimens",
    "sutures": "Sutures",
    "complications": "Complications",
    "instructions": "Instructions given",
}
LIST_WORDS = {
    "before_patient": "List before the patient",
    "pause": "List of a pause",
    "after_use": "List after use",
}
NAMES_ANOTHER = "not on paper, as it names another patient; it stands in the record"
VOID_MEANS = "It does not hold and must not be relied on. What it says is kept as it was entered."


def shown(value: object) -> str:
    """Return a field as text on one line; an empty one as a visible blank."""
    if value is None or value == "" or value == []:
        return BLANK
    return " ".join(str(value).split()) or BLANK


def person(person_id: str | None, names: Mapping[str, Mapping]) -> str:
    """Return a person's name with the credential; an unknown id, or words, as they stand."""
    if not person_id:
        return BLANK
    known = names.get(person_id)
    if not known:
        return shown(person_id)
    credential = known.get("credential")
    return f"{known['display_name']}, {credential}" if credential else known["display_name"]


def people(person_ids: list[str] | None, names: Mapping[str, Mapping]) -> str:
    """Return several people, separated by semicolons."""
    return "; ".join(person(one, names) for one in person_ids or []) or BLANK


def local(moment: str | None, zone: str) -> datetime | None:
    """Return an RFC 3339 moment in the location's zone; an unknown zone keeps its own offset."""
    if not moment:
        return None
    at = parse_rfc3339(moment)
    try:
        return at.astimezone(ZoneInfo(zone))
    except (ZoneInfoNotFoundError, ValueError):
        return at


def date(moment: str | None, zone: str) -> str:
    """Return the calendar day at the location, year first."""
    at = local(moment, zone)
    return at.strftime("%Y-%m-%d") if at else BLANK


def date_time(moment: str | None, zone: str) -> str:
    """Return day, time and offset at the location."""
    at = local(moment, zone)
    return f"{at:%Y-%m-%d %H:%M} {offset(at)}" if at else BLANK


def time(moment: str | None, zone: str) -> str:
    """Return the time of day at the location, to the second."""
    at = local(moment, zone)
    return at.strftime("%H:%M:%S") if at else BLANK


def minute(moment: str | None, zone: str) -> str:
    """Return the time of day at the location, to the minute."""
    return time(moment, zone)[:5]


def offset(at: datetime) -> str:
    """Return the offset from UTC as +HH:MM."""
    minutes = int((at.utcoffset() or timedelta()).total_seconds()) // 60
    return f"{'-' if minutes < 0 else '+'}{abs(minutes) // 60:02d}:{abs(minutes) % 60:02d}"


def percent(ratio: object) -> str:
    """Return a ratio given as a decimal string in per cent: "0.93" is "93 %"."""
    value = Decimal(str(ratio)) * 100
    return f"{value.normalize():f} %"


def seconds(value: float | str) -> str:
    """Return a laser-on time as it was entered or added up, without the dust of float addition."""
    return f"{Decimal(str(value)).quantize(Decimal('0.001')).normalize():f} s"


def _entered(value: object) -> str:
    if isinstance(value, Mapping):
        return f"{value.get('value')} {value.get('unit', '')}".strip()
    return str(value)


def emission(settings: Mapping) -> str:
    """Return the panel's numbers as they were entered, in the order of the request."""
    given = settings.get("emission") or {}
    parts = [shown(given.get("mode"))]
    for key, word in EMISSION_WORDS.items():
        if given.get(key) is None:
            continue
        if key == "power" and given.get("power_kind"):
            word = f"power ({given['power_kind']})"
        parts.append(f"{word} {_entered(given[key])}")
    return ", ".join(parts)


def emission_short(settings: Mapping) -> str:
    """Return the panel's numbers in as few characters as stay unambiguous."""
    given = settings.get("emission") or {}
    parts = [shown(given.get("mode"))]
    if given.get("power") is not None:
        kind = given.get("power_kind")
        stated = f" {kind}" if kind and kind != "not stated" else ""
        parts.append(f"{_entered(given['power'])}{stated}")
    parts += [
        form.format(_entered(given[key]))
        for key, form in EMISSION_SHORT.items()
        if given.get(key) is not None
    ]
    return ", ".join(parts)


def spot(settings: Mapping) -> str:
    """Return the spot as it was entered, with what kind of diameter it is."""
    given = settings.get("spot") or {}
    parts = []
    for key, word in SPOT_WORDS.items():
        if given.get(key) is not None:
            kind = given.get("diameter_definition") if key == "diameter" else None
            parts.append(f"{word} {_entered(given[key])}" + (f" ({kind})" if kind else ""))
    return ", ".join(parts) or BLANK


def spot_short(settings: Mapping) -> str:
    """Return the spot for a line of text: the bare diameter where there is one."""
    return spot(settings).removeprefix("diameter ")


def laser_on(one_pass: Mapping) -> str:
    """Return the laser-on time of a pass with the source of every part of it."""
    entries = one_pass.get("laser_on") or []
    if not entries:
        return BLANK
    parts = []
    for entry in entries:
        pulses = f", {entry['pulses']} pulses" if entry.get("pulses") is not None else ""
        parts.append(f"{seconds(entry['seconds'])} ({shown(entry.get('source'))}{pulses})")
    if len(parts) == 1:
        return parts[0]
    return f"{seconds(one_pass['laser_on_s'])} = {' + '.join(parts)}"


def basis(one_pass: Mapping, zone: str) -> str:
    """Return what the delivered dose of a pass rests on: the date of the check and its ratio."""
    dose = one_pass.get("dose") or {}
    if not dose.get("delivered"):
        return "not verified with this handpiece and mode"
    if dose.get("basis") == "design":
        return "by design of the beam path, not verified"
    delivery = one_pass["settings"].get("delivery") or {}
    at = delivery.get("verified_at")
    day = date(at, zone) if at and "T" in at else shown(at)
    return f"verified {day}, {percent(delivery['verified_ratio'])} of set"


def answer_count(time_out: Mapping) -> str:
    """Return how the time-out was answered, in numbers."""
    answers = [entry.get("answer") for entry in time_out.get("answers") or []]
    parts = [f"{answers.count('yes')} of {len(answers)} yes"]
    for word in ("no", "not applicable"):
        if word in answers:
            parts.append(f"{answers.count(word)} {word}")
    return ", ".join(parts)


def handpiece(used: Mapping | None) -> str:
    """Return a handpiece or tip with its kind."""
    used = used or {}
    return f"{shown(used.get('label'))} ({shown(used.get('kind'))})"


def void_line(voided: Mapping, names: Mapping[str, Mapping], zone: str) -> str:
    """Return that a record is void, since when, by whom and why."""
    return (
        f"VOID since {date_time(voided.get('at'), zone)}, "
        f"{person(voided.get('by'), names)}: {shown(voided.get('reason'))}"
    )
