"""A preset as it is written into a file, and read from one. Pure.

One preset is one flat row of texts: names beside ids, so that people can read it and another
practice can use it, and every setting under its path in a dose request (``emission.power``).
An empty cell says that there is nothing.
"""

from collections.abc import Mapping
from typing import Any

from api.dose.schema import GATES, POWERS, PULSES

Row = dict[str, str]

TEXTS = (
    "preset_id",
    "version",
    "name",
    "procedure_kind_id",
    "procedure",
    "device_id",
    "laser",
    "handpiece_id",
    "handpiece",
    "spot_known",
    "focus",
    "coolant",
    "note",
    "reviewed_by",
    "reviewer",
)
SETTINGS = (
    "wavelength",
    *(f"emission.{name}" for name in ("mode", "power_kind", "pulse_shape")),
    *(f"emission.{name}" for name in (*POWERS, *PULSES, *GATES)),
    "spot.diameter",
    "spot.diameter_definition",
    "motion.speed",
)
COLUMNS = (*TEXTS, *SETTINGS)
# A setting without a column of its own (a spot stated by a lens, say) has one under its path.
GROUPS = ("emission", "delivery", "spot", "motion", "tissue")


def to_row(preset: Mapping[str, Any], names: Mapping[str, Mapping[str, str]]) -> Row:
    """Return a preset's document as a row; ``names`` gives {"procedure": {id: name}, ...}."""
    row = {name: _text(preset.get(name)) for name in TEXTS}
    for column, id_name in NAMED.items():
        row[column] = names[column].get(preset.get(id_name) or "", "")
    row |= flat(preset["settings"])
    return {name: text for name, text in row.items() if text != "" or name in COLUMNS}


# The column with the name, and the column with the id, of what a preset refers to.
NAMED = {
    "procedure": "procedure_kind_id",
    "laser": "device_id",
    "handpiece": "handpiece_id",
    "reviewer": "reviewed_by",
}


def flat(settings: Mapping[str, Any]) -> Row:
    """Return settings as {path: text}; a quantity of two parts becomes "4.5 W"."""
    found: Row = {}
    for name, value in settings.items():
        if isinstance(value, Mapping) and set(value) != {"value", "unit"}:
            for inner, part in value.items():
                found[f"{name}.{inner}"] = _text(part)
        else:
            found[name] = _text(value)
    return found


def to_settings(row: Mapping[str, str]) -> dict[str, Any]:
    """Return the settings of a row as a dose request; what is empty is left out."""
    settings: dict[str, Any] = {}
    for path, text in row.items():
        group, _, name = path.partition(".")
        value = text.strip()
        if not value or path in TEXTS:
            continue
        if name:
            settings.setdefault(group, {})[name] = value
        else:
            settings[path] = value
    return settings


def unknown_columns(names: object) -> list[str]:
    """Return the names that are neither a column nor the path of a setting."""
    return [
        str(name)
        for name in names
        if name not in COLUMNS
        and not (isinstance(name, str) and name.partition(".")[0] in GROUPS and "." in name)
    ]


def _text(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, Mapping):
        return f"{value.get('value')} {value.get('unit')}".strip()
    return str(value)
