"""The server does what its own description says: requests made from it, by everybody."""

import os
import re

import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis.strategies import booleans
from schemathesis.checks import not_a_server_error
from schemathesis.core.failures import FailureGroup, ServerError
from schemathesis.openapi.checks import UndefinedStatusCode
from schemathesis.specs.openapi.checks import content_type_conformance, status_code_conformance

from api.settings import API_PREFIX
from tests.web.door import Door
from tests.web.practice import ORIGIN

LONG = os.environ.get("DOSEBOOK_LONG") == "1"
EXAMPLES = 40 if LONG else 2
CHECKS = [not_a_server_error, status_code_conformance, content_type_conformance]


def operations(app):
    """Yield every operation of the description that the server gives."""
    described = schemathesis.openapi.from_wsgi(f"{API_PREFIX}/openapi.json", app)
    for found in described.get_all_operations():
        yield found.ok()


def rule_of(app, operation):
    """Return the rule of the route that an operation describes."""
    [endpoint] = {
        route.endpoint
        for route in app.url_map.iter_rules()
        if operation.method.upper() in route.methods
        and re.sub(r"<(?:\w+:)?(\w+)>", r"{\1}", route.rule) == operation.path
    }
    return app.view_functions[endpoint].access_rule


def answers_to(app, operation, caller, place) -> set[int]:
    """Ask what the description allows, as ``caller``; returns the statuses that came."""
    statuses = set()

    @given(case=operation.as_strategy(), there=booleans())
    @settings(
        max_examples=EXAMPLES,
        derandomize=not LONG,
        database=None,
        deadline=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    def ask(case, there):
        # A second each, so that nobody asks too often.
        place.practice.clock.advance(1)
        if there or not LONG:
            # What the address names is something that there is.
            case.path_parameters = {name: place.ids[name] for name in case.path_parameters or ()}
        body = {} if case.media_type is None else {"json": case.body}
        if isinstance(case.body, bytes):
            body = {"data": case.body, "content_type": case.media_type}
        answer = app.test_client(use_cookies=False).open(
            case.formatted_path,
            method=case.method,
            query_string=case.query,
            headers={"Origin": ORIGIN, **caller.headers, "Idempotency-Key": "a key of this test"},
            **body,
        )
        case.validate_response(answer, checks=CHECKS)
        statuses.add(answer.status_code)

    ask()
    return statuses


@pytest.mark.parametrize(
    "two", ["sqlite", pytest.param("postgresql", marks=pytest.mark.long)], indirect=True
)
def test_no_failure_and_no_answer_that_is_not_described(two):
    app, mine, _ = two
    door = Door(app, mine)
    let_in = 0
    for operation in operations(app):
        found = set()
        may = [caller for caller in door.callers if caller.may(rule_of(app, operation))]
        # In a short run one of each way in; that the others stay out is asked elsewhere.
        short = list({caller.way: caller for caller in may}.values())
        for caller in door.callers if LONG else short:
            found |= answers_to(app, operation, caller, mine)
            if operation.method.upper() != "GET":
                door.back()
        let_in += min(found) < 300
    # It has to get past the doors now and then, or it shows nothing.
    assert let_in > len(list(operations(app))) / 3


@pytest.mark.parametrize(
    ("damage", "noticed"),
    [("a failure", ServerError), ("an answer nobody described", UndefinedStatusCode)],
)
def test_both_are_noticed(app, damage, noticed):
    def view():
        if damage == "a failure":
            raise RuntimeError(damage)
        return {"odd": True}, 418

    [endpoint] = [
        rule.endpoint for rule in app.url_map.iter_rules() if rule.rule == f"{API_PREFIX}/health"
    ]
    view.access_rule = app.view_functions[endpoint].access_rule
    app.view_functions[endpoint] = view
    [health] = [one for one in operations(app) if one.path.endswith("/health")]
    case = health.Case()
    with pytest.raises(FailureGroup) as failed:
        case.validate_response(case.call(), checks=CHECKS)
    assert any(isinstance(one, noticed) for one in failed.value.exceptions)
