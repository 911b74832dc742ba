"""What is due, and when. Pure.

Mirror: ``pwa/src/session/due.ts``; both are held to ``tests/vectors/due.json``. How often is the
practice's own rule (documents of kind ``due_rule``); the defaults below are common practice,
except where their citation says more. They say when to look again, never that something is safe
until then.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from api.registers import due_lasers
from api.registers.due_days import (
    DUE,
    OVERDUE,
    SOON,
    Documents,
    Row,
    Rule,
    after,
    in_use,
    local_day,
    row,
)

_ORDER = (OVERDUE, DUE, SOON)

# 25 TAC 289.301(j): a yearly inventory (read in secondary copies). All else: common practice, no
# source; the weekly power check is the project's own choice.
DEFAULTS: Mapping[str, Rule] = {
    "meter_calibration": Rule(every_months=12),
    "eyewear_inspection": Rule(every_months=12),
    "inventory": Rule(every_months=12),
    "power_check": Rule(every_days=7),
    "maintenance": Rule(every_months=12),
    "weekly": Rule(every_days=7),
    "monthly": Rule(every_months=1),
    "yearly": Rule(every_months=12),
}
# This project's own choice: whether an incident has to be reported is not left for later.
_ASSESSED_WITHIN = timedelta(days=1)
_REPORT_SOON_DAYS = 30
_ACTION_SOON_DAYS = 7
# An expiry is a day on the credential itself.
_CREDENTIAL_SOON_DAYS = 60


def due_rows(documents: Documents, moment: datetime, zone: str) -> list[Row]:
    """Return what is overdue, due today or due soon at ``moment``, the most pressing first.

    ``documents`` are the house's, by kind, as they are stored; a kind that is missing says nothing.
    """
    today = moment.astimezone(ZoneInfo(zone)).date()
    rules = _rules(documents.get("due_rule", ()))
    found = [one for rows in _SUBJECTS for one in rows(documents, rules, today, zone)]
    return sorted(
        found,
        key=lambda one: (
            _ORDER.index(one.state),
            one.due_on or "",
            one.what,
            one.subject_id,
            one.detail or "",
        ),
    )


def _rules(ruled: Iterable[Mapping]) -> dict[str, Rule]:
    rules = dict(DEFAULTS)
    for one in ruled:
        what = one["due_rule_id"]
        days, months = one.get("every_days"), one.get("every_months")
        # A rule that says neither or both says nothing that could be reckoned with.
        if what in rules and (days is None) != (months is None):
            rules[what] = Rule(every_days=days, every_months=months)
    return rules


def _meters(documents: Documents, rules: Mapping, today: date, _zone: str) -> Iterator[Row]:
    rule = rules["meter_calibration"]
    for meter in in_use(documents, "meter"):
        stated = meter.get("due_on")
        due_on = (
            date.fromisoformat(stated)
            if stated
            else after(date.fromisoformat(meter["calibrated_on"]), rule)
        )
        subject = ("meter", meter["meter_id"])
        yield from row("meter_calibration", subject, due_on, today, rule.soon_days)


def _eyewear(documents: Documents, rules: Mapping, today: date, zone: str) -> Iterator[Row]:
    rule = rules["eyewear_inspection"]
    for piece in in_use(documents, "eyewear"):
        last = max(
            (local_day(one["at"], zone) for one in piece.get("inspections", ())), default=None
        )
        due_on = None if last is None else after(last, rule)
        subject = ("eyewear", piece["eyewear_id"])
        yield from row("eyewear_inspection", subject, due_on, today, rule.soon_days)


def _inventory(documents: Documents, rules: Mapping, today: date, _zone: str) -> Iterator[Row]:
    rule = rules["inventory"]
    for location in documents.get("location", ()):
        taken = [date.fromisoformat(one["seen_on"]) for one in documents.get("inventory", ())]
        due_on = after(max(taken), rule) if taken else None
        subject = ("location", location["location_id"])
        yield from row("inventory", subject, due_on, today, rule.soon_days)


def _incidents(documents: Documents, _rules: Mapping, today: date, zone: str) -> Iterator[Row]:
    for incident in documents.get("incident", ()):
        if incident["status"] != "open":
            continue
        subject, points = ("incident", incident["incident_id"]), incident["open_points"]
        if "not_assessed" in points and incident.get("happened_at"):
            day = local_day(incident["happened_at"], zone) + _ASSESSED_WITHIN
            yield from row("incident_assessment", subject, day, today, _ASSESSED_WITHIN.days)
        if "not_reported" in points:
            report_by = incident["decisions"][-1].get("report_by")
            day = date.fromisoformat(report_by) if report_by else None
            yield from row("incident_report", subject, day, today, _REPORT_SOON_DAYS)
        for action in incident["actions"]:
            if action.get("by_day") and not action.get("done_on"):
                day = date.fromisoformat(action["by_day"])
                yield from row(
                    "incident_action", subject, day, today, _ACTION_SOON_DAYS, action["action_id"]
                )


def _credentials(documents: Documents, _rules: Mapping, today: date, _zone: str) -> Iterator[Row]:
    for person in in_use(documents, "person"):
        if person.get("left_at"):
            continue
        held = [one for one in person.get("credentials") or () if one.get("ended_at") is None]
        ends = [(one["credential_id"], one["expires_on"]) for one in held if one.get("expires_on")]
        # As an older version noted it, until a licence stands among the credentials.
        if person.get("licence_expires") and not any(one["kind"] == "licence" for one in held):
            ends.append((None, person["licence_expires"]))
        for credential_id, expires_on in ends:
            subject = ("person", person["person_id"])
            day = date.fromisoformat(expires_on)
            yield from row(
                "credential", subject, day, today, _CREDENTIAL_SOON_DAYS, detail=credential_id
            )


# Whose due days are reckoned; another subject adds its own.
_SUBJECTS: tuple[Callable[[Documents, Mapping, date, str], Iterator[Row]], ...] = (
    _meters,
    _eyewear,
    _inventory,
    due_lasers.power_checks,
    due_lasers.lists,
    due_lasers.maintenance,
    _incidents,
    _credentials,
)
