"""The exposed cases of a laser on paper: which case, exposed to what, and the numbers of it."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from api.handover import phrases
from api.handover.page import RecordPage
from api.handover.phrases import shown

_SERVICE = {
    "overridden": "Used while out of service, with a reason",
    "not_overridden": "Used while out of service, no reason given",
    "not_known": "Used while out of service; not known on the tablet then",
}
NOTE = (
    "Exposed to a failed power verification: a use between it and the last passed one that speaks "
    "of what both have in common (tip, emission; else the laser's output). The delivered power of "
    "a use with the tip and emission that failed lay between the two ratios, applied to the energy "
    "from the set power. Not a judgement of any treatment; the clinician decides what follows. "
    "Not in it: cases that a tablet has not sent yet, cases whose content was erased, and "
    "locations whose records its reader may not read."
)


def render(found: Mapping[str, Any], facts: Mapping[str, Any], made_at: datetime) -> bytes:
    """Return the PDF of ``exposed_cases.find``.

    ``facts``: ``practice_name``, ``location_name``, ``zone`` [IANA], ``made_by``.
    """
    zone, device = facts["zone"], found["device"]
    page = RecordPage(
        head=[
            f"Exposed cases of {shown(device['label'])}, serial number {shown(device['serial'])}",
            f"{shown(facts['practice_name'])}, {shown(facts['location_name'])}   |   Made "
            f"{phrases.date_time(made_at.isoformat(timespec='milliseconds'), zone)} by "
            f"{shown(facts['made_by'])}",
        ],
        foot="Exposed cases. Contains patients' data.",
        title=f"Exposed cases of {shown(device['label'])}",
        made_at=made_at,
    )
    page.add_page()
    page.line_of("Exposed cases", bold=True, size=15)
    page.line_of(f"{len(found['cases'])} of {shown(device['maker'])} {shown(device['model'])}")
    page.line_of(NOTE, size=8.5)
    if found["cases"]:
        page.grid(
            ("Case", "Started", "Exposed to", "Delivered"),
            [row for case in found["cases"] for row in _rows(case, zone)],
            (30, 20, 34, 26),
        )
    return bytes(page.output())


def _rows(case: Mapping[str, Any], zone: str) -> list[tuple[str, str, str, str]]:
    status = {"void": " (void)", "draft": " (not signed)", "ended": " (not signed)"}
    who = "\n".join(
        (
            f"{shown(case['chart_number'])} {shown(case['second_identifier'])}"
            + status.get(case["status"], ""),
            f"{shown(case['procedure_text'])}, {shown(case['site'])}",
            f"{shown(case['operator_name'])}, {shown(case['location_name'])}",
        )
    )
    when = phrases.date_time(case["started_at"], zone)
    rows = [(who, when, *_window(one, zone)) for one in case["windows"]]
    if case["service"]:
        since = case["causes"][0]["at"] if case["causes"] else None
        said = _SERVICE[case["service"]]
        if since:
            said += f", since {phrases.date_time(since, zone)}"
        if case["reasons"]:
            said += f". Reason: {'; '.join(case['reasons'])}"
        rows.append((who, when, said, ""))
    return rows


def _window(window: Mapping[str, Any], zone: str) -> tuple[str, str]:
    before, failed = window["passed"], window["failed"]
    passes = ", ".join(str(one) for one in window["passes"])
    last = (
        f"last passed {phrases.date_time(before['at'], zone)} ({phrases.percent(before['ratio'])})"
        if before
        else "none passed before"
    )
    exposed_to = (
        f"Power verification failed {phrases.date_time(failed['at'], zone)} "
        f"({phrases.percent(failed['ratio'])}), {last}" + (f"; passes {passes}" if passes else "")
    )
    if not window["same"]:
        return exposed_to, "Other tip or emission than the failed one: no range"
    if window["ratio_least"] is None:
        return exposed_to, f"Only the failed ratio is known: {phrases.percent(failed['ratio'])}"
    ratios = f"{phrases.percent(window['ratio_least'])} to {phrases.percent(window['ratio_most'])}"
    if window["set_energy_j"] is None:
        return exposed_to, f"{ratios} of the set power"
    return exposed_to, (
        f"{ratios} of the set power; set {window['set_energy_j']:.4g} J, delivered "
        f"{window['least_energy_j']:.4g} to {window['most_energy_j']:.4g} J"
    )
