"""People of a location: added, changed and ended by those who may, and what is told of it.

What is right here is this project's own rule, but that access ends when somebody's work ends:
45 CFR 164.308(a)(3)(ii)(C), from memory.
"""

import pytest

from api.app import PROJECTORS
from api.demo.tablet_client import Refused
from api.storage import accounts
from api.storage.engine import read, write
from api.sync import desk
from api.sync.rebuild import rebuild
from tests.web.practice import PIN, Practice

pytestmark = pytest.mark.both_databases(long=True)

WHO = {
    "display_name": "New Person",
    "initials": "NP",
    "roles": ["assistant"],
    "credential": None,
    "licence_expires": None,
}


@pytest.fixture
def house(app, clock):
    return Practice(
        app, clock, roles=("clinician", "manager", "administrator", "auditor", "safety_officer")
    )


def refused(ask, *arguments):
    with pytest.raises(Refused) as problem:
        ask(*arguments)
    return problem.value.code, problem.value.facts


def register(desk, person_id="new-1", **changes):
    return desk.command("person.registered", person_id, {**WHO, **changes})


def history(desk, person_id):
    return desk.ask("GET", f"/people/{person_id}")["history"]


def test_a_person_is_added_and_changed_and_every_change_is_told(house):
    admin = house.desk("administrator")
    register(admin)
    register(admin, roles=["clinician"], display_name="New Name")
    changed, added = history(admin, "new-1")
    assert (added["what"], added["roles"]) == ("registered", ["assistant"])
    assert added["by"] == changed["by"] == house.people["administrator"]
    assert (changed["what"], changed["roles_given"], changed["roles_taken"]) == (
        "changed",
        ["clinician"],
        ["assistant"],
    )
    assert changed["changes"] == [{"field": "display_name", "was": "New Person", "now": "New Name"}]


@pytest.mark.parametrize(
    ("changes", "code", "field"),
    [
        ({"roles": ["owner"]}, "role_unknown", "payload.roles"),
        ({"roles": []}, "role_missing", "payload.roles"),
        ({"roles": ["auditor"]}, "auditor_end_missing", "payload.auditor_until"),
        # The test's clock stands at 2 March 2026.
        (
            {"roles": ["auditor"], "auditor_until": "2026-03-01"},
            "auditor_end_past",
            "payload.auditor_until",
        ),
    ],
)
def test_what_is_wrong_is_said_at_its_field(house, changes, code, field):
    found, facts = refused(lambda: register(house.desk("administrator"), **changes))
    assert (found, facts["status"], list(facts["problem"]["errors"])) == (code, 422, [field])


def test_an_auditor_reads_through_the_last_day_and_no_longer(house, clock):
    admin = house.desk("administrator")
    register(admin, house.people["auditor"], roles=["auditor"], auditor_until="2026-03-03")
    clock.advance(39 * 3600)  # 23:00 on the last day, in a zone that is at UTC in March
    desk = house.desk("auditor")
    desk.ask("GET", "/records")
    for _ in range(6):
        # A desk that is not used is signed out.
        clock.advance(20 * 60)
        desk.ask("GET", "/session")
    code, facts = refused(desk.ask, "GET", "/records")
    assert (code, facts["status"]) == ("not_allowed", 403)
    assert desk.ask("GET", "/session")["rights"] == []


def test_an_auditor_without_a_last_day_reads_nothing(house):
    desk = house.desk("auditor")
    desk.ask("GET", "/records")
    # As an older version wrote it: without the field.
    register_as_before(house, house.people["auditor"])
    assert refused(desk.ask, "GET", "/records")[0] == "not_allowed"


def register_as_before(house, person_id):
    desk.append_as_desk(
        house.house.engine,
        house.clock,
        house.house.server_key,
        location_id=house.location_id,
        actor_id=None,
        type="person.registered",
        entity_id=person_id,
        payload={**WHO, "roles": ["auditor"]},
        idempotency_key="as before",
        projectors=PROJECTORS,
        zone="Europe/Lisbon",
    )


def test_only_an_administrator_makes_one_or_changes_one(house):
    manager, admin = house.desk("manager"), house.people["administrator"]
    register(manager)
    for change in (
        lambda: register(manager, roles=["administrator"]),
        lambda: register(manager, house.people["manager"], roles=["manager", "administrator"]),
        lambda: register(manager, admin, roles=["administrator"]),
        lambda: register(manager, admin),
        lambda: manager.command("person.left", admin, {}),
    ):
        code, facts = refused(change)
        assert (code, facts["status"]) == ("administrator_needed", 403)


def test_the_last_administrator_stays(house, clock):
    admin, own = house.desk("administrator"), house.people["administrator"]
    for change in (
        lambda: register(admin, own, roles=["manager"]),
        lambda: admin.command("person.left", own, {}),
    ):
        assert refused(change)[0] == "last_administrator"
    register(admin, roles=["administrator"])
    admin.command("person.left", own, {})
    # Gone at once, in the middle of the session.
    assert refused(admin.ask, "GET", "/session")[0] == "not_signed_in"


def test_who_leaves_is_out_at_once_everywhere(house):
    admin, person_id = house.desk("administrator"), house.people["clinician"]
    tablet, other = house.tablet("clinician"), house.tablet()
    at_desk = house.desk("clinician")
    record_id = house.signed_record(tablet)
    tablet.push()
    admin.command("person.left", person_id, {"reason": "Moved away"})
    assert refused(at_desk.ask, "GET", "/session")[0] == "not_signed_in"
    assert refused(tablet.ask, "GET", "/records")[0] == "not_signed_in"
    for one in (tablet, other):
        assert refused(one.sign_in, person_id, PIN)[0] == "pin_wrong"
    assert refused(lambda: house.desk("clinician"))[0] == "sign_in_wrong"
    with read(house.house.engine) as connection:
        stored = accounts.secret_of(connection, house.location_id, person_id)
    assert [stored[name] for name in ("sign_in", "password_hash", "pin_hash")] == [None] * 3
    # The tablets hear of it, and what was recorded stays with its name.
    [known] = [one for one in other.pull() if one["doc_id"] == person_id]
    assert known["body"]["status"] == "left"
    seen = house.desk("safety_officer").ask("GET", f"/records/{record_id}")
    assert seen["people"][person_id]["display_name"] == "Test clinician"
    assert (
        history(admin, person_id)[0] | {"what": "left", "reason": "Moved away"}
        == (history(admin, person_id)[0])
    )
    assert refused(admin.command, "person.left", person_id, {})[0] == "left_already"


def test_what_was_recorded_before_leaving_counts_and_after_it_does_not(house, clock):
    tablet, person_id = house.tablet("clinician"), house.people["clinician"]
    before = tablet.new_id()
    kind = {"text": "Biopsy", "code": None}
    tablet.record("procedure_kind.listed", before, kind)
    clock.advance(60)
    house.desk("administrator").command("person.left", person_id, {})
    clock.advance(60)
    tablet.record("procedure_kind.listed", tablet.new_id(), kind)
    first, second = tablet.push()
    assert first["outcome"] == "applied"
    assert (second["outcome"], second["reason"]) == ("quarantined", "actor_left")


def test_who_comes_back_needs_new_secrets(house, clock):
    admin, person_id = house.desk("administrator"), house.people["clinician"]
    tablet = house.tablet("clinician")
    admin.command("person.left", person_id, {})
    clock.advance(60)
    register(admin, person_id, roles=["clinician"])
    assert refused(tablet.sign_in, person_id, PIN)[0] == "pin_wrong"
    assert [one["what"] for one in history(admin, person_id)] == ["returned", "left", "registered"]


def test_making_all_documents_anew_shuts_nobody_out_who_came_back(house, clock):
    admin, person_id = house.desk("administrator"), house.people["clinician"]
    admin.command("person.left", person_id, {})
    clock.advance(60)
    register(admin, person_id, roles=["clinician"])
    tablet = house.tablet("clinician")
    with write(house.house.engine) as connection:
        rebuild(connection, projectors=house.house.projectors)
    tablet.ask("GET", "/records")
    tablet.sign_in(person_id, PIN)


@pytest.mark.parametrize("type", ["person.registered", "person.left"])
def test_people_are_not_changed_on_a_tablet(house, type):
    tablet = house.tablet("manager")
    tablet.record(type, house.people["clinician"], WHO if type == "person.registered" else {})
    [result] = tablet.push()
    assert (result["outcome"], result["reason"]) == ("quarantined", "desk_only")


def test_a_foreign_person_and_an_absent_one_answer_alike(app, clock, house):
    other = Practice(app, clock, name="South room", roles=("clinician",))
    admin = house.desk("administrator")
    for ask in (
        lambda id: admin.ask("GET", f"/people/{id}"),
        lambda id: admin.command("person.left", id, {}),
    ):
        foreign, absent = refused(ask, other.people["clinician"]), refused(ask, "nobody")
        assert foreign[0] == absent[0] == "person_unknown"
        assert foreign[1]["status"] == absent[1]["status"] == 404


def note(desk, person_id, **more):
    said = {"credential_id": "lic-1", "kind": "licence", "text": "Licence", **more}
    return desk.command("credential.noted", person_id, said)


def test_the_server_flags_what_stood_against_the_operator(house, clock):
    officer, person_id = house.desk("safety_officer"), house.people["clinician"]
    note(officer, person_id, expires_on="2026-03-01")
    officer.command("scope.decided", person_id, {"device_ids": []})
    tablet = house.tablet("clinician")
    record_id = house.signed_record(
        tablet,
        accepted={
            "findings": [{"code": "credential_expired", "kind": "licence"}],
            "reason": "Renewal is on its way",
        },
    )
    silent = house.signed_record(tablet, chart_number="C-1002")
    # What is decided later changes nothing about what stood there then.
    clock.advance(60)
    note(officer, person_id, expires_on="2099-12-31")
    officer.command("scope.decided", person_id, {"device_ids": None})
    tablet.push()
    record = officer.ask("GET", f"/records/{record_id}")
    assert {one["code"]: one["text"] for one in record["flags"]} | {
        "credential_expired": "Test clinician operated although their licence ended on "
        "2026-03-01. Reason given: Renewal is on its way",
        "outside_scope_device": "Test clinician operated a laser outside their scope. "
        "Reason given: Renewal is on its way",
    } == {one["code"]: one["text"] for one in record["flags"]}
    assert record["accepted"][0]["reason"] == "Renewal is on its way"
    flags = officer.ask("GET", f"/records/{silent}")["flags"]
    assert [one["text"].endswith("No reason was given.") for one in flags] == [True, True]


def test_credentials_are_kept_with_when_they_held_and_told(house, clock):
    officer, person_id = house.desk("safety_officer"), house.people["clinician"]
    note(officer, person_id)
    clock.advance(60)
    officer.command(
        "credential.withdrawn", person_id, {"credential_id": "lic-1", "reason": "Revoked"}
    )
    # Who somebody is, said anew, does not touch what proves it.
    register(house.desk("manager"), person_id, roles=["clinician"])
    [one] = officer.ask("GET", f"/people/{person_id}")["person"]["credentials"]
    assert one["ended_at"] > one["noted_at"]
    assert [line["what"] for line in history(officer, person_id)] == [
        "changed",
        "credential_withdrawn",
        "credential",
        "registered",
    ]


@pytest.mark.parametrize(
    ("type", "payload", "code"),
    [
        ("scope.decided", {"device_ids": ["nowhere"]}, "device_unknown"),
        ("scope.decided", {"procedure_kind_ids": ["nothing"]}, "procedure_kind_unknown"),
        (
            "credential.noted",
            {
                "credential_id": "c",
                "kind": "course",
                "text": "Course",
                "issued_on": "2026-02-02",
                "expires_on": "2026-02-01",
            },
            "expires_before_issued",
        ),
    ],
)
def test_what_cannot_be_about_an_operator_is_refused(house, type, payload, code):
    desk = house.desk("safety_officer")
    assert refused(desk.command, type, house.people["clinician"], payload)[0] == code
    assert refused(desk.command, type, "nobody", payload)[0] == "person_unknown"


def test_that_a_link_was_made_for_somebody_is_told_with_the_rest(house, clock):
    """A link lets whoever opens it become that person: who made one has to be in sight."""
    admin = house.desk("administrator")
    register(admin)
    clock.advance(60)
    made = admin.ask("POST", "/people/new-1/link", {"purpose": "invite"})
    clock.advance(60)
    register(admin, roles=["clinician"])
    lines = history(admin, "new-1")
    assert [one["what"] for one in lines] == ["changed", "link_made", "registered"]
    assert (lines[1]["by"], lines[1]["purpose"]) == (house.people["administrator"], "invite")
    assert lines[1]["at"] == "2026-03-02T08:01:00.000+00:00"
    # Never what it opens with.
    assert made["path"].rsplit("/", 1)[1] not in str(lines)
