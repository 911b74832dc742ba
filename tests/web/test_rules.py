"""Every route declares who may use it, and is closed to everybody else."""

import re

import pytest

from api.app import create_app
from api.clock import SteppedClock
from api.people import rights
from api.web.auth import Rule
from tests.conftest import START, server_settings

# The whole interface: a route that is added, or whose rule is changed, changes this table too.
RULES = {
    "GET /": ("anyone", None),
    "GET /<page:path>": ("anyone", None),
    "GET /api/v1/health": ("anyone", None),
    "GET /api/v1/openapi.json": ("anyone", None),
    "POST /api/v1/dose": ("anyone", None),
    "GET /api/v1/dose/provenance": ("anyone", None),
    "POST /api/v1/hazard": ("anyone", None),
    "POST /api/v1/heat": ("anyone", None),
    "POST /api/v1/tablet/enrol": ("anyone", None),
    "POST /api/v1/tablet/challenge": ("anyone", None),
    "POST /api/v1/tablet/token": ("anyone", None),
    "POST /api/v1/access-log/search": ("desk", "log.read"),
    "POST /api/v1/access-log/export": ("desk", "log.read"),
    "GET /api/v1/tablets": ("desk", "tablet.write"),
    "POST /api/v1/tablets/codes": ("desk", "tablet.write"),
    "POST /api/v1/tablets/<tablet_id>/rename": ("desk", "tablet.write"),
    "POST /api/v1/tablets/<tablet_id>/revoke": ("desk", "tablet.write"),
    "POST /api/v1/tablets/<tablet_id>/confirm": ("desk", "tablet.write"),
    "GET /api/v1/aside": ("desk", "aside.read"),
    "POST /api/v1/aside": ("desk", "aside.read"),
    "POST /api/v1/session/pin": ("tablet", None),
    "POST /api/v1/session/password": ("anyone", None),
    "GET /api/v1/session": ("desk", None),
    "DELETE /api/v1/session": ("desk", None),
    "POST /api/v1/session/factor": ("anyone", None),
    "POST /api/v1/session/factor/passkey": ("anyone", None),
    "GET /api/v1/sessions": ("desk or person", None),
    "DELETE /api/v1/sessions": ("desk or person", None),
    "DELETE /api/v1/sessions/<session_id>": ("desk or person", None),
    "GET /api/v1/location/sessions": ("desk", "session.end"),
    "DELETE /api/v1/location/sessions/<session_id>": ("desk", "session.end"),
    "POST /api/v1/links/open": ("anyone", None),
    "POST /api/v1/links/totp": ("anyone", None),
    "POST /api/v1/links/passkey": ("anyone", None),
    "POST /api/v1/links/use": ("anyone", None),
    "GET /api/v1/me": ("desk", None),
    "POST /api/v1/me/password": ("desk", None),
    "POST /api/v1/me/pin": ("desk", None),
    "POST /api/v1/me/totp": ("desk", None),
    "POST /api/v1/me/totp/confirm": ("desk", None),
    "POST /api/v1/me/passkey": ("desk", None),
    "POST /api/v1/me/passkey/confirm": ("desk", None),
    "POST /api/v1/me/factors/<factor_id>/remove": ("desk", None),
    "POST /api/v1/me/recovery-codes": ("desk", None),
    "POST /api/v1/people/<person_id>/link": ("desk", "people.write"),
    "GET /api/v1/replication": ("desk", "group.read"),
    "GET /api/v1/rollouts": ("desk", "group.read"),
    "POST /api/v1/rollouts": ("desk", "group.roll_out"),
    "GET /api/v1/offers": ("desk", "group.read"),
    # Past these a practice proves by its signature who it is: tests/group.
    "POST /api/v1/group/identity": ("anyone", None),
    "POST /api/v1/group/join": ("anyone", None),
    "POST /api/v1/group/key": ("anyone", None),
    "POST /api/v1/group/meet": ("anyone", None),
    "POST /api/v1/group/entries": ("anyone", None),
    "POST /api/v1/group/offers": ("anyone", None),
    "POST /api/v1/group/offer": ("anyone", None),
    "POST /api/v1/group/restore": ("anyone", None),
    "POST /api/v1/group/restore/entries": ("anyone", None),
    "POST /api/v1/group/photographs": ("anyone", None),
    "POST /api/v1/group/photographs/<location_id>/<sha256>": ("anyone", None),
    "POST /api/v1/group/restore/photographs": ("anyone", None),
    "POST /api/v1/group/restore/photograph": ("anyone", None),
    "POST /api/v1/group/restore/done": ("anyone", None),
    "POST /api/v1/sync/push": ("tablet", None),
    "GET /api/v1/sync/pull": ("tablet", None),
    "POST /api/v1/sync/restored": ("tablet", None),
    "POST /api/v1/sync/returning": ("tablet", None),
    "GET /api/v1/backups": ("desk", "backup.read"),
    "POST /api/v1/sync/alarm": ("tablet", None),
    "POST /api/v1/commands/<type>": ("desk", None),
    "GET /api/v1/devices/<device_id>/exposed": ("desk", "exposed.read"),
    "GET /api/v1/devices/<device_id>/exposed.csv": ("desk", "exposed.read"),
    "GET /api/v1/devices/<device_id>/exposed.pdf": ("desk", "exposed.read"),
    "GET /api/v1/records": ("desk or person", "record.read"),
    "POST /api/v1/records/search": ("desk or person", "record.read"),
    "GET /api/v1/records/<record_id>": ("desk or person", "record.read"),
    "GET /api/v1/records/<record_id>/pdf": ("desk or person", "record.read"),
    "GET /api/v1/records/<record_id>/text": ("desk or person", "record.read"),
    "GET /api/v1/records/<record_id>/proof": ("desk or person", "record.read"),
    "GET /api/v1/records/<record_id>/erasure": ("desk", "retention.read"),
    "POST /api/v1/records/<record_id>/erasure": ("desk", "retention.write"),
    "POST /api/v1/records/<record_id>/erasure/decision": ("desk", "retention.write"),
    "GET /api/v1/erasures": ("desk", "retention.read"),
    "POST /api/v1/records/release": ("desk", "record.release"),
    "GET /api/v1/chart-queue": ("desk or person", "record.read"),
    "PUT /api/v1/attachments/<sha256>": ("tablet", None),
    "GET /api/v1/attachments/<sha256>": ("desk or person", "record.read"),
    "PUT /api/v1/certificates/<sha256>": ("desk or tablet", "device.write"),
    "GET /api/v1/certificates/<sha256>": ("desk or person", "house.read"),
    "GET /api/v1/certificates": ("desk or person", "house.read"),
    "GET /api/v1/house": ("desk", "house.read"),
    "GET /api/v1/session/locations": ("desk", None),
    "POST /api/v1/session/location": ("desk", None),
    "GET /api/v1/locations": ("desk", "location.write"),
    "POST /api/v1/locations": ("desk", "location.write"),
    "GET /api/v1/people-elsewhere": ("desk", "location.write"),
    "POST /api/v1/people-elsewhere/<person_id>": ("desk", "location.write"),
    "POST /api/v1/emergencies": ("desk", "emergency.open"),
    "GET /api/v1/emergencies/locations": ("desk", "emergency.elsewhere"),
    "POST /api/v1/emergencies/elsewhere": ("desk", "emergency.elsewhere"),
    "GET /api/v1/people/<person_id>": ("desk", "people.read"),
    "GET /api/v1/presets/export": ("desk", "house.read"),
    "POST /api/v1/presets/import": ("desk", "preset.write"),
    "GET /api/v1/procedures/<procedure_kind_id>/usage": ("desk or person", "record.read"),
}


def _routes(app):
    for route in app.url_map.iter_rules():
        for method in sorted(route.methods - {"HEAD"}):
            yield f"{method} {route.rule}", route, method


def test_the_table_is_the_interface(app):
    found = {}
    for name, route, _ in _routes(app):
        wanted = getattr(app.view_functions[route.endpoint], "access_rule", None)
        assert isinstance(wanted, Rule), f"{name} declares no rule"
        assert wanted.right is None or wanted.right in rights.RIGHTS, name
        found[name] = (" or ".join(sorted(wanted.ways)) or "anyone", wanted.right)
    assert found == RULES


def test_a_route_without_a_rule_is_closed(app):
    app.add_url_rule("/api/v1/forgotten", "forgotten", lambda: "open")
    answer = app.test_client().get("/api/v1/forgotten")
    assert (answer.status_code, answer.json["code"]) == (403, "no_rule")


@pytest.fixture(scope="module")
def shut(tmp_path_factory, migrated_template):
    """One application for hundreds of requests that it refuses, which change nothing in it."""
    settings = server_settings(tmp_path_factory.mktemp("shut"), migrated_template)
    made = create_app(settings, clock=SteppedClock(START))
    yield made
    made.extensions["dosebook"].engine.dispose()


@pytest.mark.parametrize("name", [name for name, (ways, _) in RULES.items() if ways != "anyone"])
@pytest.mark.parametrize(
    "headers",
    [
        {},
        {"Authorization": "Bearer wrong"},
        {"Authorization": "Basic d3Jvbmc6d3Jvbmc="},
        {"Authorization": "Bearer wrong", "Dosebook-Person": "wrong"},
        {"Cookie": "dosebook_desk=wrong"},
    ],
)
def test_a_guarded_route_is_closed_to_strangers(shut, name, headers):
    method, path = name.split(" ")
    path = re.sub("<[^>]+>", "anything", path)
    answer = shut.test_client().open(
        path, method=method, headers={**headers, "Origin": "http://localhost"}, json={}
    )
    assert answer.status_code == 401, answer.text
    assert answer.content_type == "application/problem+json"
