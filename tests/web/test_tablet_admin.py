"""The administrator's tablets: a code with its QR, names, shutting one out, what comes after."""

import re
from datetime import timedelta

import pytest
import segno

from api.demo.tablet_client import Refused
from api.people import enrol_link
from api.settings import API_PREFIX
from api.storage import access, readers
from api.storage.engine import read
from api.web.auth import Rule
from tests.web.practice import PIN

pytestmark = pytest.mark.both_databases(long=True)

# All that a tablet is left that was shut out: handing in, also after a restore.
TO_HAND_IN = {"/sync/push", "/sync/restored", "/sync/returning"}
# Under what is asked in test_attachments.py and test_certificates.py.
FILES_TO_HAND_IN = {
    ("PUT", "attachments.put_attachment"),
    ("PUT", "certificates.put_certificate"),
}


@pytest.fixture
def administrator(practice):
    return practice.desk("administrator")


def listed(administrator) -> dict:
    return {one["tablet_id"]: one for one in administrator.ask("GET", "/tablets")["tablets"]}


def refused(ask, *arguments, **named) -> Refused:
    with pytest.raises(Refused) as raised:
        ask(*arguments, **named)
    return raised.value


def revoke(administrator, tablet, reason="Left on a train"):
    path = f"/tablets/{tablet.identity['tablet_id']}/revoke"
    return administrator.ask("POST", path, {"reason": reason})


def test_a_code_enrols_one_tablet_within_ten_minutes(practice, administrator, clock):
    made = administrator.ask("POST", "/tablets/codes")
    assert made["expires_at"] == "2026-03-02T08:10:00.000+00:00"
    assert made["server_time"] == "2026-03-02T08:00:00.000+00:00"
    # RFC 3986, section 3.5: a fragment is not part of a request.
    assert made["address"] == f"http://localhost/#/enrol/{made['code']}"
    tablet = practice.tablet()
    tablet.enrol(made["code"])
    [one] = [
        each
        for each in listed(administrator).values()
        if each["tablet_id"] == tablet.identity["tablet_id"]
    ]
    # The client was enrolled before, under the same name.
    assert (one["label"], one["enrolled_by"]) == ("Chair one (2)", "Test administrator")
    assert (one["waiting"], one["quarantined"], one["revoked_at"]) == (None, 0, None)
    assert refused(tablet.enrol, made["code"]).code == "code_wrong"
    late = administrator.ask("POST", "/tablets/codes")["code"]
    clock.advance(600)
    assert refused(tablet.enrol, late).code == "code_wrong"


def test_the_qr_code_draws_the_address():
    address = "https://dosebook.example/#/enrol/ABCDE-FGHJK"
    drawn = enrol_link.qr(address)
    side = drawn["modules"]
    dark = [[False] * side for _ in range(side)]
    for x, y, width in re.findall(r"M(\d+) (\d+)\.5h(\d+)", drawn["path"]):
        for column in range(int(x), int(x) + int(width)):
            dark[int(y)][column] = True
    # ISO/IEC 18004: a quiet zone of four modules, and a finder of 7 by 7 in three of the corners.
    finder = ["1111111", "1000001", "1011101", "1011101", "1011101", "1000001", "1111111"]
    for left, top in ((4, 4), (side - 11, 4), (4, side - 11)):
        rows = [dark[top + y][left : left + 7] for y in range(7)]
        assert ["".join("01"[one] for one in row) for row in rows] == finder
    edge = [*range(4), *range(side - 4, side)]
    assert not any(dark[y][x] or dark[x][y] for y in edge for x in range(side))
    matrix = segno.make_qr(address, error="m").matrix
    assert [row[4:-4] for row in dark[4:-4]] == [[bool(one) for one in row] for row in matrix]


def test_a_new_name_is_in_force_at_once(practice, administrator):
    tablet = practice.tablet()
    path = f"/tablets/{tablet.identity['tablet_id']}/rename"
    administrator.ask("POST", path, {"label": "  Room 2 "})
    assert listed(administrator)[tablet.identity["tablet_id"]]["label"] == "Room 2"
    tablet.pull()
    document = tablet.documents["tablet", tablet.identity["tablet_id"]]
    assert (document["label"], document["status"]) == ("Room 2", "current")
    assert refused(administrator.ask, "POST", path, {"label": "  "}).code == "label_form"
    unknown = refused(administrator.ask, "POST", "/tablets/none/rename", {"label": "x"})
    assert unknown.code == "tablet_unknown"


def test_a_lost_tablet_with_five_unsent_reads_nothing_more_and_all_five_are_kept(
    practice, administrator
):
    """People.md: lost tablet revoked with 5 unsent: 0 reads after, 5 in quarantine."""
    tablet = practice.tablet("clinician")
    early = practice.signed_record(tablet)
    tablet.push()
    tablet.pull("records")
    practice.signed_record(tablet, chart_number="C-1002")
    assert len(tablet.waiting()) == 5
    signed_in = tablet._headers()
    revoke(administrator, tablet)

    # Every route there is, with the tokens it had and with a new one of the tablet.
    tablet.prove()
    again = {**signed_in, "Authorization": tablet._headers()["Authorization"]}
    client = practice.app.test_client()
    asked = 0
    for route in practice.app.url_map.iter_rules():
        rule: Rule = practice.app.view_functions[route.endpoint].access_rule
        if not rule.ways or route.rule.removeprefix(API_PREFIX) in TO_HAND_IN:
            continue
        for method in route.methods - {"HEAD", "OPTIONS"}:
            if (method, route.endpoint) in FILES_TO_HAND_IN:
                continue
            for headers in (signed_in, again):
                path = re.sub("<[^>]+>", early, route.rule)
                answer = client.open(path, method=method, headers=headers, json={})
                assert answer.status_code in (401, 403), (method, path, answer.text)
                asked += 1
    assert asked > 40
    assert refused(tablet.sign_in, practice.people["clinician"], PIN).code == "tablet_revoked"

    results = tablet.push()
    assert [(one["outcome"], one["reason"]) for one in results] == [
        ("quarantined", "tablet_revoked")
    ] * 5
    one = listed(administrator)[tablet.identity["tablet_id"]]
    assert (one["quarantined"], one["waiting"]) == (5, 0)
    assert (one["revoked_by"], one["revoked_because"]) == ("Test administrator", "Left on a train")
    aside = administrator.ask("GET", f"/aside?tablet_id={one['tablet_id']}")
    assert [each["type"] for each in aside["entries"]] == [
        "record.signed",
        "procedure.ended",
        "laser.emitted",
        "pass.started",
        "procedure.opened",
    ]
    assert aside["next_before"] is None
    assert "C-1002" not in str(aside)
    # What is put aside changes no record.
    assert [
        row["chart_number"] for row in practice.desk("front_desk").ask("GET", "/records")["records"]
    ] == ["C-1001"]


def test_revoking_is_an_event_beside_its_line_in_the_access_log(practice, administrator):
    tablet = practice.tablet("clinician")
    done = revoke(administrator, tablet)
    tablet_id = tablet.identity["tablet_id"]
    with read(practice.house.engine) as connection:
        entry = readers.entry_by_event(connection, practice.location_id, done["event_id"])
        [latest, *_] = access.entries(connection, practice.location_id, subject_id=tablet_id)
    assert entry["body"]["type"] == "tablet.revoked"
    assert entry["body"]["actor_id"] == practice.people["administrator"]
    assert entry["payload"] == {"reason": "Left on a train"}
    assert (latest["action"], latest["actor_id"]) == ("change", practice.people["administrator"])
    assert latest["detail"]["types"] == ["tablet.revoked"]
    assert refused(revoke, administrator, tablet).code == "already_revoked"
    assert (
        refused(administrator.command, "tablet.revoked", tablet_id, {"reason": "x"}).code
        == "server_only"
    )


def test_a_revoked_tablet_hands_in_for_ninety_days_and_five_hundred_entries(
    practice, administrator, clock
):
    tablet = practice.tablet("clinician")
    revoke(administrator, tablet)
    for _ in range(501):
        tablet.record("procedure_kind.listed", tablet.new_id(), {"text": "Biopsy", "code": None})
    assert refused(tablet.push).code == "tablet_revoked"
    assert sum(event.settled for event in tablet.outbox) == 500
    other = practice.tablet("clinician")
    revoke(administrator, other)
    other.record("procedure_kind.listed", other.new_id(), {"text": "Biopsy", "code": None})
    clock.advance(timedelta(days=90, seconds=1).total_seconds())
    assert refused(other.push).code == "tablet_revoked"


def test_the_list_says_what_a_tablet_said_that_waits(practice, administrator):
    tablet = practice.tablet("clinician")
    tablet_id = tablet.identity["tablet_id"]
    tablet.ask("GET", "/sync/pull?waiting=7")
    assert listed(administrator)[tablet_id]["waiting"] == 7
    assert refused(tablet.ask, "GET", "/sync/pull?waiting=-1").code == "invalid"
    practice.signed_record(tablet)
    tablet.push()
    assert listed(administrator)[tablet_id]["waiting"] == 0


def test_who_is_no_administrator_sees_no_tablets(practice):
    desk = practice.desk("front_desk")
    for method, path in (("GET", "/tablets"), ("POST", "/tablets/codes")):
        assert refused(desk.ask, method, path).code == "not_allowed"
    assert practice.app.test_client().get(f"{API_PREFIX}/tablets").status_code == 401
