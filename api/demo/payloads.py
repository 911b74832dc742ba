"""Pieces of payloads that a demo tablet makes. Pure."""

from collections.abc import Mapping


def as_texts(dose: Mapping) -> dict:
    """Return a pass's dose as an event carries it: numbers as decimal texts."""

    def texts(values: Mapping | None) -> dict | None:
        return None if values is None else {name: repr(value) for name, value in values.items()}

    return {
        "engine": dose["engine"],
        "set": texts(dose["set"]),
        "delivered": texts(dose["delivered"]),
    }


def check_used(check: Mapping | None) -> dict | None:
    """Return a power check as a case or a pass carries it."""
    return check and {
        name: check.get(name)
        for name in (
            "verification_id",
            "event_id",
            "ratio",
            "ratio_uncertainty",
            "verified_at",
            "mode",
            "handpiece_id",
            "verdict",
        )
    }


def emitted(pass_id: str, emission: Mapping) -> dict:
    """Return a laser-on time of a pass."""
    return {
        "pass_id": pass_id,
        "laser_on_time": f"{emission['seconds']} s",
        "source": emission["source"],
        "pulses": emission.get("pulses"),
    }
