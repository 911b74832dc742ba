"""The passes of a record on paper: panel, spot, laser-on time and both doses of each."""

from collections.abc import Mapping

from api.dose import display
from api.handover import phrases
from api.handover.page import RecordPage
from api.handover.phrases import BLANK, shown

# A pass is kept on one page: heading, settings and remark, then a row for each result.
PASS_MM = 48
DOSE_ROW_MM = 6.2
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


def add(page: RecordPage, record: Mapping, names: Mapping[str, Mapping], zone: str) -> None:
    """Write every pass; tip and operator of a pass stand there where the passes differ in them."""
    passes = record.get("passes") or []
    if not passes:
        page.section("Passes")
        page.line_of(BLANK)
    tips = {_tip_id(one) for one in (record, *passes)} - {None}
    operators = {one.get("operator_id") for one in (record, *passes)} - {None}
    for one in passes:
        more = []
        if len(tips) > 1:
            more.append(("Handpiece or tip", phrases.handpiece(one.get("handpiece"))))
        if len(operators) > 1:
            more.append(("Operator", phrases.person(one.get("operator_id"), names)))
        _pass(page, one, more, zone)


def _tip_id(holder: Mapping) -> str | None:
    return (holder.get("handpiece") or {}).get("handpiece_id")


def _pass(page, one, more, zone) -> None:
    settings = one["settings"]
    dose = one.get("dose") or {}
    rows = _dose_rows(one, dose)
    page.room_for(PASS_MM + DOSE_ROW_MM * (len(rows) + len(more) + 1))
    page.section(
        f"Pass {one['number']}   {phrases.time(one.get('started_at'), zone)} to "
        f"{phrases.time(one.get('ended_at'), zone)}"
    )
    distance = shown(one.get("distance"))
    page.pairs(
        [
            *more,
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
