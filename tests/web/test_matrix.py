"""Every route, by everybody, about what is theirs, another location's, nobody's, and nonsense.

Made from the map of addresses: a route that is added is asked too, and one whose address names
something new fails here until it is said which ids stand for it.
"""

import re

import pytest

from tests.web import matrix
from tests.web.door import ABSENT, BODIES, NONSENSE, Door

# Where whoever the rule lets in may still be refused: a wrong secret, a right of the type asked.
FURTHER_IN = {
    "POST /api/v1/session/pin",
    "POST /api/v1/commands/<type>",
    # A practice signs what it asks: tests/group.
    "POST /api/v1/group/key",
    "POST /api/v1/group/meet",
    "POST /api/v1/group/entries",
    "POST /api/v1/group/offers",
    "POST /api/v1/group/offer",
    "POST /api/v1/group/restore/entries",
    "POST /api/v1/group/photographs",
    "POST /api/v1/group/photographs/<location_id>/<sha256>",
    "POST /api/v1/group/restore/photographs",
    "POST /api/v1/group/restore/photograph",
    "POST /api/v1/group/restore/done",
}
# What every answer has anew, and so differs between two that say the same.
OWN_TO_EACH = {"POST /api/v1/tablet/challenge": ("nonce",)}


def routes(app):
    """Yield (name, address, method, rule) of every route of the interface."""
    for route in app.url_map.iter_rules():
        for method in sorted(route.methods - {"HEAD", "OPTIONS"}):
            if route.rule.startswith("/api/"):
                rule = app.view_functions[route.endpoint].access_rule
                yield f"{method} {route.rule}", route.rule, method, rule


def said_to_all(name, place) -> set[str]:
    """What of another location everybody who works in the practice may know: what it is called.

    In an emergency one has to be able to say whose records are needed.
    """
    return {place.practice.name} if name == "GET /api/v1/emergencies/locations" else set()


def names_something(name) -> bool:
    """Whether a question says what it is about."""
    return "<" in name or name in BODIES


def words(answer) -> str:
    """All that came, headers and body; a picture's bytes too."""
    return f"{answer.headers}\n{answer.get_data().decode('latin-1')}"


def plain(name, answer, asked):
    """An answer without what it repeats of the question and what is new in every answer."""
    text = answer.get_data().decode("latin-1")
    for value in asked:
        text = text.replace(value, "ID")
    for member in OWN_TO_EACH.get(name, ()):
        text = re.sub(rf'"{member}": ?"[^"]*"', f'"{member}"', text)
    return answer.status_code, text


EITHER = pytest.mark.parametrize(
    "two", ["sqlite", pytest.param("postgresql", marks=pytest.mark.long)], indirect=True
)


@EITHER
def test_nobody_gets_a_byte_of_another_location(two):
    app, mine, theirs = two
    door = Door(app, mine)
    # What the question itself names may be in the answer.
    all_marks = theirs.marks - set(theirs.ids.values())
    for name, address, method, rule in routes(app):
        for caller in door.callers:
            where = f"{name} by {caller.name}"
            asked = (name, address, method, theirs.ids)
            foreign = door.ask(caller, *asked)
            marks = all_marks - said_to_all(name, theirs)
            if not names_something(name):
                assert not [mark for mark in marks if mark in words(foreign)], where
                continue
            absent = door.ask(caller, *asked, ABSENT)
            nonsense = door.ask(caller, *asked, NONSENSE)
            for answer in (foreign, absent, nonsense):
                assert answer.status_code < 500, (where, answer.text)
                assert not [mark for mark in marks if mark in words(answer)], where
            # What is somebody else's and what is nobody's cannot be told apart.
            ids = set(theirs.ids.values()) - {matrix.TYPE}
            assert plain(name, foreign, ids) == plain(name, absent, {ABSENT}), where
            if not caller.may(rule):
                assert foreign.status_code in (401, 403), where


@EITHER
def test_everybody_gets_in_where_the_rule_says_and_nowhere_else(two):
    app, mine, _ = two
    door = Door(app, mine)
    let_in = 0
    for name, address, method, rule in routes(app):
        for caller in door.callers:
            answer = door.ask(caller, name, address, method, mine.ids)
            where = f"{name} by {caller.name}: {answer.status_code} {words(answer)[-300:]}"
            assert answer.status_code < 500, where
            if caller.may(rule):
                # A wrong secret, or whom it is about, is refused further in.
                assert answer.status_code not in (401, 403) or name in FURTHER_IN, where
                let_in += answer.status_code < 300
            else:
                assert answer.status_code in (401, 403), where
    # It has to get in now and then, or it shows nothing.
    assert let_in > 50


def test_the_foreign_texts_are_there_to_be_found(two):
    """The known-bad twin: where somebody of the other location asks, its marks do come."""
    app, _, theirs = two
    door = Door(app, theirs)
    found = set()
    for name, address, method, _ in routes(app):
        if method == "GET":
            for caller in door.callers:
                answer = door.ask(caller, name, address, method, theirs.ids)
                found |= {mark for mark in theirs.marks if mark in words(answer)}
    assert found >= {"farword", "Farwater", *theirs.practice.people.values()}
