"""What a file of presets would do here: row by row, before anything is done. Pure."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from api.events import catalogue
from api.presets import check
from api.presets.row import NAMED, Row, flat, to_row, to_settings

NEW, SAME, NEXT, REFUSED = "new", "same", "new version", "refused"
Documents = Mapping[str, Mapping[str, Any]]

# What decides whether two presets are the same; their version and history do not.
_CONTENT = (
    "name",
    "procedure_kind_id",
    "device_id",
    "handpiece_id",
    "spot_known",
    "focus",
    "coolant",
    "note",
    "reviewed_by",
)


@dataclass(frozen=True, kw_only=True)
class House:
    """What a location has, each by id; ``people`` are those who may publish presets."""

    presets: Documents
    devices: Documents
    handpieces: Documents
    kinds: Documents
    people: Documents

    def register(self, column: str) -> tuple[Documents, str]:
        """Return the register that a column names things of, and the key of their names."""
        return {
            "procedure": (self.kinds, "text"),
            "laser": (self.devices, "label"),
            "handpiece": (self.handpieces, "label"),
            "reviewer": (self.people, "display_name"),
        }[column]


@dataclass(frozen=True, kw_only=True)
class Planned:
    """What one row comes to. ``payload`` is that of ``preset.published`` unless refused or same."""

    name: str
    outcome: str
    preset_id: str | None = None
    version: int | None = None
    base_version: int | None = None
    payload: Mapping[str, Any] | None = None
    errors: check.Problems = field(default_factory=dict)


def export_rows(house: House) -> list[Row]:
    """Return the presets in force as rows, by name."""
    names = {}
    for column in NAMED:
        register, key = house.register(column)
        names[column] = {known_id: str(known[key]) for known_id, known in register.items()}
    in_force = [one for one in house.presets.values() if one["status"] == "current"]
    in_force.sort(key=lambda one: (one["name"].casefold(), one["preset_id"]))
    return [to_row(one, names) for one in in_force]


def plan(rows: Sequence[Row], house: House, *, importer: str) -> list[Planned]:
    """Return what each row would do, in their order; ``importer`` reviews where nobody is named.

    A row is about the preset of its ``preset_id``, else about the one of the same name for the
    same laser and tip. It builds on the version in force, and must not name another one.
    """
    planned: list[Planned] = []
    taken: set[str] = set()
    for row in rows:
        one = _plan(row, house, importer)
        # As names are told apart: without their case.
        name = row.get("name", "").casefold()
        about = one.preset_id or f"{name}|{(one.payload or {}).get('handpiece_id')}"
        if one.outcome != REFUSED and about in taken:
            one = _refused(row, {"name": ["an earlier row is about the same preset"]})
        taken.add(about)
        planned.append(one)
    return planned


def _plan(row: Row, house: House, importer: str) -> Planned:
    errors: check.Problems = {}
    payload = _payload(row, house, importer, errors)
    if errors:
        return _refused(row, errors)
    known = _known(row, payload, house, errors)
    base = None if known is None else known["version"]
    payload["version"] = (base or 0) + 1
    for path, texts in catalogue.payload_problems("preset.published", payload).items():
        errors.setdefault(path.removeprefix("settings."), []).extend(texts)
    if not errors:
        found = check.problems(
            payload,
            devices=house.devices,
            handpieces=house.handpieces,
            kinds=house.kinds,
            reviewers=house.people,
        )
        errors |= {path.removeprefix("settings."): texts for path, texts in found.items()}
    if errors:
        return _refused(row, errors)
    stated = {"name": payload["name"], "preset_id": row.get("preset_id", "").strip() or None}
    if known is None:
        return Planned(**stated, outcome=NEW, version=1, payload=payload)
    stated["preset_id"] = known["preset_id"]
    if _content(known) == _content(payload):
        return Planned(**stated, outcome=SAME, version=base)
    return Planned(**stated, outcome=NEXT, version=base + 1, base_version=base, payload=payload)


def _refused(row: Row, errors: check.Problems) -> Planned:
    return Planned(name=row.get("name", ""), outcome=REFUSED, errors=errors)


def _payload(row: Row, house: House, importer: str, errors: check.Problems) -> dict[str, Any]:
    found: dict[str, Any] = {
        "name": row.get("name", ""),
        "settings": to_settings(row),
        "note": row.get("note") or None,
    }
    for name in ("spot_known", "focus", "coolant"):
        found[name] = row.get(name, "").strip()
    laser: str | None = None
    for column, id_name in NAMED.items():
        register, key = house.register(column)
        if column == "handpiece":
            register = {i: one for i, one in register.items() if one.get("device_id") == laser}
        found[id_name] = _resolve(row, column, id_name, register, key, errors)
        if column == "laser":
            laser = found[id_name]
    found["reviewed_by"] = found["reviewed_by"] or importer
    if not found["name"].strip():
        errors["name"] = ["is needed"]
    for column in ("laser", "handpiece"):
        if found[NAMED[column]] is None and column not in errors:
            errors[column] = ["is needed"]
    return found


def _resolve(
    row: Row,
    column: str,
    id_name: str,
    register: Documents,
    key: str,
    errors: check.Problems,
) -> str | None:
    """Return the id that a row means: by id where it is known here, else by its one name."""
    named_id, name = row.get(id_name, "").strip(), row.get(column, "").strip()
    if named_id in register:
        return named_id
    if not name:
        if named_id:
            errors[id_name] = ["is not known here"]
        return None
    wanted = name.casefold()
    found = [i for i, one in register.items() if str(one.get(key)).strip().casefold() == wanted]
    if len(found) == 1:
        return found[0]
    errors[column] = [
        f"there are {len(found)} of this name; give {id_name}" if found else "is not known here"
    ]
    return None


def _known(
    row: Row, payload: Mapping[str, Any], house: House, errors: check.Problems
) -> Mapping[str, Any] | None:
    """Return the document of the preset that a row is about, or None for a new one."""
    preset_id = row.get("preset_id", "").strip()
    namesakes = [
        one
        for one in house.presets.values()
        if one["status"] == "current"
        and one["name"].casefold() == payload["name"].casefold()
        and (one["device_id"], one["handpiece_id"])
        == (payload["device_id"], payload["handpiece_id"])
        and one["preset_id"] != preset_id
    ]
    known = house.presets.get(preset_id)
    if known is None and not preset_id and namesakes:
        known = namesakes[0]
    elif namesakes:
        errors["name"] = ["another preset for this laser and tip has this name"]
    if known is None:
        return None
    if known["status"] == "withdrawn":
        withdrawn = known["withdrawn"]
        errors["preset_id"] = [f"was withdrawn on {withdrawn['at'][:10]}: {withdrawn['reason']}"]
    elif known["status"] != "current":
        errors["preset_id"] = ["is a draft that was never in force"]
    stated = row.get("version", "").strip()
    if stated and stated != str(known.get("version")):
        errors["version"] = [
            f"version {known.get('version')} is in force, not {stated}; empty this cell to publish "
            "on it"
        ]
    return None if errors else known


def _content(preset: Mapping[str, Any]) -> dict[str, Any]:
    return {
        **{name: preset.get(name) or None for name in _CONTENT},
        "settings": flat(preset["settings"]),
    }
