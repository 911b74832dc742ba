"""Certificates of work and of calibrations: put at a desk or handed in by a tablet, got by all."""

import hashlib
import json
from datetime import timedelta

import pytest

from api.audit.verify import verify_log
from api.demo.tablet_client import TabletClient
from api.people.rights import RIGHTS, ROLES
from api.registers import certificates
from api.settings import API_PREFIX
from api.storage import access
from api.storage.engine import is_postgresql, read, write
from api.sync import rebuild
from tests.files.papers import pdf, png
from tests.records import pictures
from tests.web.equipment import DEVICE
from tests.web.practice import Practice
from tests.web.test_upkeep import WORK

pytestmark = pytest.mark.both_databases(long=True)

PDF, PNG, JPEG = pdf(), png(), pictures.jpeg()
OCTETS = "application/octet-stream"
METER = {
    "label": "Meter 1",
    "serial": "77",
    "calibrated_on": "2026-01-10",
    "due_on": None,
    "uncertainty": "0.03",
    "certificate": "No. 4",
}


def hash_of(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def named(content: bytes, file_name: str = "service.pdf", media_type: str = "application/pdf"):
    """What an entry says of a certificate."""
    return {
        "sha256": hash_of(content),
        "file_name": file_name,
        "media_type": media_type,
        "size_bytes": max(1, len(content)),
    }


def put(practice, who, content=PDF, *, sha256=None, kind=OCTETS, **more):
    """Put as a desk or a tablet; ``who`` None is a stranger."""
    path = f"{API_PREFIX}/certificates/{sha256 or hash_of(content)}"
    client, headers = _door(practice, who)
    return client.put(path, data=content, content_type=kind, headers=headers, **more)


def get(practice, who, content=PDF):
    client, headers = _door(practice, who)
    return client.get(f"{API_PREFIX}/certificates/{hash_of(content)}", headers=headers)


def listed(practice, who):
    client, headers = _door(practice, who)
    answer = client.get(f"{API_PREFIX}/certificates", headers=headers)
    assert answer.status_code == 200, answer.text
    return answer.json["certificates"]


def _door(practice, who):
    """The client and the headers with which a desk, a tablet or a stranger asks."""
    if who is None:
        return practice.app.test_client(), {}
    if isinstance(who, TabletClient):
        return practice.app.test_client(), who._headers()
    return who.browser, who._headers


def desk_of(practice, role):
    """A desk, with the browser that holds its cookie."""
    desk, desk.browser = practice.desk_and_browser(role)
    return desk


def accesses(practice, content=PDF):
    with read(practice.house.engine) as connection:
        rows = access.search(
            connection,
            practice.location_id,
            access.Wanted(subject_ids=[hash_of(content)]),
            limit=100,
        )
    return [(row["action"], row["actor_id"], row["tablet_id"]) for row in reversed(rows)]


@pytest.fixture
def house(app, clock):
    practice = Practice(app, clock, roles=ROLES)
    officer = desk_of(practice, "safety_officer")
    officer.command("device.registered", "laser-1", DEVICE)
    return practice, officer


def work(desk, *papers, work_id="work-1"):
    desk.command("maintenance.recorded", work_id, {**WORK, "certificates": list(papers)})


@pytest.mark.both_databases
def test_what_is_put_at_a_desk_is_got_byte_by_byte_by_everybody_who_works_here(house):
    practice, officer = house
    answer = put(practice, officer)
    assert (answer.status_code, answer.json) == (
        200,
        {
            "sha256": hash_of(PDF),
            "media_type": "application/pdf",
            "size_bytes": len(PDF),
            "new": True,
        },
    )
    work(officer, named(PDF))
    for role in ("clinician", "auditor"):
        found = get(practice, desk_of(practice, role))
        assert (found.status_code, found.content_type, found.data) == (200, "application/pdf", PDF)
    officer_id = practice.people["safety_officer"]
    assert accesses(practice)[:2] == [
        ("create", officer_id, None),
        ("read", practice.people["clinician"], None),
    ]


def test_it_is_handed_out_as_a_file_that_runs_nothing(house):
    """RFC 6266 for the first, the HTML standard and CSP level 3 (sandbox) for the last."""
    practice, officer = house
    put(practice, officer)
    headers = get(practice, officer).headers
    assert headers["Content-Disposition"].startswith("attachment;")
    assert headers["X-Content-Type-Options"] == "nosniff"
    policy = {part.strip() for part in headers["Content-Security-Policy"].split(";")}
    assert {"sandbox", "default-src 'none'"} <= policy
    assert not any("allow" in part or "script" in part for part in policy)
    assert headers["Cache-Control"] == "no-store"
    # Others keep their own policy.
    other = practice.app.test_client().get(f"{API_PREFIX}/health").headers
    assert "sandbox" not in other["Content-Security-Policy"]


def test_putting_it_again_changes_nothing(house):
    practice, officer = house
    assert put(practice, officer).json["new"] is True
    again = put(practice, officer)
    assert (again.status_code, again.json["new"]) == (200, False)
    assert [action for action, *_ in accesses(practice)] == ["create"]
    assert len(listed(practice, officer)) == 1


def test_what_it_is_its_bytes_say(house):
    practice, officer = house
    for content, kind in ((PDF, "application/pdf"), (PNG, "image/png"), (JPEG, "image/jpeg")):
        assert put(practice, officer, content).json["media_type"] == kind
        assert get(practice, officer, content).content_type == kind


def test_what_is_no_such_file_is_refused_and_not_kept(house):
    practice, officer = house
    for content, code in (
        (b"", "certificate_empty"),
        (b"\x00", "certificate_unknown_kind"),
        (b"<!doctype html><script>alert(1)</script>", "certificate_unknown_kind"),
        (b"\x89PNG\r\n\x1a\n" + PDF, "certificate_damaged"),
        (PDF + b"<script>alert(1)</script>", "certificate_damaged"),
        (PDF[:-20], "certificate_damaged"),
        (PNG[:-20], "certificate_damaged"),
        (JPEG[:-20], "certificate_damaged"),
        (pictures.with_exif(), "certificate_damaged"),
    ):
        answer = put(practice, officer, content)
        assert (answer.status_code, answer.json["code"]) == (422, code)
        assert answer.content_type == "application/problem+json"
    assert listed(practice, officer) == []


def test_other_bytes_than_the_hash_names_are_refused(house):
    practice, officer = house
    for sha256 in (hash_of(b"other"), hash_of(PDF).upper(), "anything"):
        answer = put(practice, officer, sha256=sha256)
        assert (answer.status_code, answer.json["code"]) == (422, "certificate_hash_differs")
    assert listed(practice, officer) == []


def test_the_limit(house):
    practice, officer = house
    # 5 MiB: this project's own choice.
    assert certificates.LIMIT_BYTES == 5242880
    begin, end = b"%PDF-1.7\n", b"\nstartxref\n9\n%%EOF\n"
    longest = begin + b" " * (5242880 - len(begin) - len(end)) + end
    assert put(practice, officer, longest).status_code == 200
    answer = put(practice, officer, longest + b"\n")
    assert (answer.status_code, answer.json["code"]) == (413, "too_large")


def test_fewer_bytes_than_stated_and_another_kind_of_body_are_refused(house):
    practice, officer = house
    more = {"environ_overrides": {"CONTENT_LENGTH": str(len(PDF) + 5)}}
    answer = put(practice, officer, **more)
    assert (answer.status_code, answer.json["code"]) == (400, "certificate_broken_off")
    for kind in ("application/json", "application/pdf", "text/html"):
        answer = put(practice, officer, kind=kind)
        assert (answer.status_code, answer.json["code"]) == (415, "wrong_media_type")
    assert listed(practice, officer) == []


def test_who_may_put_at_a_desk(house):
    """Each role by each way: test_matrix.py."""
    practice, _ = house
    assert RIGHTS["device.write"] == {"safety_officer", "administrator"}
    for role, status in (("administrator", 200), ("clinician", 403), ("auditor", 403)):
        assert put(practice, desk_of(practice, role)).status_code == status, role
    assert put(practice, None).status_code in (401, 403)


def test_what_nothing_names_is_only_for_whoever_may_write(house):
    practice, officer = house
    put(practice, officer)
    clinician = desk_of(practice, "clinician")
    assert get(practice, officer).status_code == 200
    assert get(practice, clinician).status_code == 404
    assert [one["named"] for one in listed(practice, officer)] == [False]
    assert listed(practice, clinician) == []
    work(officer, named(PDF))
    assert get(practice, clinician).data == PDF
    [one] = listed(practice, clinician)
    assert (one["named"], one["sha256"], one["size_bytes"]) == (True, hash_of(PDF), len(PDF))


def test_so_many_that_nothing_names_are_taken_in_a_day(house):
    practice, officer = house
    some = [pdf(f"number {one}") for one in range(certificates.MOST_UNNAMED + 2)]
    for content in some[:-2]:
        assert put(practice, officer, content).status_code == 200
    answer = put(practice, officer, some[-2])
    assert (answer.status_code, answer.json["code"]) == (409, "certificates_unused")
    # What is there is there; what an entry names makes room, and so does the next day.
    assert put(practice, officer, some[0]).json["new"] is False
    work(officer, named(some[0]))
    assert put(practice, officer, some[-2]).status_code == 200
    assert put(practice, officer, some[-1]).status_code == 409
    practice.clock.advance(timedelta(days=1).total_seconds())
    officer = desk_of(practice, "safety_officer")
    assert put(practice, officer, some[-1]).status_code == 200


def on_tablet(practice, content=PDF):
    tablet = practice.tablet("safety_officer")
    tablet.record("maintenance.recorded", "work-2", {**WORK, "certificates": [named(content)]})
    return tablet


def test_a_tablet_hands_in_what_its_entry_names_after_it(house):
    practice, officer = house
    tablet = on_tablet(practice)
    answer = put(practice, tablet)
    assert (answer.status_code, answer.json["code"]) == (409, "certificate_unnamed")
    [outcome] = [one["outcome"] for one in tablet.push()]
    assert outcome == "applied"
    # Named, and still to come.
    assert get(practice, officer).status_code == 404
    assert put(practice, tablet).json["new"] is True
    assert get(practice, officer).data == get(practice, tablet).data == PDF
    assert accesses(practice)[0] == ("create", None, tablet.identity["tablet_id"])
    # By itself, while nobody is signed in, it hands in and reads nothing.
    alone = practice.tablet()
    alone.prove()
    assert put(practice, alone).json["new"] is False
    assert get(practice, alone).status_code == 401


def test_a_revoked_tablet_s_certificate_is_kept_apart_as_its_entry_is(house):
    practice, _ = house
    tablet = on_tablet(practice)
    administrator = desk_of(practice, "administrator")
    administrator.ask(
        "POST", f"/tablets/{tablet.identity['tablet_id']}/revoke", {"reason": "Left on a train"}
    )
    tablet.prove()
    assert [one["outcome"] for one in tablet.push()] == ["quarantined"]
    assert put(practice, tablet, PNG).json["code"] == "certificate_unnamed"
    assert put(practice, tablet).json["new"] is True
    assert get(practice, desk_of(practice, "front_desk")).status_code == 404
    assert get(practice, desk_of(practice, "auditor")).data == PDF
    [waiting] = administrator.ask("GET", "/aside")["entries"]
    said = {"positions": [waiting["position"]], "decision": "release", "reason": "It was ours"}
    administrator.ask("POST", "/aside", said)
    assert get(practice, desk_of(practice, "front_desk")).data == PDF
    practice.clock.advance(timedelta(days=91).total_seconds())
    tablet.prove()
    assert put(practice, tablet).json["code"] == "tablet_revoked"


def test_another_location_s_certificate_is_as_if_absent(app, clock, house):
    practice, officer = house
    put(practice, officer)
    work(officer, named(PDF))
    other = Practice(app, clock, name="South room", roles=("safety_officer",))
    there = desk_of(other, "safety_officer")
    here, absent = get(other, there), get(other, there, PNG)
    assert here.status_code == absent.status_code == 404
    assert here.json == absent.json
    assert listed(other, there) == []
    # The same bytes there are another row, and tell nobody that they are here too.
    assert put(other, there).json["new"] is True


def test_meters_and_their_calibrations_have_certificates(house):
    practice, officer = house
    for content in (PDF, PNG):
        put(practice, officer, content)
    # As before: without.
    officer.command("meter.registered", "meter-1", METER)
    [before] = officer.ask("GET", "/house?kind=meter")["documents"]
    assert "certificates" not in before["calibrations"][0]
    officer.command("meter.registered", "meter-2", {**METER, "certificates": [named(PDF)]})
    paper = named(PNG, "calibration.png", "image/png")
    said = {**METER, "calibrated_on": "2026-02-10", "certificates": [paper]}
    del said["label"], said["serial"]
    officer.command("meter.calibrated", "meter-2", said)
    found = officer.ask("GET", "/house?kind=meter")["documents"]
    [meter] = [one for one in found if one["meter_id"] == "meter-2"]
    assert [one["certificates"] for one in meter["calibrations"]] == [[named(PDF)], [paper]]
    assert {one["named"] for one in listed(practice, officer)} == {True}


def test_one_that_a_correction_left_out_is_still_named_also_after_a_rebuild(house):
    practice, officer = house
    for content in (PDF, PNG):
        put(practice, officer, content)
    work(officer, named(PDF))
    work(officer, named(PNG, "new.png", "image/png"))
    officer.command("maintenance.withdrawn", "work-1", {"reason": "It was the other laser"})
    before = listed(practice, officer)
    assert [one["named"] for one in before] == [True, True]
    with write(practice.house.engine) as connection:
        rebuild.rebuild(connection, projectors=practice.house.projectors)
    assert listed(practice, officer) == before
    assert get(practice, desk_of(practice, "front_desk")).data == PDF


def test_verifying_the_log_finds_bytes_that_are_not_those_an_entry_names(house):
    practice, officer = house
    work(officer, named(PDF))
    engine = practice.house.engine
    # Still to come is no damage.
    assert verify_log(engine)["ok"]
    put(practice, officer)
    assert verify_log(engine)["ok"]
    if is_postgresql(engine):
        pytest.skip("damage is done by hand to a file")
    with write(engine) as connection:
        connection.exec_driver_sql("DROP TRIGGER certificate_no_update")
        connection.exec_driver_sql("UPDATE certificate SET content = x'255044'")
    bad = verify_log(engine)["first_bad"]
    assert bad["reason"] == "certificate"


def test_what_was_put_aside_with_another_form_names_nothing(house):
    """Payloads that were put aside may be of any form; none of them breaks a question."""
    practice, _ = house
    tablet = practice.tablet("safety_officer")
    sha256 = hash_of(PDF)
    for papers in (sha256, {"sha256": sha256}, [sha256], [{"sha256": [sha256]}], [[sha256]]):
        tablet.record("maintenance.recorded", tablet.new_id(), WORK)
        said = json.dumps({**WORK, "certificates": papers})
        tablet.outbox[-1].item = {**tablet.outbox[-1].item, "payload": said}
    assert {one["outcome"] for one in tablet.push()} == {"quarantined"}
    assert put(practice, tablet).json["code"] == "certificate_unnamed"
    assert json.dumps(listed(practice, tablet)) == "[]"
