"""The demo's script: what it must hold, and that it never reaches into the future."""

import json
from datetime import UTC, date, datetime
from decimal import Decimal

import pytest

from api.demo import scenario
from api.people.rights import ROLES

SCRIPT = scenario.read()
SECOND = scenario.read_second(SCRIPT)
BOTH = pytest.mark.parametrize("script", [SCRIPT, SECOND], ids=["first", "second"])
NOW = datetime(2026, 11, 25, 13, 0, tzinfo=UTC)


def test_it_holds_what_a_practice_has():
    house = SCRIPT.house
    assert {device["delivery_part"] for device in house["devices"]} == {
        "articulated arm",
        "hollow waveguide",
    }
    assert {device["wavelength"] for device in house["devices"]} == {"10.6 um"}
    assert {role for person in house["people"] for role in person["roles"]} == set(ROLES)
    presets = SCRIPT.presets["presets"]
    assert len(presets) == 5
    assert sum(len(preset["versions"]) > 1 for preset in presets) >= 2
    procedures = SCRIPT.procedures["procedures"]
    assert sum(procedure["signed"] for procedure in procedures) == 20
    assert sum(not procedure["signed"] for procedure in procedures) == 2
    assert {len(procedure["passes"]) for procedure in procedures} == {1, 2, 3, 4}
    assert 5 <= sum(bool(procedure["placed"]) for procedure in procedures) < 20
    assert len({check["working_days_ago"] for check in SCRIPT.verifications["verifications"]}) >= 6


@pytest.mark.parametrize(
    ("script", "part"),
    [(SCRIPT, part) for part in scenario.FILES] + [(SECOND, part) for part in scenario.OF_SECOND],
)
def test_every_file_says_that_it_is_invented_and_no_recommendation(script, part):
    note = getattr(script, part)["note"]
    assert "Invented" in note and "NOT recommendations" in note


@BOTH
def test_patients_are_chart_numbers_and_initials_only(script):
    for procedure in script.procedures["procedures"]:
        assert len(procedure["second_identifier"]) == 2
        assert procedure["chart_number"].startswith("Q-")
        assert not {"name", "patient_name", "birth_date"} & procedure.keys()


@pytest.mark.parametrize(
    "moment",
    [
        NOW,
        datetime(2027, 1, 1, 0, 5, tzinfo=UTC),
        datetime(2026, 11, 2, 6, 30, tzinfo=UTC),
        datetime(2028, 2, 29, 23, 59, tzinfo=UTC),
    ],
)
@BOTH
def test_everything_happens_in_order_between_set_up_and_now(script, moment):
    steps = scenario.steps(script, now=moment)
    moments = [step.at for step in steps]
    assert moments == sorted(moments)
    assert scenario.set_up_at(script, now=moment) < moments[0]
    # The last case must be over and pushed, and the desk gone home, before now.
    assert (moment - moments[-1]).total_seconds() > 3600


def test_working_days_leave_the_weekend_out():
    # 25 November 2026 is a Wednesday: one, three and five working days before it.
    wednesday = date(2026, 11, 25)
    assert scenario.working_day(wednesday, 1) == date(2026, 11, 24)
    assert scenario.working_day(wednesday, 3) == date(2026, 11, 20)
    assert scenario.working_day(wednesday, 5) == date(2026, 11, 18)


@BOTH
def test_every_preset_and_check_exists_before_it_is_used(script):
    steps = scenario.steps(script, now=NOW)
    published, checked = set(), set()
    for step in steps:
        if step.kind == "preset":
            published.add(step.what["key"])
        elif step.kind == "verification":
            checked.add(step.what["handpiece"])
        elif step.kind == "procedure":
            assert step.what["handpiece"] in checked
            for one in step.what["passes"]:
                assert one["preset"] is None or one["preset"] in published


@BOTH
def test_the_expected_power_of_a_check_is_what_its_settings_mean(script):
    # By hand, from the definitions: a pulsed or continuous average is itself; a gated peak counts
    # for the share of the time that the gate is open.
    for check in script.verifications["verifications"]:
        for reading in check["readings"]:
            emission = reading["emission"]
            power = Decimal(emission["power"].removesuffix(" W"))
            if emission["mode"] == "gated":
                on, off = (
                    Decimal(emission[gate].removesuffix(" ms")) for gate in ("gate_on", "gate_off")
                )
                power = power * on / (on + off)
            assert Decimal(reading["expected_average_power"].removesuffix(" W")) == power
            assert len(reading["measured"]) == 3
        assert len(check["readings"]) == 2


@BOTH
def test_settings_lie_within_what_their_laser_declares(script):
    limits = {device["key"]: device["limits"] for device in script.house["devices"]}
    units = {"W": 1, "us": Decimal("1e-6"), "ms": Decimal("1e-3"), "s": 1, "Hz": 1}

    def number(text: str) -> Decimal:
        value, unit = text.split(" ")
        return Decimal(value) * units[unit]

    for preset in script.presets["presets"]:
        for version in preset["versions"]:
            emission = version["emission"]
            for name in ("pulse_duration", "repetition_rate", "gate_on", "gate_off"):
                if name in emission:
                    limit = limits[preset["device"]][name]
                    assert number(limit["min"]) <= number(emission[name]) <= number(limit["max"])
            limit = limits[preset["device"]]["average_power"]
            assert number(emission["power"]) <= number(limit["max"])


def test_secrets_stand_in_the_fixtures_only():
    secrets = [
        person[kind]
        for one in (SCRIPT, SECOND)
        for person in one.house["people"]
        for kind in ("password", "pin")
        if person[kind]
    ]
    for path in (scenario.FIXTURES.parent / "api").rglob("*.py"):
        text = path.read_text(encoding="utf-8")
        assert not [secret for secret in secrets if json.dumps(secret) in text]
