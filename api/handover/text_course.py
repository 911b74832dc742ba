"""Lines of the chart's text about the course of a procedure, beside its passes."""

from collections.abc import Callable, Mapping

from api.handover import list_states, phrases
from api.handover.phrases import BLANK, shown

Short = Callable[[object], str]
HASH_SHOWN = 12


def whole(record: Mapping, names: Mapping[str, Mapping], zone: str, short: Short) -> list[str]:
    """Return what has to be read first: that the record is void, and that it was moved."""
    lines = []
    voided = record.get("voided")
    if voided:
        said = {**voided, "reason": short(voided.get("reason"))}
        lines += [phrases.void_line(said, names, zone), phrases.VOID_MEANS]
    # The other number is another patient's, and must not stand in this one's chart.
    lines += [
        f"Moved from another chart number, {phrases.date(one.get('at'), zone)}, "
        f"{phrases.person(one.get('by'), names)}, reason: {short(one.get('reason'))}"
        for one in record.get("reattributions") or []
    ]
    return lines


def before(record: Mapping, zone: str, short: Short, *, brief: bool) -> list[str]:
    """Return the lists as answered, time-out apart, and how people were protected."""
    lines = [
        f"{phrases.LIST_WORDS.get(one.get('kind'), shown(one.get('kind')))}: "
        f"{phrases.answer_count(one)}, {phrases.minute(one.get('completed_at'), zone)}"
        for one in record.get("lists") or []
    ]
    lines = [] if brief else lines
    lines += [
        "Laser out of service, went on: " + short(one.get("reason"))
        for one in record.get("overrides") or []
    ]
    return [*lines, *list_states.remarks(record, zone), _protection(record, short, brief=brief)]


def beside(
    record: Mapping, names: Mapping[str, Mapping], zone: str, short: Short, *, brief: bool
) -> list[str]:
    """Return pauses, hand-overs and photographs, where there are any; brief: how many."""
    if brief:
        return _counts(record)
    lines = []
    pauses = [
        f"{phrases.minute(one.get('from_at'), zone)}-{phrases.minute(one.get('to_at'), zone)}"
        + (f" ({short(one['reason'])})" if one.get("reason") else "")
        for one in record.get("pauses") or []
    ]
    if pauses:
        lines.append(f"Pauses: {', '.join(pauses)}")
    lines += [
        f"{phrases.minute(one.get('at'), zone)} {shown(one.get('role'))} handed over: "
        f"{phrases.person(one.get('from_id'), names)} to {phrases.person(one.get('to_id'), names)}"
        for one in record.get("handovers") or []
    ]
    return lines + _photographs(record, short)


def _protection(record: Mapping, short: Short, *, brief: bool) -> str:
    said = record.get("protection")
    if not said:
        return f"Protection: {BLANK}"
    heads = f"{shown(said.get('heads'))} heads, {len(said.get('eyewear') or [])} eyewear"
    deviations = f"; deviations: {short(said['deviations'])}" if said.get("deviations") else ""
    rest = f"; evacuator: {short(said.get('evacuator'))}; masks: {short(said.get('masks'))}"
    return f"Protection: {heads}{'' if brief else rest}{deviations}"


def _photographs(record: Mapping, short: Short) -> list[str]:
    found = record.get("attachments") or []
    if not found:
        return []
    each = ", ".join(
        (f"{short(one['caption'])} " if one.get("caption") else "") + one["sha256"][:HASH_SHOWN]
        for one in found
    )
    return [f"Photographs: {len(found)} ({each})"]


def _counts(record: Mapping) -> list[str]:
    counted = [
        (len(record.get(name) or []), word)
        for name, word in (
            ("lists", "lists answered"),
            ("pauses", "pauses"),
            ("handovers", "hand-overs"),
            ("attachments", "photographs"),
        )
    ]
    told = ", ".join(f"{word} {count}" for count, word in counted if count)
    return [f"Also recorded, see the PDF: {told}"] if told else []
