"""What is due, and when. Pure.

Mirror: ``pwa/src/session/due.ts``; both are held to ``tests/vectors/due.json``. How often is the
practice's own rule (documents of kind ``due_rule``); the defaults below are common practice,
except where their citation says more. They say when to look again, never that something is safe
until then.
"""

from calendar import monthrange
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from api.clock import parse_rfc3339

OVERDUE = "overdue"
DUE = "due"
SOON = "soon"
_ORDER = (OVERDUE, DUE, SOON)

Documents = Mapping[str, Sequence[Mapping]]


@dataclass(frozen=True, kw_only=True)
class Rule:
    """How often something is due: in days or in months of the calendar."""

    every_days: int | None = None
    every_months: int | None = None

    @property
    def soon_days(self) -> int:
        """How many days ahead it is called soon: at most a month, or a quarter of the time."""
        days = self.every_days if self.every_days is not None else 28 * (self.every_months or 0)
        return min(30, days // 4)


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
# Lists about a laser that are answered again and again, by their kind.
_AGAIN = ("weekly", "monthly", "yearly")
# What keeps a laser in order, and not only puts right what broke.
_KEEPS_IN_ORDER = ("service", "inspection")
# This project's own choice: whether an incident has to be reported is not left for later.
_ASSESSED_WITHIN = timedelta(days=1)
_REPORT_SOON_DAYS = 30
_ACTION_SOON_DAYS = 7
# An expiry is a day on the credential itself.
_CREDENTIAL_SOON_DAYS = 60
_PASSED = ("ok", "warn")


@dataclass(frozen=True, kw_only=True, order=True)
class Row:
    """One thing that is due.

    ``due_on`` is a day of the location's calendar; None where it was never done. ``detail`` names
    the credential of a person, the action after an incident.
    """

    what: str
    subject_kind: str
    subject_id: str
    due_on: str | None
    state: str
    detail: str | None = None


def due_rows(documents: Documents, moment: datetime, zone: str) -> list[Row]:
    """Return what is overdue, due today or due soon at ``moment``, the most pressing first.

    ``documents`` are the house's, by kind, as they are stored; a kind that is missing says nothing.
    """
    today = moment.astimezone(ZoneInfo(zone)).date()
    rules = _rules(documents.get("due_rule", ()))
    found = [row for rows in _SUBJECTS for row in rows(documents, rules, today, zone)]
    return sorted(
        found,
        key=lambda row: (
            _ORDER.index(row.state),
            row.due_on or "",
            row.what,
            row.subject_id,
            row.detail or "",
        ),
    )


def after(day: date, rule: Rule) -> date:
    """Return when it is due again; the last day of a month stays in the month that is meant."""
    if rule.every_days is not None:
        return day + timedelta(days=rule.every_days)
    months = day.month - 1 + (rule.every_months or 0)
    year, month = day.year + months // 12, months % 12 + 1
    return date(year, month, min(day.day, monthrange(year, month)[1]))


def _rules(ruled: Iterable[Mapping]) -> dict[str, Rule]:
    rules = dict(DEFAULTS)
    for one in ruled:
        what = one["due_rule_id"]
        days, months = one.get("every_days"), one.get("every_months")
        # A rule that says neither or both says nothing that could be reckoned with.
        if what in rules and (days is None) != (months is None):
            rules[what] = Rule(every_days=days, every_months=months)
    return rules


def _state(due_on: date | None, today: date, soon_days: int) -> str | None:
    if due_on is None:
        return DUE
    if due_on < today:
        return OVERDUE
    if due_on == today:
        return DUE
    return SOON if due_on <= today + timedelta(days=soon_days) else None


def _row(
    what: str,
    subject: tuple[str, str],
    due_on: date | None,
    today: date,
    soon_days: int,
    detail: str | None = None,
) -> Iterator[Row]:
    state = _state(due_on, today, soon_days)
    if state is not None:
        said = None if due_on is None else due_on.isoformat()
        kind, subject_id = subject
        yield Row(
            what=what,
            subject_kind=kind,
            subject_id=subject_id,
            due_on=said,
            state=state,
            detail=detail,
        )


def _in_use(documents: Documents, kind: str) -> Iterator[Mapping]:
    return (one for one in documents.get(kind, ()) if one.get("status") in (None, "current"))


def _local(moment: str, zone: str) -> date:
    return parse_rfc3339(moment).astimezone(ZoneInfo(zone)).date()


def _meters(documents: Documents, rules: Mapping, today: date, _zone: str) -> Iterator[Row]:
    rule = rules["meter_calibration"]
    for meter in _in_use(documents, "meter"):
        stated = meter.get("due_on")
        due_on = (
            date.fromisoformat(stated)
            if stated
            else after(date.fromisoformat(meter["calibrated_on"]), rule)
        )
        subject = ("meter", meter["meter_id"])
        yield from _row("meter_calibration", subject, due_on, today, rule.soon_days)


def _eyewear(documents: Documents, rules: Mapping, today: date, zone: str) -> Iterator[Row]:
    rule = rules["eyewear_inspection"]
    for piece in _in_use(documents, "eyewear"):
        last = max((_local(one["at"], zone) for one in piece.get("inspections", ())), default=None)
        due_on = None if last is None else after(last, rule)
        subject = ("eyewear", piece["eyewear_id"])
        yield from _row("eyewear_inspection", subject, due_on, today, rule.soon_days)


def _inventory(documents: Documents, rules: Mapping, today: date, _zone: str) -> Iterator[Row]:
    rule = rules["inventory"]
    for location in documents.get("location", ()):
        taken = [date.fromisoformat(one["seen_on"]) for one in documents.get("inventory", ())]
        due_on = after(max(taken), rule) if taken else None
        subject = ("location", location["location_id"])
        yield from _row("inventory", subject, due_on, today, rule.soon_days)


def _power_checks(documents: Documents, rules: Mapping, today: date, zone: str) -> Iterator[Row]:
    rule = rules["power_check"]
    passed: dict[str, date] = {}
    for check in documents.get("verification", ()):
        if check.get("verdict") in _PASSED:
            day = _local(check["verified_at"], zone)
            passed[check["device_id"]] = max(day, passed.get(check["device_id"], day))
    for device in _in_use(documents, "device"):
        last = passed.get(device["device_id"])
        due_on = None if last is None else after(last, rule)
        subject = ("device", device["device_id"])
        yield from _row("power_check", subject, due_on, today, rule.soon_days)


def _lists(documents: Documents, rules: Mapping, today: date, zone: str) -> Iterator[Row]:
    """Yield the lists to be answered for each laser, of the kinds that the practice has written."""
    written = {one["kind"] for one in documents.get("list", ()) if _in_force(one, today)}
    passed: dict[tuple[str, str], date] = {}
    for check in documents.get("device_check", ()):
        if check.get("verdict") == "passed":
            key, day = (check["device_id"], check["kind"]), _local(check["done_at"], zone)
            passed[key] = max(day, passed.get(key, day))
    for device in _in_use(documents, "device"):
        for kind in _AGAIN:
            if kind not in written:
                continue
            last = passed.get((device["device_id"], kind))
            due_on = None if last is None else after(last, rules[kind])
            subject = ("device", device["device_id"])
            yield from _row(kind, subject, due_on, today, rules[kind].soon_days)


def _in_force(document: Mapping, today: date) -> bool:
    return any(
        one.get("effective_from") is None or one["effective_from"] <= today.isoformat()
        for one in document.get("versions", ())
    )


def _maintenance(documents: Documents, rules: Mapping, today: date, _zone: str) -> Iterator[Row]:
    """Yield when lasers are due for service: as the last one says, or by the practice's rule.

    Where none was ever noted, and the practice has made no rule, nothing is said: whether a laser
    needs it, and how often, its maker says.
    """
    rule = rules["maintenance"]
    ruled = any(one["due_rule_id"] == "maintenance" for one in documents.get("due_rule", ()))
    last: dict[str, Mapping] = {}
    for work in _in_use(documents, "maintenance"):
        if work["kind"] in _KEEPS_IN_ORDER:
            last[work["device_id"]] = max(
                work, last.get(work["device_id"], work), key=lambda one: one["done_on"]
            )
    for device in _in_use(documents, "device"):
        work = last.get(device["device_id"])
        if work is None and not ruled:
            continue
        due_on = None
        if work is not None:
            stated = work.get("next_due_on")
            done_on = date.fromisoformat(work["done_on"])
            due_on = date.fromisoformat(stated) if stated else after(done_on, rule)
        subject = ("device", device["device_id"])
        yield from _row("maintenance", subject, due_on, today, rule.soon_days)


def _incidents(documents: Documents, _rules: Mapping, today: date, zone: str) -> Iterator[Row]:
    for incident in documents.get("incident", ()):
        if incident["status"] != "open":
            continue
        subject, points = ("incident", incident["incident_id"]), incident["open_points"]
        if "not_assessed" in points and incident.get("happened_at"):
            day = _local(incident["happened_at"], zone) + _ASSESSED_WITHIN
            yield from _row("incident_assessment", subject, day, today, _ASSESSED_WITHIN.days)
        if "not_reported" in points:
            report_by = incident["decisions"][-1].get("report_by")
            day = date.fromisoformat(report_by) if report_by else None
            yield from _row("incident_report", subject, day, today, _REPORT_SOON_DAYS)
        for action in incident["actions"]:
            if action.get("by_day") and not action.get("done_on"):
                day = date.fromisoformat(action["by_day"])
                yield from _row(
                    "incident_action", subject, day, today, _ACTION_SOON_DAYS, action["action_id"]
                )


def _credentials(documents: Documents, _rules: Mapping, today: date, _zone: str) -> Iterator[Row]:
    for person in _in_use(documents, "person"):
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
            yield from _row(
                "credential", subject, day, today, _CREDENTIAL_SOON_DAYS, detail=credential_id
            )


# Whose due days are reckoned; another subject adds its own.
_SUBJECTS: tuple[Callable[[Documents, Mapping, date, str], Iterator[Row]], ...] = (
    _meters,
    _eyewear,
    _inventory,
    _power_checks,
    _lists,
    _maintenance,
    _incidents,
    _credentials,
)
