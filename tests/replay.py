"""A story that only waited in vain is played once more, and both plays are told of.

A busy machine, and nothing else, may make a screen late. Such a story is played again from nothing:
with a server, a copy of the demo and a browser of its own. The run says so at its end, so that what
was late is looked at. Everything else is what a story is there to find (a lost or doubled event, an
unequal hash, a foreign byte, a breach of a rule for screens) and fails at once.

Where a wait in vain is itself a find, nothing is played again: a story whose subject is what is
kept, what lies on the tablet, or what a tap costs, is marked ``once``; a line of another story that
looks for what was kept before says so by `acts.nothing_lost`.
"""

import re

import pytest
from _pytest.runner import runtestprotocol

# What Playwright or `acts.until` say where something was not there in time, and nothing else does.
WAITED = re.compile(
    r"^(playwright\._impl\._errors\.TimeoutError"
    r"|AssertionError: ((Locator|Page) expected |waited in vain for ))"
)
TWICE = "played twice"


def waited_in_vain(reports: list[pytest.TestReport]) -> str | None:
    """Return what a play waited for in vain, where that is all that was wrong with it."""
    said = [_message(report) for report in reports if report.failed]
    if said and all(WAITED.match(one) for one in said):
        return said[0]
    return None


def replayed(item: pytest.Item) -> bool:
    """Whether a test is one of those that may be played again."""
    if not item.module.__name__.startswith("tests.story.") or item.get_closest_marker("once"):
        return False
    # Its parts go on from one another: a part played from nothing is another test.
    return "two_tablets" not in item.fixturenames


def _message(report: pytest.TestReport) -> str:
    crash = getattr(report.longrepr, "reprcrash", None)
    return "" if crash is None else crash.message


@pytest.hookimpl(tryfirst=True)
def pytest_runtest_protocol(item: pytest.Item, nextitem: pytest.Item | None) -> bool | None:
    """Play a story, and one that waited in vain twice."""
    if not replayed(item):
        return None
    item.ihook.pytest_runtest_logstart(nodeid=item.nodeid, location=item.location)
    reports = runtestprotocol(item, nextitem=nextitem, log=False)
    waited = waited_in_vain(reports)
    if waited is not None:
        # Nothing of the first play is left over: no server, no browser.
        try:
            item.session._setupstate.teardown_exact(None)
        except Exception as problem:
            waited = f"{waited} (then, while everything was put away: {problem!r})"
        reports = runtestprotocol(item, nextitem=nextitem, log=False)
        for report in reports:
            report.user_properties.append((TWICE, waited))
    for report in reports:
        item.ihook.pytest_runtest_logreport(report=report)
    item.ihook.pytest_runtest_logfinish(nodeid=item.nodeid, location=item.location)
    return True


def pytest_terminal_summary(terminalreporter) -> None:
    """Tell of every story that was played twice, what it had waited for, and how it ended."""
    ended: dict[str, tuple[str, str]] = {}
    for outcome in ("passed", "failed", "error"):
        for report in terminalreporter.stats.get(outcome, []):
            for name, waited in getattr(report, "user_properties", ()):
                if name == TWICE:
                    ended[report.nodeid] = (outcome, waited)
    if ended:
        terminalreporter.section(TWICE)
    for nodeid, (outcome, waited) in ended.items():
        terminalreporter.line(f"{TWICE}: {nodeid}, {outcome} the second time; at the first:")
        terminalreporter.line(f"    {' '.join(waited.split())[:300]}")
