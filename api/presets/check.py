"""Whether a preset may be published: within what its laser can do, and not contradicting itself."""

from collections.abc import Iterable, Mapping
from typing import Any

from api.dose.evaluate import respond
from api.dose.limits import check_limits
from api.dose.quantity import to_si
from api.errors import BadInput

Problems = dict[str, list[str]]


def problems(
    preset: Mapping[str, Any],
    *,
    devices: Mapping[str, Mapping[str, Any]],
    handpieces: Mapping[str, Mapping[str, Any]],
    kinds: Mapping[str, Mapping[str, Any]],
    reviewers: Iterable[str],
) -> Problems:
    """Return what is wrong with the content of a preset, by field path; empty when nothing is.

    ``devices``, ``handpieces`` and ``kinds`` are the location's documents by id; ``reviewers`` the
    ids of the people who may publish. The shape of the payload is the catalogue's business.
    """
    found: Problems = {}

    def wrong(field: str, text: str) -> None:
        found.setdefault(field, []).append(text)

    device = devices.get(preset["device_id"])
    if device is None:
        wrong("device_id", "there is no such laser here")
    tip = handpieces.get(preset["handpiece_id"])
    if tip is None:
        wrong("handpiece_id", "there is no such handpiece or tip here")
    elif device is not None and tip.get("device_id") != preset["device_id"]:
        wrong("handpiece_id", "this handpiece or tip belongs to another laser")
    kind = preset.get("procedure_kind_id")
    if kind is not None and kind not in kinds:
        wrong("procedure_kind_id", "there is no such kind of procedure here")
    if preset["reviewed_by"] not in set(reviewers):
        wrong("reviewed_by", "must be a person of this practice who may publish presets")
    for field, texts in settings_problems(preset["settings"], device).items():
        for text in texts:
            wrong(f"settings.{field}" if field else "settings", text)
    return found


def settings_problems(settings: Mapping[str, Any], device: Mapping[str, Any] | None) -> Problems:
    """Return what is wrong with settings by their own field paths, ``device`` being their laser."""
    found = _of_one_use(settings)
    if found:
        return found
    try:
        answer = respond(settings)
        if device is not None:
            found = _against(device, settings)
    except BadInput as problem:
        return problem.errors or {"": [problem.message]}
    for clash in answer["contradictions"]:
        found.setdefault(clash["fields"][-1], []).append(clash["text"])
    if "spot" not in settings:
        found["spot"] = ["is needed"]
    return found


def _of_one_use(settings: Mapping[str, Any]) -> Problems:
    """Return what belongs to one use of a preset, never to the preset."""
    found: Problems = {}
    if "emission_time" in settings:
        found["emission_time"] = ["belongs to a pass, not to a preset"]
    delivery = settings.get("delivery")
    for name in delivery if isinstance(delivery, Mapping) else ():
        if name.startswith("verified_"):
            found[f"delivery.{name}"] = ["comes from the power checks, not from a preset"]
    return found


def _against(device: Mapping[str, Any], settings: Mapping[str, Any]) -> Problems:
    found: Problems = {}
    modes = device.get("modes") or ()
    if modes and settings["emission"]["mode"] not in modes:
        found["emission.mode"] = ["this laser does not have this mode"]
    if to_si(settings["wavelength"], "m") != to_si(device["wavelength"], "m"):
        found["wavelength"] = [f"this laser has {device['wavelength']}"]
    for field, text in check_limits(settings, device.get("limits") or {}).items():
        found.setdefault(field, []).append(text)
    return found
