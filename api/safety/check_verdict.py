"""What a check of a laser comes to: passed or failed, in time or written down late. Pure."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from api.clock import parse_rfc3339

PASSED = "passed"
FAILED = "failed"

# This project's own choice: a check of the morning may be written down the same evening.
LATE_AFTER = timedelta(hours=12)


@dataclass(frozen=True)
class Judged:
    """``failed`` are the items that fail it, by id, in the list's order; ``flags`` say why else."""

    verdict: str
    failed: tuple[str, ...]
    flags: tuple[str, ...]


@dataclass(frozen=True)
class Moments:
    """When it was done, as far as that is believed, and whether it was written down late."""

    done_at: str
    late: bool
    flags: tuple[str, ...]


def version_asked(document: Mapping | None, said: Mapping) -> dict[str, Any] | None:
    """Return the text of the list that was answered, or None where it is not known here.

    A version that came second waits as a draft; on the tablet that wrote it, it counted meanwhile,
    so a check may rightly have answered it. ``list_event_id`` says which of two it was.
    """
    document = document or {}
    known = [*document.get("versions", ()), *document.get("drafts", ())]
    known += document.get("set_aside", ())
    wanted = said.get("list_event_id")
    if wanted is not None:
        return next((dict(one) for one in known if one.get("event_id") == wanted), None)
    number = said.get("list_version")
    return next((dict(one) for one in known if one.get("version") == number), None)


def judge(said: Mapping[str, Any], version: Mapping[str, Any] | None) -> Judged:
    """Judge a check from its answers and the list's version that was asked.

    It passes only if every item of that version has an answer that lets it pass: "yes", or "not
    applicable" where the item allows that, with a reason where it wants one. Flags:
    ``list_unknown`` (nothing to compare with), ``list_differs`` (a list of another kind),
    ``items_missing``, ``not_applicable_refused``, ``reason_missing``, and ``verdict_differs``
    where it was called passed and is not. Whoever called it failed saw more than the answers say:
    that stands.
    """
    answers = {one["item_id"]: one for one in said.get("answers", ())}
    items = list(version["items"]) if version else []
    flags: dict[str, None] = {}
    if version is None:
        flags["list_unknown"] = None
    elif version.get("kind") != said.get("kind"):
        flags["list_differs"] = None
    # An answer to what the list does not ask still says what somebody saw.
    known = {item["item_id"] for item in items}
    items += [{"item_id": name} for name in answers if name not in known]
    failed = []
    for item in items:
        flag = _against(item, answers.get(item["item_id"]))
        if flag is not None:
            failed.append(item["item_id"])
        if flag:
            flags[flag] = None
    stated = said.get("verdict", FAILED)
    judged = FAILED if failed or "list_unknown" in flags or "list_differs" in flags else PASSED
    if judged == FAILED and stated != FAILED:
        flags["verdict_differs"] = None
    return Judged(FAILED if FAILED in (stated, judged) else PASSED, tuple(failed), tuple(flags))


def _against(item: Mapping, answer: Mapping | None) -> str | None:
    """Return None where an item lets the check pass; "" or the flag that says why it does not."""
    if answer is None:
        return "items_missing"
    reasoned = bool((answer.get("note") or "").strip())
    if answer["answer"] == "no":
        return "" if reasoned else "reason_missing"
    if answer["answer"] == "not applicable":
        rule = item.get("not_applicable") or "plain"
        if rule == "never":
            return "not_applicable_refused"
        if rule == "reason" and not reasoned:
            return "reason_missing"
    return None


def moments(claimed_at: str | None, *, written_at: str) -> Moments:
    """Say when a check counts as done, from the claim and when it was written down (RFC 3339).

    Both are of one clock, so a wrong clock does not matter here. A check written down more than
    12 h after its claimed moment is late (``LATE_AFTER``; this project's own choice). One claimed
    for later than it was written counts as done when it was written, flag ``claimed_ahead``: else
    a check could be made today for tomorrow.
    """
    if claimed_at is None:
        return Moments(written_at, False, ())
    over = parse_rfc3339(written_at) - parse_rfc3339(claimed_at)
    if over < timedelta(0):
        return Moments(written_at, False, ("claimed_ahead",))
    return Moments(claimed_at, over > LATE_AFTER, ())
