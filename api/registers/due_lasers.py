"""What is due of lasers: power checks, lists, maintenance. Pure.

Work on a laser (a move, a service, a repair) asks for a power check and for the list after a move,
as soon as it was done, until each was passed on that day or later. Work is known by its day alone,
so a check of the same day counts as one after it. A commissioning that was passed does for the list
too. Nothing is asked of work that was taken back, of a laser that is retired, or by a list that the
practice has not written.
"""

from collections.abc import Collection, Iterator, Mapping
from datetime import date

from api.registers.due_days import Documents, Row, after, in_use, local_day, row

# Lists about a laser that are answered again and again, by their kind.
_AGAIN = ("weekly", "monthly", "yearly")
# What keeps a laser in order, and not only puts right what broke.
_KEEPS_IN_ORDER = ("service", "inspection")
# After which a laser has to show anew that it is right.
_WORKED_ON = ("move", "service", "repair")
# What shows it; a commissioning asks for all that is asked after a move, and more.
_AFTER_MOVE = "after_move"
_AFTER_WORK = (_AFTER_MOVE, "commissioning")
_PASSED = ("ok", "warn")


def power_checks(documents: Documents, rules: Mapping, today: date, zone: str) -> Iterator[Row]:
    """Yield when the power of each laser is to be checked: by the rule, and after work on it."""
    rule = rules["power_check"]
    worked = _worked_on(documents, today)
    passed: dict[str, date] = {}
    for check in documents.get("verification", ()):
        if check.get("verdict") in _PASSED:
            day = local_day(check["verified_at"], zone)
            passed[check["device_id"]] = max(day, passed.get(check["device_id"], day))
    for device in in_use(documents, "device"):
        last = passed.get(device["device_id"])
        due_on = None if last is None else after(last, rule)
        work = worked.get(device["device_id"])
        if last is not None and work is not None and last < work:
            due_on = min(after(last, rule), work)
        subject = ("device", device["device_id"])
        yield from row("power_check", subject, due_on, today, rule.soon_days)


def lists(documents: Documents, rules: Mapping, today: date, zone: str) -> Iterator[Row]:
    """Yield the lists to be answered for each laser, of the kinds that the practice has written."""
    written = {one["kind"] for one in documents.get("list", ()) if _in_force(one, today)}
    passed: dict[tuple[str, str], date] = {}
    for check in documents.get("device_check", ()):
        if check.get("verdict") == "passed":
            key, day = (check["device_id"], check["kind"]), local_day(check["done_at"], zone)
            passed[key] = max(day, passed.get(key, day))
    for device in in_use(documents, "device"):
        for kind in _AGAIN:
            if kind not in written:
                continue
            last = passed.get((device["device_id"], kind))
            due_on = None if last is None else after(last, rules[kind])
            subject = ("device", device["device_id"])
            yield from row(kind, subject, due_on, today, rules[kind].soon_days)
    yield from _after_work(documents, written, passed, today)


def _after_work(
    documents: Documents,
    written: Collection[str],
    passed: Mapping[tuple[str, str], date],
    today: date,
) -> Iterator[Row]:
    if _AFTER_MOVE not in written:
        return
    worked = _worked_on(documents, today)
    for device in in_use(documents, "device"):
        device_id = device["device_id"]
        work = worked.get(device_id)
        shown = [day for kind in _AFTER_WORK if (day := passed.get((device_id, kind)))]
        if work is not None and not any(day >= work for day in shown):
            yield from row(_AFTER_MOVE, ("device", device_id), work, today, 0)


def _worked_on(documents: Documents, today: date) -> dict[str, date]:
    """Return on which day there was work on each laser last; what is yet to come is none."""
    last: dict[str, date] = {}
    for work in in_use(documents, "maintenance"):
        day = date.fromisoformat(work["done_on"])
        if work["kind"] in _WORKED_ON and day <= today:
            last[work["device_id"]] = max(day, last.get(work["device_id"], day))
    return last


def _in_force(document: Mapping, today: date) -> bool:
    return any(
        one.get("effective_from") is None or one["effective_from"] <= today.isoformat()
        for one in document.get("versions", ())
    )


def maintenance(documents: Documents, rules: Mapping, today: date, _zone: str) -> Iterator[Row]:
    """Yield when lasers are due for service: as the last one says, or by the practice's rule.

    Where none was ever noted, and the practice has made no rule, nothing is said: whether a laser
    needs it, and how often, its maker says.
    """
    rule = rules["maintenance"]
    ruled = any(one["due_rule_id"] == "maintenance" for one in documents.get("due_rule", ()))
    last: dict[str, Mapping] = {}
    for work in in_use(documents, "maintenance"):
        if work["kind"] in _KEEPS_IN_ORDER:
            last[work["device_id"]] = max(
                work, last.get(work["device_id"], work), key=lambda one: one["done_on"]
            )
    for device in in_use(documents, "device"):
        work = last.get(device["device_id"])
        if work is None and not ruled:
            continue
        due_on = None
        if work is not None:
            stated = work.get("next_due_on")
            done_on = date.fromisoformat(work["done_on"])
            due_on = date.fromisoformat(stated) if stated else after(done_on, rule)
        subject = ("device", device["device_id"])
        yield from row("maintenance", subject, due_on, today, rule.soon_days)
