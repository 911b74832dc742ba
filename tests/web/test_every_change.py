"""What every route that changes something refuses, made from the map of addresses."""

import json
import re
from dataclasses import replace

import pytest

from api.app import create_app
from api.commands.serve import check_host
from api.errors import BadInput
from tests.web.practice import ORIGIN

LIMIT = 1 << 20
ELSEWHERE = (
    {"Origin": "https://elsewhere.example"},
    {"Origin": "null"},
    {"Sec-Fetch-Site": "cross-site"},
    {"Sec-Fetch-Site": "same-site"},
)


def changes(app):
    """Yield (name, method, path, rule) of every route that is not a plain question."""
    for route in app.url_map.iter_rules():
        for method in sorted(route.methods - {"GET", "HEAD", "OPTIONS"}):
            path = re.sub("<[^>]+>", "anything", route.rule)
            rule = app.view_functions[route.endpoint].access_rule
            yield f"{method} {route.rule}", method, path, rule


def test_there_are_some(app):
    assert len(list(changes(app))) > 30


def test_another_site_s_page_changes_nothing_by_any_way_in(app):
    ways = ({}, {"Authorization": "Bearer x"}, {"Cookie": "dosebook_desk=x"})
    client = app.test_client(use_cookies=False)
    for name, method, path, _ in changes(app):
        for way in ways:
            for headers in ELSEWHERE:
                answer = client.open(path, method=method, headers={**way, **headers}, json={})
                assert (answer.status_code, answer.json["code"]) == (403, "foreign_origin"), name


def test_what_a_cookie_speaks_for_says_where_it_comes_from(app):
    client = app.test_client(use_cookies=False)
    for name, method, path, rule in changes(app):
        if "desk" in rule.ways or rule.sets_cookie:
            answer = client.open(path, method=method, headers={"Cookie": "dosebook_desk=x"})
            assert (answer.status_code, answer.json["code"]) == (403, "foreign_origin"), name


def test_a_body_above_its_limit_is_refused_before_it_is_read(app):
    for name, method, path, rule in changes(app):
        if rule.ways:
            continue
        answer = app.test_client().open(
            path,
            method=method,
            headers={"Origin": ORIGIN, "Content-Type": rule.takes},
            environ_overrides={"CONTENT_LENGTH": str((rule.limit_bytes or LIMIT) + 1)},
        )
        assert (answer.status_code, answer.json["code"]) == (413, "too_large"), name


@pytest.mark.parametrize("depth", [21, 5_000, 200_000])
def test_json_nested_deeply_is_refused_and_breaks_nothing(app, depth):
    body = '{"a":' + "[" * depth + "]" * depth + "}"
    for name, method, path, rule in changes(app):
        if rule.ways:
            continue
        answer = app.test_client().open(
            path,
            method=method,
            data=body,
            headers={"Origin": ORIGIN, "Content-Type": "application/json"},
        )
        # Between servers the bytes are measured, and their signature looked at, before anything is
        # read of them.
        unread = (401, 413, 415) if "/group/" in name else ()
        assert answer.status_code in (400, 422, *unread), (name, answer.status_code)
        assert answer.content_type == "application/problem+json"
        assert answer.headers["Cache-Control"] == "no-store"


def test_under_tls_a_browser_is_told_to_stay_there(settings, clock):
    # RFC 6797; OWASP ASVS 5.0, 3.4.1: at least one year.
    app = create_app(replace(settings, secure_cookies=True), clock=clock)
    told = app.test_client().get("/api/v1/health").headers["Strict-Transport-Security"]
    assert int(re.fullmatch(r"max-age=(\d+)", told)[1]) >= 31536000
    app.extensions["dosebook"].engine.dispose()


def test_without_tls_it_is_not(client):
    assert "Strict-Transport-Security" not in client.get("/api/v1/health").headers


@pytest.mark.parametrize("host", ["0.0.0.0", "192.0.2.1", "::", "dose.practice.example", ""])
def test_it_does_not_serve_the_network_without_tls(host):
    with pytest.raises(BadInput, match="DOSEBOOK_SECURE_COOKIES"):
        check_host(host, secure_cookies=False)
    check_host(host, secure_cookies=True)


@pytest.mark.parametrize("host", ["127.0.0.1", "127.9.9.9", "::1", "[::1]", "localhost"])
def test_on_loopback_it_does(host):
    check_host(host, secure_cookies=False)


def test_a_refusal_says_nothing_of_the_machine(app):
    """No stack, path or driver text in what strangers are told."""
    for _, method, path, _ in changes(app):
        answer = app.test_client().open(
            path, method=method, data="{", content_type="application/json"
        )
        text = json.dumps(answer.json)
        assert not re.search(r"Traceback|\.py\b|sqlite|psycopg|sqlalchemy|/home|/tmp", text, re.I)
