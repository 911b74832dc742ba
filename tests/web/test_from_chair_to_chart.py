"""The whole path over the interface: enrol, sign in, record, send, read, place in the chart."""

import hashlib

import pytest

from api.audit.verify import verify_log
from api.demo.tablet_client import Refused
from api.events import signing
from api.work import runner
from tests.web.practice import IRRADIANCE_MEAN_W_CM2, PASSWORD, PIN

pytestmark = pytest.mark.both_databases


def test_from_chair_to_chart(practice, clock):
    tablet = practice.tablet("clinician")
    assert tablet.identity["location_name"] == practice.name
    certificate = tablet.identity["certificate"]
    assert signing.verify(
        tablet.identity["server_public_key"], certificate["text"], certificate["signature"]
    )
    record_id = practice.signed_record(tablet)
    results = tablet.push()
    assert [each["outcome"] for each in results] == ["applied"] * 5
    # The client recomputes the chain's links and checks the head's signature as it reads.
    tablet.pull()
    assert ("person", practice.people["clinician"]) in tablet.documents
    tablet.pull("records")
    assert tablet.documents["record", record_id]["status"] == "signed"

    # Sent again, nothing happens twice.
    again = [each.item for each in tablet.outbox]
    answer = tablet.ask(
        "POST",
        "/sync/push",
        {"protocol": 1, "epoch": tablet.identity["epoch"], "items": again},
    )
    assert [each["outcome"] for each in answer["results"]] == ["duplicate"] * 5
    # A tablet that lost the first reply learns from the second what was decided.
    assert [each["verdict"] for each in answer["results"]] == ["applied"] * 5

    front = practice.desk("front_desk")
    session = front.ask("GET", "/session")
    assert session["roles"] == ["front_desk"]
    assert session["location"]["name"] == practice.name
    [waiting] = front.ask("GET", "/chart-queue")["records"]
    assert (waiting["record_id"], waiting["chart_number"]) == (record_id, "C-1001")
    assert waiting["waiting_since"] == waiting["signed_at"]

    record = front.ask("GET", f"/records/{record_id}")
    [only] = record["passes"]
    assert only["dose"]["set"]["irradiance_mean"] == pytest.approx(IRRADIANCE_MEAN_W_CM2, rel=1e-6)
    # 4 W for 12.4 s.
    assert only["total_energy_j"]["set"] == pytest.approx(49.6)
    assert record["flags"] == []
    assert record["people"][practice.people["clinician"]]["display_name"] == "Test clinician"

    with pytest.raises(Refused) as early:
        front.ask("GET", f"/records/{record_id}/pdf")
    assert (early.value.code, early.value.facts["status"]) == ("not_rendered_yet", 409)
    assert runner.run_once(practice.house.engine, clock) == 2
    pdf = front.ask("GET", f"/records/{record_id}/pdf")
    assert pdf.startswith(b"%PDF-")
    text = front.ask("GET", f"/records/{record_id}/text")
    assert "C-1001" in text["text"]
    assert text["sha256"] == hashlib.sha256(text["text"].encode()).hexdigest()

    done = front.command("record.placed_in_chart", record_id, {"how": "pdf", "note": None})
    assert front.ask("GET", "/chart-queue")["records"] == []
    [placed] = front.ask("POST", "/records/search", {"q": "C-1001"})["records"]
    assert placed["placed_at"] is not None
    assert placed["position"] == done["position"]
    health = practice.app.test_client().get("/api/v1/health").json
    assert (health["status"], health["log_position"]) == ("ok", done["position"])
    report = verify_log(practice.house.engine)
    assert (report["ok"], report["entries"]) == (True, done["position"])

    front.sign_out()
    with pytest.raises(Refused, match="401"):
        front.ask("GET", "/session")


def test_an_enrolment_code_works_once(practice):
    code = practice.code()
    tablet = practice.tablet()
    tablet.enrol(code)
    with pytest.raises(Refused) as again:
        tablet.enrol(code)
    assert (again.value.code, again.value.facts["status"]) == ("code_wrong", 401)


def test_an_enrolment_code_runs_out(practice, clock):
    code = practice.code()
    tablet = practice.tablet()
    clock.advance(601)
    with pytest.raises(Refused, match="401"):
        tablet.enrol(code)


def test_a_wrong_pin_is_counted_and_then_locked(practice, clock):
    practice.give_secrets("clinician")
    tablet = practice.tablet()
    person_id = practice.people["clinician"]
    left = []
    for _ in range(5):
        with pytest.raises(Refused) as wrong:
            tablet.sign_in(person_id, "000000")
        assert (wrong.value.code, wrong.value.facts["status"]) == ("pin_wrong", 401)
        left.append(wrong.value.facts["problem"]["attempts_left"])
    assert left == [4, 3, 2, 1, 0]
    with pytest.raises(Refused) as locked:
        tablet.sign_in(person_id, PIN)
    assert (locked.value.code, locked.value.facts["status"]) == ("pin_locked", 429)
    clock.advance(61)
    assert tablet.sign_in(person_id, PIN)["person_id"] == person_id


def test_a_lock_says_when_to_try_again(practice):
    practice.give_secrets("clinician")
    tablet = practice.tablet()
    for _ in range(5):
        with pytest.raises(Refused):
            tablet.sign_in(practice.people["clinician"], "000000")
    answer = practice.app.test_client().post(
        "/api/v1/session/pin",
        json={"person_id": practice.people["clinician"], "pin": PIN},
        headers=tablet._headers(),
    )
    assert answer.status_code == 429
    # One minute, on a clock that stands still.
    assert answer.headers["Retry-After"] == "60"


def test_signing_in_brings_the_tablets_keep_key_again(practice):
    practice.give_secrets("clinician")
    tablet = practice.tablet()
    tablet.prove()
    answer = practice.app.test_client().post(
        "/api/v1/session/pin",
        json={"person_id": practice.people["clinician"], "pin": PIN},
        headers=tablet._headers(),
    )
    assert answer.json["keep_key"] == tablet.identity["keep_key"]


def pin_answer(practice, tablet, role: str) -> dict:
    return (
        practice.app.test_client()
        .post(
            "/api/v1/session/pin",
            json={"person_id": practice.people[role], "pin": PIN},
            headers=tablet._headers(),
        )
        .json
    )


def test_signing_in_brings_the_view_key_to_whoever_may_read_records(practice):
    tablet, other = practice.tablet(), practice.tablet()
    for one in (tablet, other):
        one.prove()
    for role in ("clinician", "front_desk", "administrator"):
        practice.give_secrets(role)
    given = [pin_answer(practice, tablet, role) for role in ("clinician", "front_desk")]
    assert len({one["view_key"] for one in given}) == 1
    assert len(given[0]["view_key"]) == 43
    assert given[0]["view_key"] not in (
        given[0]["keep_key"],
        pin_answer(practice, other, "clinician")["view_key"],
    )
    assert pin_answer(practice, tablet, "administrator")["view_key"] is None


def test_signing_in_says_since_when_the_secrets_stand(practice):
    practice.give_secrets("clinician")
    tablet = practice.tablet()
    tablet.prove()
    before = pin_answer(practice, tablet, "clinician")["secrets_changed_at"]
    practice.clock.advance(60)
    assert pin_answer(practice, tablet, "clinician")["secrets_changed_at"] == before
    practice._with_secrets.clear()
    practice.give_secrets("clinician")
    assert pin_answer(practice, tablet, "clinician")["secrets_changed_at"] > before


def test_a_wrong_password_is_refused(practice):
    practice.give_secrets("clinician")
    client = practice.app.test_client()
    for name in (practice.sign_in_name("clinician"), "nobody"):
        answer = client.post(
            "/api/v1/session/password",
            json={"sign_in": name, "password": PASSWORD + "!"},
            headers={"Origin": "http://localhost"},
        )
        assert (answer.status_code, answer.json["code"]) == (401, "sign_in_wrong")
        assert "Set-Cookie" not in answer.headers


def test_records_are_not_pulled_by_a_tablet_alone(practice):
    tablet = practice.tablet()
    tablet.pull()
    with pytest.raises(Refused) as refused:
        tablet.pull("records")
    assert refused.value.code == "person_needed"


def test_a_push_of_another_protocol_is_told_to_upgrade(practice):
    tablet = practice.tablet("clinician")
    with pytest.raises(Refused) as refused:
        tablet.ask(
            "POST",
            "/sync/push",
            {"protocol": 99, "epoch": tablet.identity["epoch"], "items": [], "new": 1},
        )
    assert refused.value.facts["status"] == 426


def test_too_large_a_batch_is_told_to_halve(practice):
    tablet = practice.tablet("clinician")
    with pytest.raises(Refused) as refused:
        tablet.ask(
            "POST",
            "/sync/push",
            {"protocol": 1, "epoch": tablet.identity["epoch"], "items": [{}] * 51},
        )
    assert refused.value.facts["status"] == 413
