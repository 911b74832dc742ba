"""How often one may ask: 429 with a time to come back, counted in the database."""

from dataclasses import replace

import pytest
from sqlalchemy import select

from api.app import create_app
from api.settings import API_PREFIX
from api.storage import tables
from api.storage.engine import read
from api.web import limits
from tests.web.practice import ORIGIN, SETTINGS

pytestmark = pytest.mark.both_databases(long=True)


@pytest.fixture
def settings(settings):
    """As a practice has them: other tests ask often while their clock stands still."""
    return replace(settings, limit_factor=1)


def post(app, path, body, address="192.0.2.1", **more):
    return app.test_client().post(
        API_PREFIX + path,
        json=body,
        headers={"Origin": ORIGIN, **more},
        environ_overrides={"REMOTE_ADDR": address},
    )


def refused_after(app, path, body, times, **more):
    statuses = [post(app, path, body, **more).status_code for _ in range(times)]
    assert 429 not in statuses, path
    answer = post(app, path, body, **more)
    assert (answer.status_code, answer.json["code"]) == (429, "too_often"), path
    assert answer.content_type == "application/problem+json"
    return answer


WRONG_SIGN_IN = {"sign_in": "nobody", "password": "wrong"}
WRONG_CODE = {"code": "00000-00000", "public_key": "x", "label": "x"}


@pytest.mark.parametrize(
    ("path", "body", "limit"),
    [
        ("/tablet/enrol", WRONG_CODE, limits.ENROL),
        ("/links/open", {"token": "x"}, limits.LINK),
        ("/session/factor", {"token": "x", "way": "totp"}, limits.PASSWORD),
    ],
)
def test_guesses_from_one_address_are_counted(app, clock, path, body, limit):
    answer = refused_after(app, path, body, limit.times)
    assert answer.headers["Retry-After"] == "60"
    # Nobody else is kept waiting, and after the minute nor is this one.
    assert post(app, path, body, "192.0.2.2").status_code != 429
    clock.advance(60)
    assert post(app, path, body).status_code != 429


def test_sign_in_and_second_step_share_one_count(app):
    for _ in range(limits.PASSWORD.times // 2):
        post(app, "/session/factor", {"token": "x", "way": "totp"})
    refused_after(app, "/session/factor/passkey", {"token": "x"}, limits.PASSWORD.times // 2)
    assert post(app, "/session/password", WRONG_SIGN_IN).status_code == 429


def test_a_restart_forgets_nothing(app, settings, clock):
    refused_after(app, "/tablet/enrol", WRONG_CODE, limits.ENROL.times)
    again = create_app(settings, clock=clock)
    assert post(again, "/tablet/enrol", WRONG_CODE).status_code == 429
    again.extensions["dosebook"].engine.dispose()


def test_a_network_of_ipv6_counts_as_one(app):
    for number in range(limits.ENROL.times):
        post(app, "/tablet/enrol", WRONG_CODE, f"2001:db8::{number + 1:x}")
    assert post(app, "/tablet/enrol", WRONG_CODE, "2001:db8::ffff").status_code == 429
    assert post(app, "/tablet/enrol", WRONG_CODE, "2001:db8:0:1::1").status_code != 429


def test_what_a_stranger_says_of_their_address_is_not_believed(app, settings, clock):
    for number in range(limits.ENROL.times):
        post(app, "/tablet/enrol", WRONG_CODE, **{"X-Forwarded-For": f"198.51.100.{number}"})
    assert post(app, "/tablet/enrol", WRONG_CODE).status_code == 429


def test_behind_a_proxy_of_ours_the_address_it_names_counts(settings, clock):
    app = create_app(replace(settings, proxies=1), clock=clock)
    for _ in range(limits.ENROL.times):
        # What the browser itself puts before it is not believed.
        told = {"X-Forwarded-For": "203.0.113.9, 198.51.100.1"}
        post(app, "/tablet/enrol", WRONG_CODE, **told)
    one, other = ({"X-Forwarded-For": f"198.51.100.{number}"} for number in (1, 2))
    assert post(app, "/tablet/enrol", WRONG_CODE, **one).status_code == 429
    assert post(app, "/tablet/enrol", WRONG_CODE, **other).status_code != 429
    app.extensions["dosebook"].engine.dispose()


def test_what_is_leased_ends_where_the_limit_is(app, clock):
    few = limits.Limit(what="few", times=7, shares=2)
    with app.test_request_context(environ_base={"REMOTE_ADDR": "192.0.2.1"}):
        for _ in range(7):
            limits.check(few, tablet_id=None)
        with pytest.raises(Exception, match="Too many"):
            limits.check(few, tablet_id=None)
        clock.advance(60)
        limits.check(few, tablet_id=None)


def test_a_dose_costs_one_write_for_many(app):
    # 1200 a minute in 30 parts.
    statuses = {post(app, "/dose", SETTINGS).status_code for _ in range(40)}
    assert statuses == {200}
    with read(app.extensions["dosebook"].engine) as connection:
        [row] = connection.execute(select(tables.asked)).mappings()
    assert (row["what"], row["times"]) == ("dose", 40)


def test_what_numbers_rest_on_is_not_asked_for_without_end(app):
    """It needs no sign-in and is the largest answer of all; a page asks for it once."""
    path = f"{API_PREFIX}/dose/provenance"
    client = app.test_client()
    answers = {client.get(path).status_code for _ in range(limits.PROVENANCE.times)}
    assert answers == {200}
    refused = client.get(path)
    assert (refused.status_code, refused.json["code"]) == (429, "too_often")
