"""A signed record as it stood at one of its versions. Pure."""

from collections.abc import Mapping
from typing import Any


def at_version(record: Mapping[str, Any], version: int) -> dict[str, Any]:
    """Return the record as it stood at ``version``: 1 as signed, then one more for each change.

    A rendering of an earlier version may be made only after a later change has come in. Raises
    ``ValueError`` for a version that the record does not have.
    """
    if not 1 <= version <= record["version"]:
        raise ValueError(f"record has versions 1 to {record['version']}, not {version}")
    later = {one["event_id"] for one in record["versions"][version:]}
    moves = [one for one in record["reattributions"] if one["event_id"] not in later]
    voided = record["voided"]
    return {
        **record,
        "version": version,
        "versions": record["versions"][:version],
        "status": _status(version, voided, later),
        "patient": _patient(record, moves),
        "addenda": [one for one in record["addenda"] if one["event_id"] not in later],
        "reattributions": moves,
        "voided": None if voided is None or voided["event_id"] in later else voided,
    }


def first_of_present_patient(record: Mapping[str, Any]) -> int:
    """Return the first version that names the patient whose record this is.

    What was not written down before the record was moved is not written down with the name of
    somebody else.
    """
    moved = [one["version"] for one in record["versions"] if one["cause"] == "reattribution"]
    return max(moved, default=1)


def _status(version: int, voided: Mapping[str, Any] | None, later: set[str]) -> str:
    if voided is not None and voided["event_id"] not in later:
        return "void"
    return "signed" if version == 1 else "amended"


def _patient(record: Mapping[str, Any], moves: list) -> Any:
    if len(moves) == len(record["reattributions"]):
        return record["patient"]
    return moves[-1]["to"] if moves else record["reattributions"][0]["from"]
