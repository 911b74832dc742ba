"""Presets at a desk: files in and out, nothing published that should not be, and their use."""

import json

import pytest
from sqlalchemy import event

from api.demo.tablet_client import Refused
from tests.web.equipment import preset
from tests.web.practice import IRRADIANCE_MEAN_W_CM2, ORIGIN, PASSWORD, SETTINGS

pytestmark = pytest.mark.both_databases(long=True)

SAME_ORIGIN = {"Origin": ORIGIN, "Sec-Fetch-Site": "same-origin"}


def exported(practice, form):
    # A file is no JSON answer, so it is fetched as a browser does.
    desk = practice.app.test_client()
    practice.give_secrets("clinician")
    desk.post(
        "/api/v1/session/password",
        json={"sign_in": practice.sign_in_name("clinician"), "password": PASSWORD},
        headers={"Origin": ORIGIN},
    )
    answer = desk.get(f"/api/v1/presets/export?format={form}", headers=SAME_ORIGIN)
    assert answer.status_code == 200, answer.text
    return answer


def send(desk, text, form="json", *, commit=False, key=None):
    headers = {} if key is None else {"Idempotency-Key": key}
    return desk.ask(
        "POST", "/presets/import", {"format": form, "content": text, "commit": commit}, **headers
    )


def presets_of(desk):
    return desk.ask("GET", "/house?kind=preset")["documents"]


@pytest.mark.parametrize("form", ["json", "csv"])
def test_out_and_in_again_is_the_same(equipped, form):
    practice, dentist = equipped
    dentist.command("preset.published", "p1", preset(practice, name='=Frenum, "fine"; é'))
    before = exported(practice, form)
    assert before.headers["Content-Disposition"] == f'attachment; filename="presets.{form}"'
    rows = send(dentist, before.data.decode(), form)["rows"]
    assert [(row["outcome"], row["version"]) for row in rows] == [("same", 1)]
    done = send(dentist, before.data.decode(), form, commit=True, key="key-00000001")
    assert (done["committed"], done["rows"][0]["event_id"]) == (True, None)
    assert exported(practice, form).data == before.data


def test_a_file_is_looked_at_first_and_done_once(equipped):
    practice, dentist = equipped
    dentist.command("preset.published", "p1", preset(practice))
    file = json.loads(exported(practice, "json").data)
    changed = {**file["presets"][0], "emission.power": "5 W"}
    fresh = {**file["presets"][0], "name": "Other"}
    del fresh["preset_id"]
    text = json.dumps({**file, "presets": [changed, fresh]})
    looked_at = send(dentist, text)
    assert [row["outcome"] for row in looked_at["rows"]] == ["new version", "new"]
    assert [one["version"] for one in presets_of(dentist)] == [1]
    done = send(dentist, text, commit=True, key="key-00000001")
    assert send(dentist, text, commit=True, key="key-00000001") == done
    assert [(row["outcome"], row["version"]) for row in done["rows"]] == [
        ("new version", 2),
        ("new", 1),
    ]
    assert sorted((one["name"], one["version"]) for one in presets_of(dentist)) == [
        ("Frenum, fine", 2),
        ("Other", 1),
    ]
    with pytest.raises(Refused) as refused:
        send(dentist, json.dumps(file), commit=True, key="key-00000001")
    assert refused.value.code == "idempotency_key_reused"


def test_one_bad_row_and_nothing_is_done(equipped):
    practice, dentist = equipped
    dentist.command("preset.published", "p1", preset(practice))
    file = json.loads(exported(practice, "json").data)
    good = {**file["presets"][0], "emission.power": "5 W"}
    bad = {**file["presets"][0], "preset_id": "p2", "name": "Hot", "emission.power": "16 W"}
    text = json.dumps({**file, "presets": [good, bad]})
    looked_at = send(dentist, text)["rows"]
    assert [(row["row"], row["outcome"]) for row in looked_at] == [
        (1, "new version"),
        (2, "refused"),
    ]
    with pytest.raises(Refused) as refused:
        send(dentist, text, commit=True, key="key-00000001")
    assert refused.value.code == "import_refused"
    assert list(refused.value.facts["problem"]["errors"]) == ["rows.2.emission.power"]
    assert [one["version"] for one in presets_of(dentist)] == [1]
    # A key of a refused file is free for the corrected one.
    text = json.dumps({**file, "presets": [good]})
    assert send(dentist, text, commit=True, key="key-00000001")["rows"][0]["version"] == 2


def test_committing_needs_a_key_and_the_right(equipped):
    practice, dentist = equipped
    dentist.command("preset.published", "p1", preset(practice))
    text = exported(practice, "csv").data.decode()
    with pytest.raises(Refused) as refused:
        send(dentist, text, "csv", commit=True)
    assert refused.value.code == "idempotency_key_needed"
    front = practice.desk("front_desk")
    with pytest.raises(Refused) as refused:
        send(front, text, "csv")
    assert (refused.value.code, refused.value.facts["status"]) == ("not_allowed", 403)


@pytest.mark.parametrize(
    ("change", "field"),
    [
        (
            {"settings": {**SETTINGS, "emission": {"mode": "continuous", "power": "16 W"}}},
            "settings.emission.power",
        ),
        ({"device_id": "laser-9"}, "device_id"),
        ({"handpiece_id": "tip-9"}, "handpiece_id"),
        ({"procedure_kind_id": "kind-9"}, "procedure_kind_id"),
        ({"reviewed_by": "nobody"}, "reviewed_by"),
        ({"settings": {**SETTINGS, "emission_time": "3 s"}}, "settings.emission_time"),
    ],
)
def test_a_desk_publishes_nothing_that_cannot_be(equipped, change, field):
    practice, dentist = equipped
    with pytest.raises(Refused) as refused:
        dentist.command("preset.published", "p1", preset(practice, **change))
    assert refused.value.code == "preset_refused"
    assert list(refused.value.facts["problem"]["errors"]) == [field]
    assert presets_of(dentist) == []


def test_a_withdrawn_preset_comes_back_only_knowingly(equipped):
    practice, dentist = equipped
    dentist.command("preset.published", "p1", preset(practice))
    gone = dentist.command("preset.withdrawn", "p1", {"reason": "too hot"})
    with pytest.raises(Refused) as refused:
        dentist.command("preset.published", "p1", preset(practice, version=2), base_version=1)
    assert refused.value.code == "preset_withdrawn"
    dentist.ask(
        "POST",
        "/commands/preset.published",
        {
            "entity_id": "p1",
            "payload": preset(practice, version=2),
            "base_version": 1,
            "corrects": gone["event_id"],
        },
        **{"Idempotency-Key": "key-00000001"},
    )
    [found] = presets_of(dentist)
    assert (found["status"], found["version"], found["withdrawals"][0]["reason"]) == (
        "current",
        2,
        "too hot",
    )


def test_what_was_used_before_is_read_by_who_may_read_records(equipped):
    practice, dentist = equipped
    tablet = practice.tablet("clinician")
    practice.signed_record(tablet, kind="kind-1")
    tablet.push()
    found = dentist.ask("GET", "/procedures/kind-1/usage")
    [group] = found["groups"]
    assert (found["records"], group["passes"], group["device_label"]) == (1, 1, "Laser one")
    # 12.4 s at 4 W, as the practice's record has it.
    assert group["laser_on_time"]["values"] == [12.4]
    assert group["first_at"] == group["last_at"]
    assert group["set"]["average_power"]["values"] == [4.0]
    [irradiance] = group["set"]["irradiance_mean"]["values"]
    assert irradiance == pytest.approx(IRRADIANCE_MEAN_W_CM2, rel=1e-6)
    assert group["delivered"] == {}
    with pytest.raises(Refused) as refused:
        dentist.ask("GET", "/procedures/kind-9/usage")
    assert refused.value.code == "procedure_kind_unknown"
    with pytest.raises(Refused) as refused:
        practice.desk("administrator").ask("GET", "/procedures/kind-1/usage")
    assert refused.value.code == "not_allowed"


def test_years_of_records_are_read_while_others_write(equipped):
    practice, dentist = equipped
    writing = []

    def hear(connection, _cursor, statement, *_):
        writing.append((connection.get_execution_options().get("dosebook_write"), statement))

    event.listen(practice.house.engine, "before_cursor_execute", hear)
    dentist.ask("GET", "/procedures/kind-1/usage")
    event.remove(practice.house.engine, "before_cursor_execute", hear)
    assert [write for write, statement in writing if "LIKE" in statement] == [None]
    # That it was read is written down all the same.
    assert [write for write, statement in writing if "INTO access_log" in statement] == [True]
