"""Who gets in where: roles, other locations, other sites' pages, revoked tablets."""

from dataclasses import replace

import pytest

from api.app import create_app
from api.demo.tablet_client import Refused
from api.people import rights
from api.settings import API_PREFIX
from api.storage import access
from api.storage.engine import read
from tests.web.practice import ORIGIN, PASSWORD, Practice

pytestmark = pytest.mark.both_databases(long=True)

READS = {
    "/records": "record.read",
    "/chart-queue": "record.read",
    "/house?kind=person": "house.read",
}


def _status(ask, *arguments) -> int:
    try:
        ask(*arguments)
    except Refused as refused:
        return refused.facts["status"]
    return 200


@pytest.fixture
def signed(practice):
    """Return the id of a signed record that has been sent."""
    tablet = practice.tablet("clinician")
    record_id = practice.signed_record(tablet)
    tablet.push()
    return record_id


def test_each_role_reads_what_the_table_says_and_nothing_else(whole_practice):
    for role in rights.ROLES:
        desk = whole_practice.desk(role)
        for path, right in READS.items():
            expected = 200 if role in rights.RIGHTS[right] else 403
            assert _status(desk.ask, "GET", path) == expected, (role, path)


def test_each_role_commands_what_the_table_says_and_nothing_else(whole_practice):
    for role in rights.ROLES:
        desk = whole_practice.desk(role)
        for event_type, right in rights.EVENT_RIGHTS.items():
            # An empty payload fits no type: who may, gets as far as being told so.
            status = _status(desk.command, event_type, "nothing", {})
            assert (status == 403) == (role not in rights.RIGHTS[right]), (role, event_type)
            assert status in (403, 404, 422), (role, event_type)


def test_a_refusal_is_in_the_access_log(practice):
    admin = practice.desk("administrator")
    assert _status(admin.ask, "GET", "/records") == 403
    with read(practice.house.engine) as connection:
        [latest, *_] = access.entries(connection, practice.location_id)
    assert latest["action"] == "refused"
    assert latest["actor_id"] == practice.people["administrator"]
    assert latest["detail"] == {"right": "record.read", "route": f"GET {API_PREFIX}/records"}


def test_reading_a_record_is_in_the_access_log(practice, signed):
    practice.desk("front_desk").ask("GET", f"/records/{signed}")
    with read(practice.house.engine) as connection:
        [latest, *_] = access.entries(connection, practice.location_id, subject_id=signed)
    assert (latest["action"], latest["actor_id"]) == ("read", practice.people["front_desk"])


def test_another_location_s_records_are_as_if_absent(app, clock, practice, signed):
    other = Practice(app, clock, name="South room", roles=("clinician", "front_desk"))
    front = other.desk("front_desk")
    tablet = other.tablet("clinician")
    for path in ("/records/{}", "/records/{}/pdf", "/records/{}/text"):
        for ask in (front.ask, tablet.ask):
            answers = []
            for record_id in (signed, "01a13a56-59a0-7f0a-a9df-058e3e00028f"):
                with pytest.raises(Refused) as refused:
                    ask("GET", path.format(record_id))
                answers.append(refused.value.facts["problem"])
            assert answers[0] == answers[1]
            assert answers[0]["status"] == 404
    assert front.ask("GET", "/records")["records"] == []
    assert front.ask("GET", "/chart-queue")["records"] == []
    with pytest.raises(Refused, match="404"):
        front.command("record.placed_in_chart", signed, {"how": "pdf", "note": None})
    tablet.pull("records")
    assert not [key for key in tablet.documents if key[0] == "record"]
    people = front.ask("GET", "/house?kind=person")["documents"]
    assert {each["person_id"] for each in people} == set(other.people.values())


def test_an_event_for_another_location_is_put_aside(app, clock, practice):
    other = Practice(app, clock, name="South room", roles=("clinician",))
    tablet = practice.tablet("clinician")
    tablet.record(
        "procedure_kind.listed",
        tablet.new_id(),
        {"text": "Biopsy", "code": None},
        actor_id=other.people["clinician"],
    )
    [result] = tablet.push()
    assert (result["outcome"], result["reason"]) == ("quarantined", "actor_unknown")


@pytest.mark.parametrize(
    ("event_type", "payload", "reason"),
    [
        ("person.registered", {}, "actor_not_allowed"),
        ("tablet.enrolled", {"label": "x"}, "server_only"),
    ],
)
def test_a_tablet_s_person_cannot_do_what_their_role_does_not_include(
    practice, event_type, payload, reason
):
    full = {
        "display_name": "Me",
        "initials": "M",
        "roles": ["administrator"],
        "credential": None,
        "licence_expires": None,
    }
    tablet = practice.tablet("clinician")
    tablet.record(event_type, practice.people["clinician"], payload or full)
    [result] = tablet.push()
    assert (result["outcome"], result["reason"]) == ("quarantined", reason)
    roles = practice.desk("clinician").ask("GET", "/session")["roles"]
    assert roles == ["clinician"]


def test_a_person_s_token_is_worth_nothing_on_another_tablet(practice, signed):
    mine, other = practice.tablet("clinician"), practice.tablet()
    other.prove()
    headers = {**other._headers(), "Dosebook-Person": mine._headers()["Dosebook-Person"]}
    answer = practice.app.test_client().get(f"{API_PREFIX}/records/{signed}", headers=headers)
    assert (answer.status_code, answer.json["code"]) == (401, "not_signed_in")


def test_tokens_and_sessions_run_out(practice, clock):
    tablet, desk = practice.tablet("clinician"), practice.desk("front_desk")
    clock.advance(12 * 3600 + 1)
    assert _status(desk.ask, "GET", "/chart-queue") == 401
    answer = practice.app.test_client().get(f"{API_PREFIX}/sync/pull", headers=tablet._headers())
    assert answer.status_code == 401


def test_a_revoked_tablet_hands_in_but_reads_nothing(practice):
    tablet = practice.tablet("clinician")
    practice.signed_record(tablet)
    administrator = practice.desk("administrator")
    path = f"/tablets/{tablet.identity['tablet_id']}/revoke"
    administrator.ask("POST", path, {"reason": "Left on a train"})
    results = tablet.push()
    assert [(each["outcome"], each["reason"]) for each in results] == [
        ("quarantined", "tablet_revoked")
    ] * 5
    for ask in (
        lambda: tablet.pull(),
        lambda: tablet.ask("GET", "/records"),
        lambda: tablet.sign_in(practice.people["clinician"], "270618"),
    ):
        with pytest.raises(Refused) as refused:
            ask()
        assert refused.value.code == "tablet_revoked"


FOREIGN = [
    {"Origin": "https://elsewhere.example"},
    {"Origin": "http://localhost.elsewhere.example"},
    {"Origin": "null"},
    {"Origin": "http://localhost:8081"},
    {"Sec-Fetch-Site": "cross-site"},
    {"Sec-Fetch-Site": "same-site", "Origin": ORIGIN},
    {"Sec-Fetch-Site": "none"},
    {},
]


@pytest.mark.parametrize("headers", FOREIGN)
def test_changes_by_cookie_come_from_our_own_pages_only(practice, headers):
    practice.give_secrets("clinician")
    client = practice.app.test_client()
    signed_in = client.post(
        f"{API_PREFIX}/session/password",
        json={"sign_in": practice.sign_in_name("clinician"), "password": PASSWORD},
        headers={"Origin": ORIGIN},
    )
    assert signed_in.status_code == 200
    for method, path in (
        ("POST", "/commands/procedure_kind.listed"),
        ("DELETE", "/session"),
        ("POST", "/session/password"),
    ):
        answer = client.open(API_PREFIX + path, method=method, json={}, headers=headers)
        assert (answer.status_code, answer.json["code"]) == (403, "foreign_origin"), path
    assert client.get(f"{API_PREFIX}/session").status_code == 200


def test_another_site_s_page_cannot_speak_for_a_tablet_either(practice):
    tablet = practice.tablet()
    tablet.prove()
    answer = practice.app.test_client().post(
        f"{API_PREFIX}/sync/push",
        json={},
        headers={**tablet._headers(), "Origin": "https://elsewhere.example"},
    )
    assert (answer.status_code, answer.json["code"]) == (403, "foreign_origin")


def test_the_cookie_is_out_of_reach_of_scripts_and_other_sites(practice):
    practice.give_secrets("clinician")
    answer = practice.app.test_client().post(
        f"{API_PREFIX}/session/password",
        json={"sign_in": practice.sign_in_name("clinician"), "password": PASSWORD},
        headers={"Origin": ORIGIN},
    )
    [cookie] = answer.headers.getlist("Set-Cookie")
    assert {"HttpOnly", "SameSite=Strict", "Path=/"} <= set(cookie.split("; "))
    # The token is in the cookie only.
    assert cookie.split(";")[0].split("=", 1)[1] not in answer.text
    assert set(answer.json) == {"person", "location_id", "expires_at"}


def test_with_tls_the_cookie_is_bound_to_the_host(settings, clock):
    app = create_app(replace(settings, secure_cookies=True), clock=clock)
    practice = Practice(app, clock, roles=("front_desk",))
    practice.give_secrets("front_desk")
    client = app.test_client()
    body = {"sign_in": practice.sign_in_name("front_desk"), "password": PASSWORD}
    path, base = f"{API_PREFIX}/session/password", "https://localhost"
    # A page of the same name without TLS is not ours.
    plain = client.post(path, json=body, headers={"Origin": ORIGIN}, base_url=base)
    assert plain.json["code"] == "foreign_origin"
    answer = client.post(path, json=body, headers={"Origin": base}, base_url=base)
    [cookie] = answer.headers.getlist("Set-Cookie")
    assert cookie.startswith("__Host-")
    assert {"Secure", "HttpOnly", "SameSite=Strict", "Path=/"} <= set(cookie.split("; "))
    assert "Domain" not in cookie
    assert client.get(f"{API_PREFIX}/session", base_url=base).status_code == 200
    app.extensions["dosebook"].engine.dispose()
