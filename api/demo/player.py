"""Does the steps of the demo's script, each through a tablet or a desk as anybody would."""

from collections.abc import Mapping
from decimal import Decimal

from api.clock import rfc3339
from api.demo import scenario, upkeep
from api.demo.case import WAVELENGTH, Case
from api.demo.practice import Practice
from api.demo.tablet_client import TabletClient
from api.devices import verification

# To look at a point of a list about a laser.
SECONDS_A_POINT = 8


class Player:
    """Does the steps of the script, one after another."""

    def __init__(self, practice: Practice) -> None:
        self._practice = practice
        self._records: dict[tuple, str] = {}

    def play(self, step: scenario.Step) -> None:
        """Do one step."""
        getattr(self, f"_{step.kind}")(step.what)

    def _tablet_of(self, what: Mapping, person: str) -> TabletClient:
        tablet = self._practice.tablets[what.get("tablet", "tablet-1")]
        tablet.sign_in(self._practice.ids[person], self._practice.people[person]["pin"])
        return tablet

    def _preset(self, what: Mapping) -> None:
        handpiece = next(
            one
            for one in self._practice.script.house["handpieces"]
            if one["key"] == what["handpiece"]
        )
        spot = what.get("spot") or {
            "diameter": handpiece["spot_diameter"],
            "diameter_definition": handpiece["diameter_definition"],
        }
        payload = {
            "version": what["number"],
            "name": what["name"],
            "procedure_kind_id": self._practice.ids[what["kind"]],
            "device_id": self._practice.ids[what["device"]],
            "handpiece_id": self._practice.ids[what["handpiece"]],
            "settings": {"wavelength": WAVELENGTH, "emission": what["emission"], "spot": spot},
            "spot_known": what.get("spot_known") or handpiece["spot_known"],
            "focus": what["focus"],
            "coolant": what["coolant"],
            "note": what["note"],
            "reviewed_by": self._practice.ids[what["reviewed_by"]],
        }
        tablet = self._tablet_of(what, what["reviewed_by"])
        before = what["number"] - 1
        tablet.record(
            "preset.published", self._practice.id_of(what), payload, base_version=before or None
        )
        tablet.push()
        tablet.lock()

    def _verification(self, what: Mapping) -> None:
        checks = self._practice.script.verifications
        worked_out = verification.work_out(
            readings_w=[
                (_watts(one["expected_average_power"]), [_watts(text) for text in one["measured"]])
                for one in what["readings"]
            ],
            meter_uncertainty=checks["meter_uncertainty"],
        )
        meter = dict(checks["meter"])
        calibrated = self._practice.days_ago(meter.pop("calibrated_days_ago"))
        payload = {
            "device_id": self._practice.ids[what["device"]],
            "handpiece_id": self._practice.ids[what["handpiece"]],
            "mode": what["mode"],
            "meter": {**meter, "calibrated_on": calibrated},
            "readings": [
                {
                    "settings": {"emission": one["emission"]},
                    "expected_average_power": one["expected_average_power"],
                    "measured": one["measured"],
                }
                for one in what["readings"]
            ],
            "ratio": str(worked_out.ratio),
            "ratio_uncertainty": str(worked_out.ratio_uncertainty),
            "meter_uncertainty": checks["meter_uncertainty"],
            "verdict": worked_out.verdict,
            "rule": verification.RULE,
            "note": what["note"],
        }
        tablet = self._tablet_of(what, checks["by"])
        tablet.record("verification.recorded", tablet.new_id(), payload)
        tablet.push()
        tablet.lock()

    def _laser_list(self, what: Mapping) -> None:
        """Answer a list about a laser, every point of it with yes."""
        tablet, clock = self._tablet_of(what, what["by"]), self._practice.clock
        tablet.pull("house")
        ids = self._practice.ids
        asked = tablet.documents["list", ids[what["list"]]]
        answers = []
        for item in asked["items"]:
            clock.advance(SECONDS_A_POINT)
            answers.append(
                {
                    **{name: item[name] for name in ("item_id", "text")},
                    "answer": "yes",
                    "note": None,
                    "answered_at": rfc3339(tablet.now()),
                    "by": ids[what["by"]],
                }
            )
        payload = {
            "device_id": ids[what["device"]],
            "kind": asked["kind"],
            "list_id": asked["list_id"],
            "list_version": asked["version"],
            "list_event_id": asked["event_id"],
            "title": asked["title"],
            "answers": answers,
            "verdict": "passed",
            "done_at": rfc3339(tablet.now()),
            "note": None,
        }
        tablet.record("device.checked", tablet.new_id(), payload)
        tablet.push()
        tablet.lock()

    def _upkeep(self, what: Mapping) -> None:
        """Note what is in a register, or was done to it, all at one time."""
        tablet, practice = self._tablet_of(what, what["by"]), self._practice
        for noted in what["noted"]:
            about = practice.id_of({"key": noted["about"]})
            payload = upkeep.said(
                noted["payload"], day=what["day"], ids=practice.ids, house=practice.script.house
            )
            tablet.record(noted["type"], about, payload)
        tablet.push()
        tablet.lock()

    def _list(self, what: Mapping) -> None:
        """Publish the next version of a list for a later day, and have it read by some."""
        following, list_id = what["next"], self._practice.ids[what["key"]]
        payload = {
            **self._practice.asked(what),
            "items": [*what["items"], *following["added"]],
            "version": 2,
            "effective_from": what["effective_from"],
            "needs_acknowledgement": True,
        }
        with self._practice.desk(self._practice.script.house["officer"]) as officer:
            officer.command("list.published", list_id, payload, base_version=1)
        for person in following["read_by"]:
            tablet = self._tablet_of(what, person)
            tablet.record("list.acknowledged", list_id, {"version": 2})
            tablet.push()
            tablet.lock()

    def _procedure(self, what: Mapping) -> None:
        tablet = self._practice.tablets[what["tablet"]]
        case = Case(
            tablet=tablet, clock=self._practice.clock, house=self._practice.case_house, what=what
        )
        self._records[_case_key(what)] = case.play()

    def _placing(self, what: Mapping) -> None:
        payload = {"how": what["placed"], "note": None}
        with self._practice.desk("poppy") as front_desk:
            front_desk.command("record.placed_in_chart", self._records[_case_key(what)], payload)

    def _addendum(self, what: Mapping) -> None:
        payload = {name: what["addendum"][name] for name in ("text", "reason")}
        tablet = self._tablet_of(what, what["operator"])
        tablet.record("record.addended", self._records[_case_key(what)], payload)
        tablet.push()
        tablet.lock()


def _case_key(what: Mapping) -> tuple:
    return (what["chart_number"], what["working_days_ago"])


def _watts(text: str) -> Decimal:
    return Decimal(text.removesuffix(" W"))
