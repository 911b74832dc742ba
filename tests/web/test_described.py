"""The server does what its own description says: requests made from it, by everybody."""

import os
import re
from collections import Counter

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


def asked_of(operation, place) -> list[schemathesis.Case]:
    """Make up what is asked of one operation: all that its description allows.

    Drawn once and asked by everybody, because drawing costs more than asking.
    """
    drawn = []

    @given(case=operation.as_strategy(), there=booleans())
    @settings(
        max_examples=EXAMPLES,
        derandomize=not LONG,
        database=None,
        deadline=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    def draw(case, there):
        if there or not LONG:
            # What the address names is something that there is.
            case.path_parameters = {name: place.ids[name] for name in case.path_parameters or ()}
        drawn.append(case)

    draw()
    return drawn


def answers_to(app, cases, caller, place) -> Counter[int]:
    """Ask all ``cases`` as ``caller``; returns how often each status came."""
    statuses = Counter()
    clock = place.practice.clock
    began = clock.now()
    for number, case in enumerate(cases):
        # A second each, so that nobody asks too often.
        clock.advance(1)
        body = {} if case.media_type is None else {"json": case.body}
        if isinstance(case.body, bytes):
            body = {"data": case.body, "content_type": case.media_type}
        answer = app.test_client(use_cookies=False).open(
            case.formatted_path,
            method=case.method,
            query_string=case.query,
            headers={
                "Origin": ORIGIN,
                **caller.headers,
                # Each a change of its own, or all but the first would be told that they came late.
                "Idempotency-Key": f"key {number} of this test",
            },
            **body,
        )
        case.validate_response(answer, checks=CHECKS)
        statuses[answer.status_code] += 1
    # Or everybody's session would be over before all is asked.
    clock.set(began)
    return statuses


@pytest.mark.parametrize(
    "two", ["sqlite", pytest.param("postgresql", marks=pytest.mark.long)], indirect=True
)
def test_no_failure_and_no_answer_that_is_not_described(two):
    app, mine, _ = two
    door = Door(app, mine)
    let_in, came = Counter(), Counter()
    for operation in operations(app):
        cases, rule = asked_of(operation, mine), rule_of(app, operation)
        may = [caller for caller in door.callers if caller.may(rule)]
        # In a short run one of each way in; that the others stay out is asked elsewhere.
        short = list({caller.way: caller for caller in may}.values())
        for caller in door.callers if LONG else short:
            found = answers_to(app, cases, caller, mine)
            if operation.method.upper() != "GET":
                door.back()
            came += found
            let_in[operation.label] += min(found) < 300
            let_in[caller.name] += min(found) < 300 and bool(rule.ways)
    print(f"{came.total()} requests asked: {dict(sorted(came.items()))}")
    # It has to get past the doors now and then, or it shows nothing: a third of the operations,
    # and to the end everybody who has business here.
    labels = [operation.label for operation in operations(app)]
    assert sum(let_in[label] > 0 for label in labels) > len(labels) / 3
    if LONG:
        # A tablet by itself has the fewest ways in.
        assert min(let_in[caller.name] for caller in door.callers if caller.way != "nobody") > 0


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
