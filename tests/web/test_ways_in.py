"""Ways in that somebody at the practice might try, and that are shut.

What is tried is from memory of OWASP's testing guide (WSTG 4.2: sessions, redirects, host headers,
enumeration); what must come of it is people.md's and this project's own.
"""

import pytest

from api.demo.tablet_client import Refused
from api.settings import API_PREFIX
from api.storage import backups
from api.storage.engine import read
from api.sync import epochs
from tests.web.practice import ORIGIN, PASSWORD, Practice


def get(app, path, headers):
    return app.test_client(use_cookies=False).get(API_PREFIX + path, headers=headers)


@pytest.mark.parametrize("host", ["localhost", "elsewhere.example"])
@pytest.mark.parametrize(
    "path",
    [
        "//elsewhere.example",
        "//elsewhere.example/",
        "///elsewhere.example",
        "/\\elsewhere.example",
        "/.//elsewhere.example/",
        "/api//v1/session",
        "/api/v1//session",
        "/api/v1/session/",
        "/api/v1/records//pdf",
        "/api/v1/records/x/../../session",
        "//api/v1/session",
    ],
)
def test_no_address_leads_anywhere_else(client, path, host):
    for method in ("GET", "POST"):
        # As it stands in the request line: the client would take two strokes for a host.
        raw = {"PATH_INFO": path, "HTTP_HOST": host, "HTTP_ORIGIN": f"http://{host}"}
        answer = client.open("/", method=method, environ_overrides=raw)
        assert "Location" not in answer.headers, answer.headers["Location"]
        assert not 300 <= answer.status_code < 400
        assert "elsewhere.example" not in answer.get_data(as_text=True)


def test_an_id_that_no_database_can_hold_is_nobody_s(practice):
    """PostgreSQL refuses a text with this sign, which must not be a failure of the server's."""
    desk = practice.desk("administrator")
    for method, path in (
        ("POST", "/tablets/%00/confirm"),
        ("GET", "/people/x%00y"),
        ("DELETE", "/location/sessions/%00"),
    ):
        with pytest.raises(Refused) as refused:
            desk.ask(method, path, None if method == "GET" else {})
        assert refused.value.facts["status"] == 404, path


def test_a_token_of_one_kind_is_none_of_another(app, practice):
    tablet = practice.tablet("clinician")
    bearer, person = (tablet._headers()[name] for name in ("Authorization", "Dosebook-Person"))
    alone = bearer.removeprefix("Bearer ")
    for shown in (
        {"Authorization": f"Bearer {person}"},
        {"Cookie": f"dosebook_desk={person}"},
        {"Cookie": f"dosebook_desk={alone}"},
        {"Authorization": bearer, "Dosebook-Person": alone},
        # Of another tablet, on this one.
        {"Authorization": practice.tablet()._headers().get("Authorization", "Bearer x")}
        | {"Dosebook-Person": person},
    ):
        for path in ("/session", "/records", "/sessions", "/sync/pull?feed=records"):
            assert get(app, path, shown).status_code == 401, (shown.keys(), path)
    assert get(app, "/records", tablet._headers()).status_code == 200


def test_a_session_that_was_planted_is_not_the_one_that_signs_in(app, practice):
    practice.give_secrets("clinician")
    client = app.test_client()
    client.set_cookie("dosebook_desk", "planted-by-somebody-else")
    answer = client.post(
        f"{API_PREFIX}/session/password",
        json={"sign_in": practice.sign_in_name("clinician"), "password": PASSWORD},
        headers={"Origin": ORIGIN},
    )
    assert answer.status_code == 200
    assert client.get_cookie("dosebook_desk").value != "planted-by-somebody-else"
    planted = {"Cookie": "dosebook_desk=planted-by-somebody-else"}
    assert get(app, "/session", planted).status_code == 401


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "null"},
        {"Origin": f"{ORIGIN}.elsewhere.example"},
        {"Origin": f"{ORIGIN}:81"},
        {"Origin": f"{ORIGIN}@elsewhere.example"},
        {"Origin": ORIGIN, "Sec-Fetch-Site": "same-site"},
        {"Origin": ORIGIN, "Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "none"},
        {"Referer": f"{ORIGIN}/"},
        {},
    ],
)
def test_a_change_that_does_not_come_from_our_own_page_is_refused(practice, headers):
    desk = practice.desk("administrator")
    body = {"location_id": practice.location_id}
    status, answer = desk._transport("POST", f"{API_PREFIX}/session/location", body, headers)
    assert (status, answer["code"]) == (403, "foreign_origin")


def test_a_page_of_somebody_who_has_left_the_desk_does_nothing_as_who_came_after(whole_practice):
    """Two tabs of one browser: what is typed in one must not be saved in another's name."""
    left, came = (whole_practice.people[role] for role in ("manager", "administrator"))
    desk = whole_practice.desk("administrator")
    for method, path, body in (
        ("GET", "/house?kind=person", None),
        ("POST", "/tablets/codes", {}),
        ("DELETE", "/sessions", None),
    ):
        with pytest.raises(Refused) as refused:
            desk.ask(method, path, body, **{"Dosebook-Signed-In": left})
        assert (refused.value.code, refused.value.facts["status"]) == ("person_changed", 409)
        desk.ask(method, path, body, **{"Dosebook-Signed-In": came})


def test_a_method_is_what_the_request_line_says(practice):
    desk = practice.desk("clinician")
    shown = {**desk._headers, "X-HTTP-Method-Override": "DELETE", "X-Method-Override": "DELETE"}
    assert desk._transport("GET", f"{API_PREFIX}/session?_method=DELETE", None, shown)[0] == 200
    assert desk.ask("GET", "/session")["person"]["person_id"] == practice.people["clinician"]


def test_a_name_that_exists_and_one_that_does_not_are_answered_alike(app, practice):
    practice.give_secrets("administrator")
    client = app.test_client()

    def answers(name):
        found = []
        for _ in range(7):
            answer = client.post(
                f"{API_PREFIX}/session/password",
                json={"sign_in": name, "password": "some other long pass phrase"},
                headers={"Origin": ORIGIN},
            )
            found.append((answer.status_code, answer.json, sorted(answer.headers.keys())))
        return found

    known = answers(practice.sign_in_name("administrator"))
    assert known == answers("nobody of that name")
    assert {status for status, *_ in known} == {401, 429}


def test_nobody_but_an_administrator_makes_one(whole_practice):
    manager = whole_practice.desk("manager")
    for role in ("manager", "front_desk", "administrator"):
        said = {
            "display_name": "Test",
            "initials": "T",
            "credential": None,
            "licence_expires": None,
            "auditor_until": None,
            "roles": ["manager"] if role == "administrator" else [role, "administrator"],
        }
        with pytest.raises(Refused) as refused:
            manager.command("person.registered", whole_practice.people[role], said)
        assert refused.value.code == "administrator_needed", role
    # Nor opens the door of one.
    for purpose in ("invite", "reset", "reset_all"):
        path = f"/people/{whole_practice.people['administrator']}/link"
        with pytest.raises(Refused) as refused:
            manager.ask("POST", path, {"purpose": purpose})
        assert refused.value.code == "administrator_only"


def test_a_clerk_of_another_location_reaches_nothing_by_saying_where_they_are(app, clock, practice):
    other = Practice(app, clock, name="South room", roles=("front_desk",))
    tablet = practice.tablet("clinician")
    record_id = practice.signed_record(tablet)
    tablet.push()
    clerk = other.desk("front_desk")
    for headers in ({}, {"Dosebook-Location": practice.location_id}):
        with pytest.raises(Refused) as refused:
            clerk.ask("GET", f"/records/{record_id}", **headers)
        assert refused.value.facts["status"] in (404, 409)
    with pytest.raises(Refused) as refused:
        clerk.ask("POST", "/session/location", {"location_id": practice.location_id})
    assert refused.value.facts["status"] == 404


def test_a_stolen_tablet_s_nonces_and_tokens_end_with_it(app, practice):
    stolen = practice.tablet("clinician")
    shown = stolen._headers()
    desk = practice.desk("administrator")
    tablet_id = stolen.identity["tablet_id"]
    desk.ask("POST", f"/tablets/{tablet_id}/revoke", {"reason": "Stolen"})
    for path in ("/records", "/sync/pull", "/sync/pull?feed=records", "/sessions"):
        assert get(app, path, shown).status_code == 401
    # It proves its key again, and may hand in; it reads nothing, and nobody signs in on it.
    stolen.prove()
    stolen._person_token = None
    for path in ("/sync/pull", "/sync/pull?feed=records"):
        answer = get(app, path, stolen._headers())
        assert (answer.status_code, answer.json["code"]) == (403, "tablet_revoked")
    with pytest.raises(Refused) as refused:
        stolen.sign_in(practice.people["clinician"], "270618")
    assert refused.value.code == "tablet_revoked"


def test_a_stolen_tablet_does_not_fill_the_disk_with_names(practice, monkeypatch):
    monkeypatch.setattr(epochs, "MOST_OF_SHUT_OUT", 3)
    stolen = practice.tablet()
    desk = practice.desk("administrator")
    path = f"/tablets/{stolen.identity['tablet_id']}/revoke"

    def name(*event_ids):
        said = {"epoch": stolen.identity["epoch"], "event_ids": list(event_ids)}
        stolen.ask("POST", "/sync/returning", said)
        with read(practice.house.engine) as connection:
            where = (connection, practice.location_id, stolen.identity["tablet_id"])
            return backups.count_named(*where)

    # One that is trusted names what it has to.
    assert name("a", "b") == 2
    desk.ask("POST", path, {"reason": "Stolen"})
    stolen.prove()
    assert name("c", "d", "e") == 3
    assert name("f") == 3
