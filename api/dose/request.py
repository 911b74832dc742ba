"""A dose request in SI units, read as ``schema`` says and checked as a whole.

What is read is kept (``DoseInput.stated``), so that the propagation of uncertainties can settle it
again with one value changed.
"""

from collections.abc import Mapping
from typing import Any, NamedTuple

from marshmallow import ValidationError

from api.dose.constants import table
from api.dose.reading import REQUIRED, read
from api.dose.schema import (
    ABOVE_VALUE,
    CHAIN,
    GATES,
    NO_PROPERTY,
    NOT_STATED,
    POWERS,
    PROPERTIES,
    PULSES,
    RATIO,
    STATED_TWICE,
    DoseRequestSchema,
)
from api.dose.spot import Spot, form_errors, spot_from, too_steep
from api.errors import BadInput


class DoseInput(NamedTuple):
    """A dose request in SI units.

    ``emission``, ``delivery`` and ``tissue`` hold quantities by field name, ``uncertainty``
    absolute standard uncertainties by field path. ``own_ablation_heat`` is whether the heat of
    ablation was stated, rather than that of the tissue's kind.
    """

    wavelength_m: float
    mode: str
    emission: Mapping[str, float]
    power_kind: str
    pulse_shape: str
    delivery: Mapping[str, float]
    verified_at: str | None
    spot: Spot | None
    speed_m_s: float | None
    emission_time_s: float | None
    tissue: Mapping[str, float]
    tissue_kind: str | None
    own_ablation_heat: bool
    uncertainty: Mapping[str, float]
    stated: Mapping[str, Any]

    @property
    def spot_diameter_m(self) -> float | None:
        """The 1/e2 diameter at the tissue, if a spot is stated."""
        return None if self.spot is None else self.spot.diameter_m


def flat(messages: object, path: str = "") -> dict[str, list[str]]:
    """Return nested messages as {field path: [text]}."""
    if isinstance(messages, dict):
        result: dict[str, list[str]] = {}
        for key, value in messages.items():
            inner = f"{path}.{key}" if path else str(key)
            for name, texts in flat(value, inner).items():
                result.setdefault(name, []).extend(texts)
        return result
    texts = messages if isinstance(messages, list) else [messages]
    return {path: [str(text) for text in texts]}


def refuse(errors: Mapping[str, list[str]]) -> BadInput:
    """Return the refusal of a request, with what is wrong by field path."""
    first = next(iter(sorted(errors)))
    return BadInput(
        "bad_request", f"{first} {errors[first][0]}" if first else errors[first][0], errors=errors
    )


def _misplaced(emission: Mapping[str, object]) -> dict[str, list[str]]:
    """Return the fields that do not belong to the emission's mode."""
    mode = emission["mode"]
    errors: dict[str, list[str]] = {}
    for name in GATES:
        if name in emission and mode != "gated":
            errors[f"emission.{name}"] = ["belongs to a gated emission only"]
    for name in PULSES:
        if name in emission and mode == "continuous":
            errors[f"emission.{name}"] = ["does not belong to a continuous emission"]
    if not any(name in emission for name in (*POWERS, *PULSES)):
        errors["emission"] = ["needs a power, an energy, a duration or a rate"]
    return errors


def _at_spot(errors: Mapping[str, list[str]]) -> dict[str, list[str]]:
    return {f"spot.{name}": texts for name, texts in errors.items()}


def _unfit(data: Mapping[str, Any]) -> dict[str, list[str]]:
    """Return what is wrong with parts whose fields can each be read."""
    errors = _misplaced(data["emission"])
    if "spot" in data:
        errors |= _at_spot(form_errors(data["spot"], REQUIRED))
    delivery = data.get("delivery", {})
    if "verified_ratio" not in delivery:
        for name in ("verified_at", "verified_ratio_uncertainty"):
            if name in delivery:
                errors[f"delivery.{name}"] = ["has no meaning without a verified ratio"]
    mirrors = ("mirror_count", "mirror_reflectance")
    for name, other in (mirrors, mirrors[::-1]):
        if other in delivery and name not in delivery:
            errors[f"delivery.{name}"] = [REQUIRED]
    if data.get("tissue") == {}:
        errors["tissue"] = [NO_PROPERTY]
    return errors


def with_defaults(data: Mapping[str, Any]) -> dict[str, Any]:
    """Return what was read, with the properties of the tissue's kind where it states none."""
    whole = dict(data)
    own = data.get("tissue", {})
    usual = table()["tissues"].get(own.get("kind"), {})
    whole["own_ablation_heat"] = "ablation_heat" in own
    whole["tissue"] = {name: entry["value"] for name, entry in usual.items()} | own
    return whole


def value_at(data: Mapping[str, Any], path: str) -> float | None:
    """Return the value of a field path, or None where it is not stated."""
    part, _, name = path.rpartition(".")
    return (data.get(part, {}) if part else data).get(name)


def with_value(data: Mapping[str, Any], path: str, value: float) -> dict[str, Any]:
    """Return what was read with another value at a field path."""
    part, _, name = path.rpartition(".")
    return {**data, part: {**data[part], name: value}} if part else {**data, name: value}


def _absolute_uncertainties(data: Mapping[str, Any]) -> dict[str, float]:
    """Return {field path: absolute standard uncertainty}; raises BadInput at unstated fields."""
    found, errors = {}, {}
    for path, (relative, number) in data.get("uncertainty", {}).items():
        value = value_at(data, path)
        if value is None:
            errors[f"uncertainty.{path}"] = [NOT_STATED]
        elif value and not relative and number > value:
            errors[f"uncertainty.{path}"] = [ABOVE_VALUE]
        else:
            found[path] = number * value if relative else number
    ratio = data.get("delivery", {})
    if "verified_ratio_uncertainty" in ratio:
        if "delivery.verified_ratio" in found:
            errors["uncertainty.delivery.verified_ratio"] = [STATED_TWICE]
        found["delivery.verified_ratio"] = (
            ratio["verified_ratio_uncertainty"] * ratio["verified_ratio"]
        )
    if errors:
        raise refuse(errors)
    return found


def settle(data: Mapping[str, Any], uncertainty: Mapping[str, float]) -> DoseInput:
    """Return the input of the engine for what was read, defaults included."""
    emission, tissue = data["emission"], data["tissue"]
    delivery = data.get("delivery", {})
    spot = data.get("spot")
    return DoseInput(
        wavelength_m=data["wavelength"],
        mode=emission["mode"],
        emission={n: emission[n] for n in (*POWERS, *PULSES, *GATES) if n in emission},
        power_kind=emission.get("power_kind", "not stated"),
        pulse_shape=emission.get("pulse_shape", "rectangular"),
        delivery={n: delivery[n] for n in (*CHAIN, *RATIO) if n in delivery},
        verified_at=delivery.get("verified_at"),
        spot=None if spot is None else spot_from(spot, wavelength_m=data["wavelength"]),
        speed_m_s=data.get("motion", {}).get("speed"),
        emission_time_s=data.get("emission_time"),
        tissue={n: tissue[n] for n in PROPERTIES if n in tissue},
        tissue_kind=tissue.get("kind"),
        own_ablation_heat=data["own_ablation_heat"],
        uncertainty=uncertainty,
        stated=data,
    )


def parse(
    request: Mapping[str, object], schema: type[DoseRequestSchema] = DoseRequestSchema
) -> DoseInput:
    """Return a dose request in SI units; a schema with more fields leaves them in ``stated``.

    Raises BadInput (code ``bad_request``) with ``errors`` by field path.
    """
    try:
        data = read(schema, request)
    except ValidationError as problem:
        raise refuse(flat(problem.messages)) from None
    if errors := _unfit(data):
        raise refuse(errors)
    whole = with_defaults(data)
    given = settle(whole, _absolute_uncertainties(whole))
    if given.spot is not None and (steep := too_steep(given.spot)):
        raise refuse(_at_spot(steep))
    return given
