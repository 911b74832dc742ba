"""Every column of every table is offered in every body: nothing is set that was not asked for."""

import re

import pytest

from api.events import catalogue
from api.people.rights import ROLES
from api.settings import API_PREFIX
from api.storage.engine import read
from api.storage.tables import metadata
from tests.events.test_catalogue import WHOLE
from tests.web import matrix
from tests.web.practice import ORIGIN, Practice
from tests.web.test_matrix import routes

CANARY = "offered"
COLUMNS = sorted({column.name for table in metadata.tables.values() for column in table.columns})
# The log keeps what was said as it was said, also what this version does not know.
KEPT_AS_SAID = {"payload"}


def offered(taken) -> dict[str, str]:
    """A value for each column but those in ``taken``."""
    return {name: f"{CANARY} {name}" for name in COLUMNS if name not in taken}


def carried(engine, *, but=frozenset()) -> dict[str, list[str]]:
    """The offered values that are in the database, by table."""
    found = {}
    with read(engine) as connection:
        for table in metadata.sorted_tables:
            if table.name in but:
                continue
            text = "\n".join(repr(tuple(row)) for row in connection.execute(table.select()))
            hits = [name for name in COLUMNS if f"{CANARY} {name}" in text]
            if hits:
                found[table.name] = hits
    return found


def takes_a_body(described, address, method) -> bool:
    """Whether a route reads what is sent; one that does not can set nothing by it."""
    path = re.sub(r"<(?:\w+:)?(\w+)>", r"{\1}", address)
    return "requestBody" in described[path][method.lower()]


@pytest.fixture
def everybody(app, clock) -> Practice:
    """A location where one person has every role but the auditor's."""
    practice = Practice(app, clock, roles=ROLES)
    practice.desk("administrator").command(
        "person.registered",
        practice.people["clinician"],
        {
            "display_name": "All in one",
            "initials": "AO",
            "roles": [role for role in ROLES if role != "auditor"],
        },
    )
    return practice


def test_what_an_event_was_not_asked_for_reaches_no_table(everybody):
    tablet = everybody.tablet("clinician")
    entities = {}
    for event_type, payload in WHOLE.items():
        known = catalogue.EVENT_TYPES[event_type]
        entity = entities.setdefault(known.subject, tablet.new_id())
        about = tablet.new_id() if known.needs_corrects else None
        tablet.record(event_type, entity, payload | offered(known.schema.fields), corrects=about)
    outcomes = [result["outcome"] for result in tablet.push()]
    assert len(outcomes) == len(WHOLE) == len(catalogue.EVENT_TYPES)
    # They have to be taken, or it shows nothing.
    assert outcomes.count("applied") > 15
    assert carried(everybody.house.engine, but=KEPT_AS_SAID) == {}
    assert "payload" in carried(everybody.house.engine)


def test_what_a_route_was_not_asked_for_is_refused(everybody):
    app = everybody.app
    place = matrix.filled(everybody, "near")
    described = app.test_client().get(f"{API_PREFIX}/openapi.json").json["paths"]
    asked = 0
    for name, address, method, rule in routes(app):
        if method == "GET" or rule.takes != "application/json":
            continue
        path = address
        for key, value in place.ids.items():
            path = path.replace(f"<{key}>", value)
        for caller in matrix.callers(place):
            if not caller.may(rule):
                continue
            answer = app.test_client(use_cookies=False).open(
                path,
                method=method,
                json=offered(()),
                headers={"Origin": ORIGIN, **caller.headers, "Idempotency-Key": f"key {asked:06}"},
            )
            asked += 1
            assert answer.status_code < 500, (name, answer.text)
            if method != "DELETE" and takes_a_body(described, address, method):
                assert answer.status_code in (400, 401, 403, 404, 409, 422, 426, 429), (
                    name,
                    answer.text,
                )
    assert asked > 40
    assert carried(everybody.house.engine) == {}
