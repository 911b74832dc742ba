"""The access log: what each route writes into it, how it is looked through, and taken as a file.

45 CFR 164.312(b): audit controls that record and examine activity in systems that contain or use
electronic protected health information.
"""

import csv
import io
import re

import pytest

from api.audit import access_log
from api.demo.tablet_client import Refused
from api.settings import API_PREFIX
from api.storage import access
from api.storage.engine import read, write
from api.storage.tables import access_log as table
from api.work import runner
from tests.erasure.acts import REQUEST
from tests.records import pictures
from tests.web import test_certificates as certificate
from tests.web.equipment import DEVICE
from tests.web.practice import ORIGIN, PASSWORD, PIN, Practice, settled
from tests.web.test_attachments import address, name
from tests.web.test_attachments import put as put_picture
from tests.web.test_lists import version

SECRETS = "tests/people and tests/web/test_me.py: what it changes is a person's own secret"
PAPER = certificate.PDF
NOBODYS = "nobody's data: the same for everybody who asks"
# What each route writes down, or why it writes nothing. A new route has to take its place here.
LOGS: dict[str, str | tuple[str, ...]] = {
    "GET /": NOBODYS,
    "GET /<page:path>": NOBODYS,
    "GET /api/v1/health": NOBODYS,
    "GET /api/v1/openapi.json": NOBODYS,
    "POST /api/v1/dose": NOBODYS,
    "GET /api/v1/dose/provenance": NOBODYS,
    "POST /api/v1/hazard": NOBODYS,
    "POST /api/v1/heat": NOBODYS,
    "POST /api/v1/access-log/search": ("read",),
    "POST /api/v1/access-log/export": ("export",),
    "POST /api/v1/tablet/enrol": ("change",),
    "POST /api/v1/tablet/challenge": "gives a nonce to whoever asks, and reaches nothing",
    "POST /api/v1/tablet/token": "proves a tablet's key; what it then reaches is written down",
    "GET /api/v1/tablets": "the house's register of tablets, no patient's data",
    "POST /api/v1/tablets/codes": ("create",),
    "POST /api/v1/tablets/<tablet_id>/rename": ("change",),
    "POST /api/v1/tablets/<tablet_id>/revoke": ("change",),
    "POST /api/v1/tablets/<tablet_id>/confirm": ("change",),
    "GET /api/v1/aside": ("read",),
    "POST /api/v1/aside": ("change",),
    "POST /api/v1/session/pin": ("sign_in",),
    "POST /api/v1/session/password": ("sign_in",),
    "GET /api/v1/session": "says to a person who they are",
    "DELETE /api/v1/session": "leaving reaches nothing",
    "GET /api/v1/session/locations": "says to a person where they work",
    # A sign-in there like any other; shown with two locations in tests/web/test_places.py.
    "POST /api/v1/session/location": "tests/web/test_places.py: a sign-in at the other location",
    "POST /api/v1/session/factor": SECRETS,
    "POST /api/v1/session/factor/passkey": SECRETS,
    "GET /api/v1/sessions": "says to a person where they are signed in",
    "DELETE /api/v1/sessions": SECRETS,
    "DELETE /api/v1/sessions/<session_id>": SECRETS,
    "GET /api/v1/location/sessions": "who is signed in where, no patient's data",
    "DELETE /api/v1/location/sessions/<session_id>": SECRETS,
    "POST /api/v1/links/open": SECRETS,
    "POST /api/v1/links/totp": SECRETS,
    "POST /api/v1/links/passkey": SECRETS,
    "POST /api/v1/links/use": SECRETS,
    "GET /api/v1/me": "says to a person which factors they have",
    "POST /api/v1/me/password": SECRETS,
    "POST /api/v1/me/pin": SECRETS,
    "POST /api/v1/me/totp": SECRETS,
    "POST /api/v1/me/totp/confirm": SECRETS,
    "POST /api/v1/me/passkey": SECRETS,
    "POST /api/v1/me/passkey/confirm": SECRETS,
    "POST /api/v1/me/factors/<factor_id>/remove": SECRETS,
    "POST /api/v1/me/recovery-codes": SECRETS,
    "POST /api/v1/people/<person_id>/link": SECRETS,
    "GET /api/v1/people/<person_id>": ("read",),
    "GET /api/v1/locations": "says to an administrator where they are one",
    "POST /api/v1/locations": ("create",),
    "GET /api/v1/people-elsewhere": "who works at one's own other locations, no patient's data",
    "POST /api/v1/people-elsewhere/<person_id>": "tests/web/test_people_elsewhere.py: a change",
    "POST /api/v1/emergencies": ("change",),
    "GET /api/v1/emergencies/locations": "the names of the practice's locations",
    "POST /api/v1/emergencies/elsewhere": "tests/web/test_emergency_elsewhere.py, at both",
    "POST /api/v1/sync/push": ("change",),
    "GET /api/v1/sync/pull": ("pull",),
    "POST /api/v1/sync/restored": "how the log goes on, no data",
    "POST /api/v1/sync/returning": "which ids will come; each is a change of its own when it does",
    "GET /api/v1/backups": "when backups were made, no patient's data",
    "POST /api/v1/sync/alarm": ("change",),
    "GET /api/v1/replication": "how far the group is behind, no patient's data",
    # What a practice asks of its group: tests/group/test_written_down.py.
    "POST /api/v1/group/identity": NOBODYS,
    "POST /api/v1/group/join": "a practice that is followed, no patient's data",
    "POST /api/v1/group/key": "a key that nobody here can open",
    "POST /api/v1/group/meet": "how far logs go, no data",
    "POST /api/v1/group/entries": "each entry is its practice's own, written down there",
    "POST /api/v1/group/offers": "which lists and presets are rolled out, no patient's data",
    "POST /api/v1/group/offer": "a list or a preset, no patient's data",
    "GET /api/v1/rollouts": "lists and presets, no patient's data",
    "POST /api/v1/rollouts": ("change",),
    "GET /api/v1/offers": "lists and presets, no patient's data",
    "POST /api/v1/group/restore": "how far logs go, and a key that nobody here can open",
    "POST /api/v1/group/restore/entries": "tests/group/test_restoring.py: a log that is given back",
    "POST /api/v1/group/photographs": "which are there, by their hashes, no data",
    "POST /api/v1/group/photographs/<location_id>/<sha256>": "tests/group/test_photographs.py",
    "POST /api/v1/group/restore/photographs": "hashes; the log that is given back is written down",
    "POST /api/v1/group/restore/photograph": "part of the log that is given back",
    "POST /api/v1/group/restore/done": "a code that is used up",
    "POST /api/v1/commands/<type>": ("change",),
    "GET /api/v1/devices/<device_id>/exposed": ("list",),
    "GET /api/v1/devices/<device_id>/exposed.csv": ("export",),
    "GET /api/v1/devices/<device_id>/exposed.pdf": ("export_pdf",),
    "GET /api/v1/records": ("list",),
    "POST /api/v1/records/search": ("list",),
    "GET /api/v1/records/<record_id>": ("read",),
    "GET /api/v1/records/<record_id>/pdf": ("export_pdf",),
    "GET /api/v1/records/<record_id>/text": ("export_text",),
    "GET /api/v1/records/<record_id>/proof": ("read",),
    "GET /api/v1/records/<record_id>/erasure": ("read",),
    "POST /api/v1/records/<record_id>/erasure": ("change",),
    "POST /api/v1/records/<record_id>/erasure/decision": ("change",),
    "GET /api/v1/erasures": "which records were erased, by whom and why, no patient's data",
    "POST /api/v1/records/release": ("release",),
    "GET /api/v1/chart-queue": ("list",),
    "PUT /api/v1/attachments/<sha256>": ("create",),
    "GET /api/v1/attachments/<sha256>": ("read",),
    "PUT /api/v1/certificates/<sha256>": ("create",),
    "GET /api/v1/certificates/<sha256>": ("read",),
    "GET /api/v1/certificates": "which are here, no patient's data",
    "GET /api/v1/house": "the house's registers, no patient's data",
    "GET /api/v1/presets/export": ("export",),
    "POST /api/v1/presets/import": "each preset that it publishes is a change of its own",
    "GET /api/v1/procedures/<procedure_kind_id>/usage": ("read",),
}


def test_every_route_says_what_it_writes_down_or_why_not(app):
    routes = {
        f"{method} {route.rule}"
        for route in app.url_map.iter_rules()
        for method in route.methods - {"HEAD"}
    }
    assert routes == LOGS.keys()


@pytest.fixture
def practice(app, clock) -> Practice:
    roles = ("clinician", "front_desk", "manager", "administrator", "auditor", "safety_officer")
    return settled(app, clock, roles=roles)


def rows(practice, **wanted):
    with read(practice.house.engine) as connection:
        return access.search(connection, practice.location_id, access.Wanted(**wanted), limit=1000)


def test_each_of_them_does(practice):
    tablet = practice.tablet("clinician")
    record_id = practice.signed_record(tablet)
    tablet.push()
    with write(practice.house.engine) as connection:
        connection.exec_driver_sql("UPDATE job SET due_at = '2000'")
    while runner.run_once(practice.house.engine, practice.clock):
        pass
    picture_of = name(tablet)
    clinician, front = practice.desk("clinician"), practice.desk("front_desk")
    administrator, auditor = practice.desk("administrator"), practice.desk("auditor")
    manager, officer = practice.desk("manager"), certificate.desk_of(practice, "safety_officer")
    officer.command("list.published", "time-out-1", version(1))
    clinician.command("procedure_kind.listed", "kind-1", {"text": "Biopsy", "code": None})
    administrator.command("device.registered", "laser-1", DEVICE)
    spare = practice.tablet()
    spare_id = spare.identity["tablet_id"]
    client = practice.app.test_client()

    def push():
        tablet.record("procedure_kind.listed", tablet.new_id(), {"text": "Incision", "code": None})
        tablet.push()

    def confirm():
        with write(practice.house.engine) as connection:
            connection.exec_driver_sql(
                "UPDATE tablet SET unconfirmed = 1 WHERE tablet_id = ?", (spare_id,)
            )
        administrator.ask("POST", f"/tablets/{spare_id}/confirm")

    def put_aside():
        tablet.record("aside.rejected", tablet.new_id(), {"event_id": "x", "reason": "x"})
        tablet.push()
        [one] = administrator.ask("GET", "/aside")["entries"]
        decided = {"positions": [one["position"]], "decision": "reject", "reason": "Not ours"}
        administrator.ask("POST", "/aside", decided)

    does = {
        "POST /api/v1/access-log/search": lambda: auditor.ask("POST", "/access-log/search", {}),
        "POST /api/v1/access-log/export": lambda: client_of(auditor, "/access-log/export"),
        "POST /api/v1/tablet/enrol": lambda: practice.tablet(),
        "POST /api/v1/tablets/codes": lambda: administrator.ask("POST", "/tablets/codes"),
        "POST /api/v1/tablets/<tablet_id>/rename": lambda: administrator.ask(
            "POST", f"/tablets/{spare_id}/rename", {"label": "Room 2"}
        ),
        "POST /api/v1/tablets/<tablet_id>/confirm": confirm,
        "POST /api/v1/tablets/<tablet_id>/revoke": lambda: administrator.ask(
            "POST", f"/tablets/{spare_id}/revoke", {"reason": "Lost"}
        ),
        "GET /api/v1/aside": lambda: administrator.ask("GET", "/aside"),
        "POST /api/v1/aside": put_aside,
        "POST /api/v1/session/pin": lambda: tablet.sign_in(practice.people["clinician"], PIN),
        "POST /api/v1/session/password": lambda: practice.desk("front_desk"),
        "GET /api/v1/people/<person_id>": lambda: auditor.ask(
            "GET", f"/people/{practice.people['clinician']}"
        ),
        "POST /api/v1/locations": lambda: administrator.ask(
            "POST",
            "/locations",
            {"name": "Pier room", "zone": "Europe/Lisbon"},
            **{"Idempotency-Key": "one-location"},
        ),
        "POST /api/v1/emergencies": lambda: administrator.ask(
            "POST", "/emergencies", {"reason": "Bleeding"}, **{"Idempotency-Key": "only-once"}
        ),
        "POST /api/v1/sync/push": push,
        "GET /api/v1/sync/pull": lambda: tablet.pull("records"),
        "POST /api/v1/sync/alarm": lambda: got(
            client.post(
                f"{API_PREFIX}/sync/alarm",
                headers=tablet._headers(),
                json={"position": 1, "expected": "a", "found": "b"},
            )
        ),
        "POST /api/v1/commands/<type>": lambda: clinician.command(
            "procedure_kind.listed", "kind-2", {"text": "Excision", "code": None}
        ),
        "GET /api/v1/devices/<device_id>/exposed": lambda: auditor.ask(
            "GET", "/devices/laser-1/exposed"
        ),
        "GET /api/v1/devices/<device_id>/exposed.csv": lambda: auditor.ask(
            "GET", "/devices/laser-1/exposed.csv"
        ),
        "GET /api/v1/devices/<device_id>/exposed.pdf": lambda: auditor.ask(
            "GET", "/devices/laser-1/exposed.pdf"
        ),
        "GET /api/v1/records": lambda: front.ask("GET", "/records"),
        "POST /api/v1/records/search": lambda: front.ask("POST", "/records/search", {}),
        "GET /api/v1/records/<record_id>": lambda: front.ask("GET", f"/records/{record_id}"),
        "GET /api/v1/records/<record_id>/pdf": lambda: got(
            client.get(f"{API_PREFIX}/records/{record_id}/pdf", headers=tablet._headers())
        ),
        "GET /api/v1/records/<record_id>/text": lambda: front.ask(
            "GET", f"/records/{record_id}/text"
        ),
        "GET /api/v1/records/<record_id>/proof": lambda: front.ask(
            "GET", f"/records/{record_id}/proof"
        ),
        "POST /api/v1/records/release": lambda: front.ask(
            "POST",
            "/records/release",
            {"record_ids": [record_id], "to": "the patient", "reason": "asked"},
        ),
        "GET /api/v1/chart-queue": lambda: front.ask("GET", "/chart-queue"),
        "PUT /api/v1/attachments/<sha256>": lambda: got(put_picture(practice, tablet, named=False)),
        "GET /api/v1/attachments/<sha256>": lambda: got(
            client.get(address(pictures.jpeg()), headers=tablet._headers())
        ),
        "PUT /api/v1/certificates/<sha256>": lambda: got(certificate.put(practice, officer, PAPER)),
        "GET /api/v1/certificates/<sha256>": lambda: got(certificate.get(practice, officer, PAPER)),
        "GET /api/v1/presets/export": lambda: clinician.ask("GET", "/presets/export?format=json"),
        "GET /api/v1/procedures/<procedure_kind_id>/usage": lambda: clinician.ask(
            "GET", "/procedures/kind-1/usage"
        ),
        "GET /api/v1/records/<record_id>/erasure": lambda: auditor.ask(
            "GET", f"/records/{record_id}/erasure"
        ),
        "POST /api/v1/rollouts": lambda: officer.ask(
            "POST",
            "/rollouts",
            {"kind": "list", "source_id": "time-out-1", "practices": None},
            **{"Idempotency-Key": "one-roll-out"},
        ),
        "POST /api/v1/records/<record_id>/erasure": lambda: clinician.ask(
            "POST", f"/records/{record_id}/erasure", REQUEST
        ),
        "POST /api/v1/records/<record_id>/erasure/decision": lambda: manager.ask(
            "POST", f"/records/{record_id}/erasure/decision", {"decision": "erase"}
        ),
    }
    about = {
        "GET /api/v1/attachments/<sha256>": picture_of,
        "PUT /api/v1/attachments/<sha256>": picture_of,
        "PUT /api/v1/certificates/<sha256>": certificate.hash_of(PAPER),
        "GET /api/v1/certificates/<sha256>": certificate.hash_of(PAPER),
    }
    erasure = "api/v1/records/<record_id>/erasure"
    for route in (f"GET /{erasure}", f"POST /{erasure}", f"POST /{erasure}/decision"):
        about[route] = record_id
    for route in ("GET /api/v1/records/<record_id>", "POST /api/v1/records/release"):
        about[route] = record_id
    assert does.keys() == {route for route, what in LOGS.items() if isinstance(what, tuple)}
    for route, act in does.items():
        before = rows(practice)[0]["access_id"]
        act()
        new = [row for row in rows(practice) if row["access_id"] > before]
        assert set(LOGS[route]) & {row["action"] for row in new}, (route, new)
        # Who, what, when and where.
        for row in new:
            assert row["at"] and row["action"] and row["location_id"] == practice.location_id
            by_command_line = row["subject_kind"] in ("tablet", "enrolment_code")
            assert row["actor_id"] or row["tablet_id"] or by_command_line, row
        if route in about:
            assert about[route] in {row["subject_id"] for row in new}, route


def got(answer):
    assert answer.status_code == 200, answer.text
    return answer


def client_of(desk, path, body=None):
    """Ask at a desk for a file, and return its text without the mark at its beginning."""
    status, answer = desk._transport("POST", API_PREFIX + path, body or {}, desk._headers)
    assert status == 200, answer
    return answer.decode("utf-8").removeprefix("\ufeff")


def found(desk, **wanted):
    return desk.ask("POST", "/access-log/search", wanted)["entries"]


@pytest.fixture
def read_records(practice):
    """Two records, read by the front desk; returns (practice, auditor's desk, ids)."""
    tablet = practice.tablet("clinician")
    ids = [practice.signed_record(tablet, chart_number=chart) for chart in ("C-1", "C-2")]
    tablet.push()
    tablet.pull("records")
    front = practice.desk("front_desk")
    for record_id in ids:
        front.ask("GET", f"/records/{record_id}")
    return practice, practice.desk("auditor"), ids


def test_it_is_looked_through_by_person_record_chart_number_action_and_days(read_records, clock):
    practice, auditor, (one, _) = read_records
    front = practice.people["front_desk"]
    assert {row["actor_id"] for row in found(auditor, person_id=front)} == {front}
    by_record = found(auditor, record_id=one)
    # Sent to the tablet among others, and written and read by itself.
    assert [(row["action"], row["subject_id"] == one) for row in by_record] == [
        ("read", True),
        ("pull", False),
        ("change", True),
    ]
    assert found(auditor, chart_number="C-1") == by_record
    assert found(auditor, chart_number="C-9") == []
    assert found(auditor, record_id=one, chart_number="C-2") == []
    assert {row["action"] for row in found(auditor, action="read")} == {"read", "pull"}
    assert [row["action"] for row in found(auditor, record_id=one, action="change")] == ["change"]
    [first, *_] = found(auditor, record_id=one)
    assert (first["subject_name"], first["actor_name"]) == ("C-1 1980-05-17", "Test front_desk")
    assert found(auditor, person_id=front, **{"from": "2026-03-03"}) == []
    assert found(auditor, person_id=front, to="2026-03-01") == []
    day = {"from": "2026-03-02", "to": "2026-03-02"}
    assert found(auditor, person_id=front, **day) == found(auditor, person_id=front)


def test_pages_follow_each_other_without_a_gap_or_a_repetition(read_records):
    practice, auditor, _ = read_records
    last_id = rows(practice)[0]["access_id"]
    seen, cursor = [], None
    while True:
        body = {"limit": 3, **({"cursor": cursor} if cursor else {})}
        page = auditor.ask("POST", "/access-log/search", body)
        seen += [row["access_id"] for row in page["entries"]]
        cursor = page["next_cursor"]
        if cursor is None:
            break
    # What each page adds by itself is newer than where the next one goes on.
    older = [each for each in seen if each <= last_id]
    assert older == sorted(
        (row["access_id"] for row in rows(practice) if row["access_id"] <= last_id), reverse=True
    )
    for bad in ("x", "WzEsMl0", "W10"):
        with pytest.raises(Refused) as refused:
            auditor.ask("POST", "/access-log/search", {"cursor": bad})
        assert refused.value.code == "cursor_unreadable"


def test_who_has_no_business_with_patients_learns_nothing_of_them(read_records):
    practice, _, (one, _) = read_records
    administrator = practice.desk("administrator")
    [first, *_] = found(administrator, record_id=one)
    assert (first["subject_id"], first["subject_name"]) == (one, None)
    with pytest.raises(Refused) as refused:
        found(administrator, chart_number="C-1")
    assert refused.value.code == "not_allowed"
    assert "C-1" not in str(administrator.ask("POST", "/access-log/search", {"limit": 200}))
    with pytest.raises(Refused) as refused:
        found(practice.desk("front_desk"))
    assert refused.value.code == "not_allowed"


def test_looking_is_written_down_without_the_chart_number(read_records):
    practice, auditor, _ = read_records
    found(auditor, chart_number="C-1")
    [latest] = rows(practice)[:1]
    assert (latest["action"], latest["subject_kind"]) == ("read", "access_log")
    assert latest["detail"] == {"chart_number": "given"}


def test_the_file_holds_what_was_looked_for_and_is_written_down(read_records, monkeypatch):
    practice, auditor, (one, other) = read_records
    practice.desk("front_desk").ask(
        "POST", "/records/release", {"record_ids": [one], "to": "=1+1", "reason": "asked"}
    )
    text = client_of(auditor, "/access-log/export", {"person_id": practice.people["front_desk"]})
    lines = list(csv.DictReader(io.StringIO(text)))
    assert {line["person"] for line in lines} == {"Test front_desk"}
    assert lines[0]["action"] == "release"
    # No cell begins as a formula does (OWASP, CSV injection).
    assert not [cell for line in lines for cell in line.values() if re.match(r"[=+\-@\t\r]", cell)]
    [latest] = rows(practice)[:1]
    assert (latest["action"], latest["subject_kind"]) == ("export", "access_log")
    assert latest["detail"]["rows"] == len(lines)
    text = client_of(auditor, "/access-log/export", {"action": "read"})
    pulled = list(csv.DictReader(io.StringIO(text)))
    [sent] = [line for line in pulled if line["action"] == "pull"]
    assert set(sent["further_subjects"].split()) == {one, other}
    monkeypatch.setattr(access_log, "MOST_ROWS", 2)
    status, problem = auditor._transport(
        "POST", f"{API_PREFIX}/access-log/export", {}, auditor._headers
    )
    assert (status, problem["code"]) == (422, "too_many_rows")


@pytest.mark.parametrize(
    "wanted",
    [
        {},
        {"actor_id": "a"},
        {"subject_ids": ["r"]},
        {"actions": ["read", "change"]},
        {"actor_id": "a", "actions": ["read"]},
        {"from_at": 1, "before_at": 1},
    ],
)
def test_no_search_sorts_years_for_a_page(practice, wanted):
    """Each walks an index from the newest back: SQLite says where it would sort instead."""
    moment = practice.clock.now()
    asked = access.Wanted(
        **{key: moment if key.endswith("_at") else value for key, value in wanted.items()}
    )
    whose = table.select().where(table.c.location_id == practice.location_id)
    if asked.actor_id:
        whose = whose.where(table.c.actor_id == "a")
    with read(practice.house.engine) as connection:
        for statement, ordered in access._walks(whose, practice.location_id, asked):
            text = access._newest(statement, ordered, asked, ("2026", 5), 51)
            compiled = text.compile(connection, compile_kwargs={"literal_binds": True})
            plan = connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {compiled}").all()
            said = " ".join(row[3] for row in plan)
            assert "USING" in said, said
            assert "TEMP B-TREE" not in said, said
            assert "SCAN" not in said, said


def test_a_password_signs_in_here(practice):
    """The tests above sign in as people do; without it they would prove nothing."""
    practice.give_secrets("auditor")
    body = {"sign_in": practice.sign_in_name("auditor"), "password": PASSWORD}
    answer = practice.app.test_client().post(
        f"{API_PREFIX}/session/password", json=body, headers={"Origin": ORIGIN}
    )
    assert answer.status_code == 200
