"""Which version of a list is in force: by the calendar of the location's own zone. Pure."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo


def in_force(document: Mapping[str, Any], *, at: datetime, zone: str) -> dict[str, Any] | None:
    """Return the version of a list that is in force at a moment, or None before the first one is.

    ``document`` is a list's house document, ``at`` an aware time, ``zone`` an IANA name. It is the
    last published version whose day has come; a version without a day counts at once. A day begins
    at midnight of the location, however long that day is. What was published later than ``at`` is
    not left out: the answer is about the present, as far as it is known here.
    """
    today = local_day(at, zone)
    for version in reversed(document.get("versions", ())):
        if _begun(version, today):
            return dict(version)
    return None


def upcoming(document: Mapping[str, Any], *, at: datetime, zone: str) -> list[dict[str, Any]]:
    """Return the published versions whose day is still to come, in order of publication.

    One that a later version has already replaced will never be in force, so it is left out.
    """
    today = local_day(at, zone)
    coming: list[dict[str, Any]] = []
    for version in reversed(document.get("versions", ())):
        if _begun(version, today):
            break
        if not any(after["effective_from"] <= version["effective_from"] for after in coming):
            coming.append(dict(version))
    return coming[::-1]


def local_day(at: datetime, zone: str) -> str:
    """Return the date, YYYY-MM-DD, that the calendar of ``zone`` shows at an aware time."""
    return at.astimezone(ZoneInfo(zone)).date().isoformat()


def _begun(version: Mapping[str, Any], today: str) -> bool:
    # Dates in this form compare as texts as they do as days.
    return version.get("effective_from") is None or version["effective_from"] <= today
