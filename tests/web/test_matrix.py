"""Every route, by everybody, about what is theirs, another location's, nobody's, and nonsense.

Made from the map of addresses: a route that is added is asked too, and one whose address names
something new fails here until it is said which ids stand for it.
"""

import json
import re

import pytest

from api.app import create_app
from api.clock import SteppedClock
from api.people.rights import ROLES
from tests.conftest import START, server_settings
from tests.web import matrix
from tests.web.practice import Practice

ABSENT = "01a13a56-59a0-7f0a-a9df-058e3e00028f"
NONSENSE = "%F0%9F%A6%B7..%5C%00'"
# Bodies of routes that name what they are about in the body: ID stands for it.
BODIES = {
    "POST /api/v1/commands/<type>": (
        "record_id",
        {"entity_id": "ID", "payload": {"how": "pdf", "note": None}},
    ),
    "POST /api/v1/records/release": (
        "record_id",
        {"record_ids": ["ID"], "to": "an insurer", "reason": "asked in writing"},
    ),
    "POST /api/v1/session/pin": ("person_id", {"person_id": "ID", "pin": "000000"}),
    "POST /api/v1/tablet/challenge": ("tablet_id", {"tablet_id": "ID"}),
}
# What every answer has anew, and so differs between two that say the same.
OWN_TO_EACH = {"POST /api/v1/tablet/challenge": ("nonce",)}


@pytest.fixture(scope="module")
def two(tmp_path_factory, migrated_template):
    """The application, the location the callers work in, and another one."""
    clock = SteppedClock(START)
    app = create_app(
        server_settings(tmp_path_factory.mktemp("two"), migrated_template), clock=clock
    )
    here = Practice(app, clock, name="Nearshore", roles=ROLES)
    there = Practice(app, clock, name="Farwater", roles=ROLES)
    yield app, matrix.filled(here, "nearword"), matrix.filled(there, "farword")
    app.extensions["dosebook"].engine.dispose()


def routes(app):
    """Yield (name, address, method, rule) of every route of the interface."""
    for route in app.url_map.iter_rules():
        for method in sorted(route.methods - {"HEAD", "OPTIONS"}):
            if route.rule.startswith("/api/"):
                rule = app.view_functions[route.endpoint].access_rule
                yield f"{method} {route.rule}", route.rule, method, rule


def ask(app, caller, name, address, method, ids, value=None):
    """Ask as ``caller``; ``value`` stands for every id where it is given, and is nobody's."""
    about, body = BODIES.get(name, (None, {}))
    path = re.sub(
        r"<(?:\w+:)?(\w+)>",
        lambda named: ids[named[1]] if value is None or named[1] == "type" else value,
        address,
    )
    text = json.dumps(body)
    if about:
        text = text.replace("ID", ids[about] if value is None else "nonsense \\u0000")
        if value == ABSENT:
            text = json.dumps(body).replace("ID", ABSENT)
    more = {} if method == "GET" else {"data": text, "content_type": "application/json"}
    headers = {**caller.headers, "Idempotency-Key": "a key of this test"}
    return app.test_client().open(path, method=method, headers=headers, **more)


def plain(name, answer, asked):
    """An answer without what it repeats of the question and what is new in every answer."""
    text = answer.text
    for value in asked:
        text = text.replace(value, "ID")
    for member in OWN_TO_EACH.get(name, ()):
        text = re.sub(rf'"{member}": ?"[^"]*"', f'"{member}"', text)
    return answer.status_code, text


def test_nobody_gets_a_byte_of_another_location(two):
    app, mine, theirs = two
    asked = 0
    for name, address, method, rule in routes(app):
        for caller in matrix.callers(mine):
            where = f"{name} by {caller.name}"
            foreign = ask(app, caller, name, address, method, theirs.ids)
            absent = ask(app, caller, name, address, method, theirs.ids, ABSENT)
            nonsense = ask(app, caller, name, address, method, theirs.ids, NONSENSE)
            asked += 3
            for answer in (foreign, absent, nonsense):
                assert answer.status_code < 500, (where, answer.text)
                leaked = [
                    mark
                    for mark in theirs.marks - set(theirs.ids.values())
                    if mark in answer.text or mark in str(answer.headers)
                ]
                assert not leaked, (where, leaked)
            # What is somebody else's and what is nobody's cannot be told apart.
            ids = set(theirs.ids.values()) - {matrix.TYPE}
            assert plain(name, foreign, ids) == plain(name, absent, {ABSENT}), where
            if not caller.may(rule):
                assert foreign.status_code in (401, 403), where
    print(f"{asked} requests")


def test_everybody_gets_in_where_the_rule_says_and_nowhere_else(two):
    app, mine, _ = two
    let_in = 0
    for name, address, method, rule in routes(app):
        for caller in matrix.callers(mine):
            answer = ask(app, caller, name, address, method, mine.ids)
            where = f"{name} by {caller.name}: {answer.status_code} {answer.text[:200]}"
            assert answer.status_code < 500, where
            if caller.may(rule):
                # A wrong PIN is refused with the same status; that door is not the rule's.
                assert answer.status_code not in (401, 403) or "session" in name, where
                let_in += answer.status_code < 300
            else:
                assert answer.status_code in (401, 403), where
    # It has to get in now and then, or it shows nothing.
    assert let_in > 50


def test_the_foreign_texts_are_there_to_be_found(two):
    """The known-bad twin: where somebody of the other location asks, its marks do come."""
    app, _, theirs = two
    found = set()
    for name, address, method, _ in routes(app):
        if method == "GET":
            for caller in matrix.callers(theirs):
                answer = ask(app, caller, name, address, method, theirs.ids)
                found |= {mark for mark in theirs.marks if mark in answer.text}
    assert found >= theirs.marks - {theirs.ids["sha256"], theirs.ids["tablet_id"]}
