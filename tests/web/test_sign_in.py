"""Signing in over HTTP: links, second factors, sessions, and how often one may try."""

import pyotp
import pytest

from api.people import links
from api.settings import API_PREFIX
from api.storage.engine import write
from tests.people.authenticator import Authenticator
from tests.web.practice import ORIGIN, PASSWORD, PIN

pytestmark = pytest.mark.both_databases(long=True)

pytestmark = pytest.mark.both_databases(long=True)

GOOD, SHORT = "zq7 willow lamp moss", "zq7 wilo"
CHROME = "Mozilla/5.0 (X11; Linux x86_64) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/140.0.0.0"


class Browser:
    """A page of ours in a browser: states its origin, keeps its cookie."""

    def __init__(self, app, origin=ORIGIN):
        self._client = app.test_client()
        self._sent = {"headers": {"Origin": origin, "User-Agent": CHROME}, "base_url": origin}

    def ask(self, path, body=None, *, method=None, status=200):
        answer = self._client.open(
            API_PREFIX + path,
            method=method or ("GET" if body is None else "POST"),
            json=body,
            **self._sent,
        )
        assert answer.status_code == status, answer.text
        return answer.json

    def sign_in(self, name, password=PASSWORD, status=200):
        return self.ask("/session/password", {"sign_in": name, "password": password}, status=status)


@pytest.fixture
def signed_in(practice):
    """A browser in which the administrator is signed in, and their name."""
    practice.give_secrets("administrator")
    browser = Browser(practice.app)
    name = practice.sign_in_name("administrator")
    browser.sign_in(name)
    return browser, name


def token_of(path):
    assert path.startswith("/#/welcome/")
    return path.rpartition("/")[2]


def test_an_invited_person_sets_their_secrets_and_signs_in(practice, signed_in):
    admin, _ = signed_in
    made = admin.ask(
        f"/people/{practice.people['clinician']}/link", {"purpose": "invite"}, status=201
    )
    token = token_of(made["path"])
    guest = Browser(practice.app)
    found = guest.ask("/links/open", {"token": token})
    assert (found["display_name"], found["pin"]) == ("Test clinician", "must")
    wrong = guest.ask("/links/use", {"token": token, "password": SHORT}, status=422)
    assert sorted(wrong["errors"]) == ["pin", "sign_in"]
    guest.ask("/links/use", {"token": token, "sign_in": "ida", "password": GOOD, "pin": PIN})
    assert guest.ask("/links/open", {"token": token}, status=401)["code"] == "link_wrong"
    guest.sign_in("Ida", GOOD)


def test_a_manager_makes_no_link_for_an_administrator(whole_practice):
    whole_practice.give_secrets("manager")
    manager = Browser(whole_practice.app)
    manager.sign_in(whole_practice.sign_in_name("manager"))
    people = whole_practice.people
    manager.ask(f"/people/{people['clinician']}/link", {"purpose": "reset"}, status=201)
    for purpose in ("reset", "reset_all", "invite"):
        refused = manager.ask(
            f"/people/{people['administrator']}/link", {"purpose": purpose}, status=403
        )
        assert refused["code"] == "administrator_only"
    assert manager.ask("/people/nobody/link", {"purpose": "reset"}, status=404)
    assert manager.ask(f"/people/{people['clinician']}/link", {"purpose": "first"}, status=422)


def test_links_are_opened_by_our_own_pages_only(practice):
    for path in ("/links/open", "/links/totp", "/links/passkey", "/links/use"):
        answer = practice.app.test_client().post(API_PREFIX + path, json={"token": "x"})
        assert (answer.status_code, answer.json["code"]) == (403, "foreign_origin")


def add_totp(browser):
    begun = browser.ask("/me/totp", {"password_now": PASSWORD})
    return begun, pyotp.TOTP(begun["secret"])


def test_codes_by_time_from_settings_to_sign_in(practice, signed_in, clock):
    browser, name = signed_in
    begun, app = add_totp(browser)
    assert begun["picture"].startswith("data:image/svg+xml")
    confirm = {"factor_id": begun["factor_id"], "label": "phone"}
    wrong = browser.ask("/me/totp/confirm", {**confirm, "code": "000000"}, status=422)
    assert list(wrong["errors"]) == ["code"]
    codes = browser.ask("/me/totp/confirm", {**confirm, "code": app.at(clock.now())})
    assert len(codes["recovery_codes"]) == 10
    me = browser.ask("/me")
    assert [one["label"] for one in me["factors"]] == ["phone"]
    assert begun["secret"] not in str(me)

    clock.advance(30)
    other = Browser(practice.app)
    step = other.sign_in(name)["step"]
    assert step["ways"] == ["totp", "recovery"]
    assert other.ask("/session", status=401)
    send = {"token": step["token"], "way": "totp"}
    assert other.ask("/session/factor", {**send, "code": "12"}, status=401)["attempts_left"] == 4
    assert other.ask("/session/factor", send, status=401)["code"] == "factor_wrong"
    other.ask("/session/factor", {**send, "code": app.at(clock.now())})
    assert other.ask("/session")["person"]["display_name"] == "Test administrator"


def test_passkeys_on_localhost_and_not_under_a_number(practice, clock):
    practice.give_secrets("administrator")
    name = practice.sign_in_name("administrator")
    origin = "http://localhost:8080"
    browser, key = Browser(practice.app, origin), Authenticator(origin)
    browser.sign_in(name)
    assert browser.ask("/me")["passkeys_here"]
    begun = browser.ask("/me/passkey", {"password_now": PASSWORD})
    sent = {"token": begun["token"], "label": "key", "credential": key.create(begun["options"])}
    assert len(browser.ask("/me/passkey/confirm", sent)["recovery_codes"]) == 10
    assert browser.ask("/me/passkey/confirm", sent, status=422)["code"] == "passkey_wrong"

    again = Browser(practice.app, origin)
    step = again.sign_in(name)["step"]
    assert (step["ways"], step["passkeys_here"]) == (["passkey", "recovery"], True)
    options = again.ask("/session/factor/passkey", {"token": step["token"]})
    assert options["rpId"] == "localhost"
    again.ask(
        "/session/factor",
        {"token": step["token"], "way": "passkey", "credential": key.get(options)},
    )
    assert again.ask("/session")["roles"] == ["administrator"]

    number = Browser(practice.app, "http://127.0.0.1:8080")
    step = number.sign_in(name)["step"]
    assert not step["passkeys_here"]
    refused = number.ask("/session/factor/passkey", {"token": step["token"]}, status=422)
    assert refused["code"] == "passkey_place"


def test_changes_of_one_s_secrets_ask_for_the_password_again(signed_in, clock):
    browser, _ = signed_in
    for path, more in (
        ("/me/password", {"password": GOOD}),
        ("/me/pin", {"pin": PIN}),
        ("/me/totp", {}),
        ("/me/passkey", {}),
        ("/me/recovery-codes", {}),
    ):
        answer = browser.ask(path, {"password_now": "wrong", **more}, status=401)
        assert answer["code"] == "password_wrong", path
    # Five of them pause this and every sign-in alike.
    locked = browser.ask("/me/totp", {"password_now": PASSWORD}, status=429)
    assert locked["code"] == "password_locked"
    # Whoever is signed in stays so.
    browser.ask("/session")
    clock.advance(60)
    browser.ask("/me/totp", {"password_now": PASSWORD})


def test_recovery_codes_stand_for_a_factor_that_is_there(signed_in):
    browser, _ = signed_in
    refused = browser.ask("/me/recovery-codes", {"password_now": PASSWORD}, status=422)
    assert refused["code"] == "factor_needed"


def test_a_new_password_ends_the_sessions_elsewhere(practice, signed_in):
    browser, name = signed_in
    other = Browser(practice.app)
    other.sign_in(name)
    tablet = practice.tablet("administrator")
    changed = {"password_now": PASSWORD, "password": GOOD}
    wrong = browser.ask("/me/password", {**changed, "password": "short"}, status=422)
    assert list(wrong["errors"]) == ["password"]
    browser.ask("/me/password", changed)
    browser.ask("/session")
    other.ask("/session", status=401)
    answer = practice.app.test_client().get(f"{API_PREFIX}/sessions", headers=tablet._headers())
    assert answer.status_code == 401
    Browser(practice.app).sign_in(name, PASSWORD, status=401)
    Browser(practice.app).sign_in(name, GOOD)


def test_one_sees_and_ends_one_s_own_sessions(practice, signed_in):
    browser, _ = signed_in
    tablet = practice.tablet("administrator")
    own = browser.ask("/sessions")["sessions"]
    assert sorted((one["kind"], one["here"]) for one in own) == [("desk", True), ("tablet", False)]
    desk = next(one for one in own if one["kind"] == "desk")
    assert (desk["agent"], desk["tablet_label"]) == ("Chrome, Linux", None)
    seen = tablet.ask("GET", "/sessions")["sessions"]
    assert {one["kind"]: one["here"] for one in seen} == {"tablet": True, "desk": False}
    other = next(one for one in own if one["kind"] == "tablet")
    browser.ask(f"/sessions/{other['session_id']}", method="DELETE", status=204)
    answer = practice.app.test_client().get(f"{API_PREFIX}/sessions", headers=tablet._headers())
    assert answer.status_code == 401
    # The tablet itself goes on: it is the person who was signed out.
    tablet.pull()


def test_an_administrator_ends_anybody_s_session_of_the_location_and_nobody_else_does(
    whole_practice,
):
    browsers = {}
    for role in ("administrator", "manager", "clinician"):
        whole_practice.give_secrets(role)
        browsers[role] = Browser(whole_practice.app)
        browsers[role].sign_in(whole_practice.sign_in_name(role))
    for role in ("manager", "clinician"):
        assert browsers[role].ask("/location/sessions", status=403)["right"] == "session.end"
    listed = browsers["administrator"].ask("/location/sessions")["sessions"]
    assert {one["person_id"] for one in listed} == {
        whole_practice.people[role] for role in browsers
    }
    theirs = next(one for one in listed if one["person_id"] == whole_practice.people["clinician"])[
        "session_id"
    ]
    browsers["manager"].ask(f"/location/sessions/{theirs}", method="DELETE", status=403)
    browsers["manager"].ask(f"/sessions/{theirs}", method="DELETE", status=404)
    browsers["administrator"].ask(f"/location/sessions/{theirs}", method="DELETE", status=204)
    browsers["clinician"].ask("/session", status=401)


def test_a_desk_is_signed_out_after_half_an_hour_without_a_request(signed_in, clock):
    browser, _ = signed_in
    clock.advance(29 * 60)
    browser.ask("/session")
    clock.advance(29 * 60)
    browser.ask("/session")
    clock.advance(30 * 60)
    assert browser.ask("/session", status=401)["code"] == "not_signed_in"


def test_a_link_opens_nobody_s_door_at_another_location(app, clock, practice):
    other = type(practice)(app, clock, name="South room", roles=("administrator",))
    other.give_secrets("administrator")
    browser = Browser(app)
    browser.sign_in(other.sign_in_name("administrator"))
    refused = browser.ask(
        f"/people/{practice.people['clinician']}/link", {"purpose": "reset"}, status=404
    )
    absent = browser.ask("/people/absent/link", {"purpose": "reset"}, status=404)
    assert refused == absent
    with write(practice.house.engine) as connection:
        links.make_link(
            connection,
            location_id=practice.location_id,
            person_id=practice.people["clinician"],
            purpose=links.RESET,
            made_by=None,
            clock=clock,
            random=practice.house.random,
        )
    assert browser.ask("/location/sessions")["sessions"][0]["here"]
