"""Plays one procedure on a tablet, tap by tap, as a dentist and an assistant would."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from api.clock import SteppedClock, rfc3339
from api.demo import course, payloads
from api.demo.tablet_client import Event, TabletClient
from api.devices.verification import feeds_dose, latest_verification
from api.records.doses import pass_dose
from api.records.order import content_hash
from api.safety.in_force import in_force

WAVELENGTH = "10.6 um"
SECONDS_AN_ANSWER = 2
SECONDS_BETWEEN_PASSES = 25
SECONDS_TO_CLEAN_UP = 240
SECONDS_TO_SIGN = 60


@dataclass(frozen=True)
class House:
    """What the fixtures' short keys stand for: ids, and the PINs of the staff."""

    ids: Mapping[str, str]
    pins: Mapping[str, str]
    statement: str
    zone: str


@dataclass
class Case:
    """A procedure under way."""

    tablet: TabletClient
    clock: SteppedClock
    house: House
    what: Mapping[str, Any]

    def play(self) -> str:
        """Play it from the first tap to the signature, where there is one; return the record id."""
        self.tablet.pull("house")
        # A case is opened by whoever assists, who also logs the passes.
        self._unlock(self.what["assistants"][0])
        record_id = self.tablet.new_id()
        self._record("procedure.opened", record_id, self._opening())
        assistant = self.what["assistants"][0]
        self._answer(record_id, "before-patient", by=assistant, led_by=assistant)
        self._answer(record_id, "time-out", by=assistant, led_by=self.what["operator"])
        if "protection" in self.what:
            names = {
                key: self._document("person", key)["display_name"]
                for key in (self.what["operator"], *self.what["assistants"])
            }
            said = course.protection(self.what["protection"], names)
            self._record("protection.noted", record_id, said)
        for number, one in enumerate(self.what["passes"], start=1):
            if "pause_before" in one:
                course.pause(
                    self.clock,
                    self._record,
                    lambda: self._answer(record_id, "pause", by=assistant, led_by=assistant),
                    record_id,
                    one["pause_before"],
                )
            self._pass(record_id, number, one)
        if "photograph" in self.what:
            caption = self.what["photograph"]
            course.photograph(self.clock, self.tablet, self._record, record_id, caption)
        self._correct(record_id)
        for text in self.what["notes"]:
            self._record("procedure.noted", record_id, {"text": text})
        self.clock.advance(SECONDS_TO_CLEAN_UP)
        self._record(
            "procedure.ended",
            record_id,
            {"outcome": dict(self.what["outcome"]), "ended_at": self._now()},
        )
        late = self.what.get("after_use_minutes_late", 0)
        self._answer(record_id, "after-use", by=assistant, led_by=assistant, minutes_later=late)
        if self.what["signed"]:
            self._sign(record_id)
        self.tablet.lock()
        self.clock.advance(60 * self.what["minutes_without_network"])
        self.tablet.push()
        return record_id

    def _unlock(self, person: str) -> None:
        self.tablet.sign_in(self.house.ids[person], self.house.pins[person])

    def _now(self) -> str:
        return rfc3339(self.tablet.now())

    def _record(self, type: str, record_id: str, payload: Mapping, **more: Any) -> Event:
        event = self.tablet.record(type, record_id, payload, **more)
        if not self.what["minutes_without_network"]:
            # As a tablet does: sent as soon as it is saved, not in one heap at the end.
            self.tablet.push()
        return event

    def _document(self, kind: str, key: str) -> dict:
        return self.tablet.documents[kind, self.house.ids[key]]

    def _verification(self, mode: str, handpiece: str) -> dict | None:
        found = latest_verification(
            [body for (kind, _), body in self.tablet.documents.items() if kind == "verification"],
            device_id=self.house.ids[self.what["device"]],
            handpiece_id=self.house.ids[handpiece],
            mode=mode,
        )
        return found if feeds_dose(found) else None

    def _opening(self) -> dict:
        what, ids = self.what, self.house.ids
        kind = self._document("procedure_kind", what["kind"])
        device = self._document("device", what["device"])
        mode = self._settings(what["passes"][0])["emission"]["mode"]
        now = self.tablet.now()
        return {
            "patient": {
                "chart_number": what["chart_number"],
                "second_identifier": what["second_identifier"],
            },
            "procedure": {
                "procedure_kind_id": ids[what["kind"]],
                "text": kind["text"],
                "code": kind.get("code"),
            },
            "site": what["site"],
            "indication": what["indication"],
            "why_laser": what["why_laser"],
            "operator_id": ids[what["operator"]],
            "supervising_id": None,
            "assistant_ids": [ids[person] for person in what["assistants"]],
            "others_present": what["others_present"],
            "room": what["room"],
            "device": {
                "device_id": ids[what["device"]],
                **{
                    name: device.get(name)
                    for name in (
                        "label",
                        "maker",
                        "model",
                        "serial",
                        "wavelength",
                        "delivery_part",
                    )
                },
            },
            "handpiece": self._handpiece(what["handpiece"], what["use_count"]),
            "verification": payloads.check_used(self._verification(mode, what["handpiece"])),
            "consent": {
                "by": ids[what["operator"]],
                "at": rfc3339(now - timedelta(minutes=12)),
            },
            "anaesthesia": what["anaesthesia"],
            "alerts_reviewed": True,
            "started_at": rfc3339(now),
        }

    def _handpiece(self, key: str, use_count: int | None) -> dict:
        handpiece = self._document("handpiece", key)
        return {
            "handpiece_id": self.house.ids[key],
            "label": handpiece["label"],
            "kind": handpiece["kind"],
            "use_count": use_count,
            "device_id": handpiece["device_id"],
        }

    def _answer(
        self, record_id: str, key: str, *, by: str, led_by: str, minutes_later: int = 0
    ) -> None:
        """Answer a list of the fixtures item by item; where not said otherwise, with yes."""
        if key in self.what.get("skipped_lists", ()):
            return
        self.clock.advance(60 * minutes_later)
        asked = in_force(
            self.tablet.documents["list", self.house.ids[key]],
            at=self.tablet.now(),
            zone=self.house.zone,
        )
        notes = {**self.what["time_out_notes"], **self.what.get("list_notes", {}).get(key, {})}
        answers = []
        for item in asked["items"]:
            self.clock.advance(SECONDS_AN_ANSWER)
            answer, note = notes.get(item["item_id"], ("yes", None))
            answers.append(
                {
                    "item_id": item["item_id"],
                    "text": item["text"],
                    "answer": answer,
                    "note": note,
                    "answered_at": self._now(),
                    "by": self.house.ids[by],
                }
            )
        payload = {
            "list_id": self.house.ids[key],
            "list_version": asked["version"],
            "title": asked["title"],
            "answers": answers,
            "led_by": self.house.ids[led_by],
        }
        if asked["kind"] == "time_out":
            self._record("timeout.answered", record_id, payload)
        else:
            own = {"kind": asked["kind"], "within_s": asked.get("within_s")}
            self._record("list.answered", record_id, {**own, **payload})

    def _settings(self, one: Mapping) -> dict:
        """The dose request of a pass, without the delivery: preset by value, then its changes."""
        if one["preset"]:
            settings = self._document("preset", one["preset"])["settings"]
            changes = one.get("emission_changes") or {}
            return {**settings, "emission": {**settings["emission"], **changes}}
        handpiece = self._document("handpiece", one.get("handpiece", self.what["handpiece"]))
        spot = one.get("spot") or {
            "diameter": handpiece["spot_diameter"],
            "diameter_definition": handpiece["diameter_definition"],
        }
        return {"wavelength": WAVELENGTH, "emission": dict(one["emission"]), "spot": spot}

    def _pass(self, record_id: str, number: int, one: Mapping) -> None:
        self.clock.advance(SECONDS_BETWEEN_PASSES)
        settings = self._settings(one)
        key = one.get("handpiece", self.what["handpiece"])
        check = self._verification(settings["emission"]["mode"], key)
        if check:
            settings["delivery"] = {
                "verified_ratio": check["ratio"],
                "verified_at": check["verified_at"],
                "verified_ratio_uncertainty": check["ratio_uncertainty"],
            }
        preset = self._document("preset", one["preset"]) if one["preset"] else None
        handpiece = self._document("handpiece", key)
        how = preset or {"spot_known": handpiece["spot_known"]}
        pass_id = self.tablet.new_id()
        payload = {
            "pass_id": pass_id,
            "number": number,
            "settings": settings,
            "verification_event_id": check["event_id"] if check else None,
            "preset": preset
            and {
                "preset_id": self.house.ids[one["preset"]],
                "version": preset["version"],
                "name": preset["name"],
            },
            "changed_from_preset": bool(one.get("emission_changes")),
            "spot_known": one.get("spot_known", how["spot_known"]),
            "focus": one.get("focus") or how["focus"],
            "coolant": one.get("coolant") or how["coolant"],
            "distance": handpiece.get("working_distance"),
            "dose": payloads.as_texts(pass_dose(settings)),
        }
        if key != self.what["handpiece"]:
            payload["handpiece"] = self._handpiece(key, one["use_count"])
            payload["verification"] = payloads.check_used(check)
        self._record("pass.started", record_id, payload)
        for emission in one["laser_on"]:
            self.clock.advance(float(emission["seconds"]) * 1.5)
            self._record("laser.emitted", record_id, payloads.emitted(pass_id, emission))

    def _correct(self, record_id: str) -> None:
        """A mistyped time is put right by a further event that names the first."""
        correction = self.what["correction"]
        if not correction:
            return
        self.clock.advance(20)
        events = self.tablet.events_of(record_id)
        starts = [event for event in events if event["body"]["type"] == "pass.started"]
        pass_id = starts[correction["pass"] - 1]["payload"]["pass_id"]
        wrong = next(
            event["body"]["event_id"]
            for event in events
            if event["body"]["type"] == "laser.emitted" and event["payload"]["pass_id"] == pass_id
        )
        payload = payloads.emitted(pass_id, correction)
        self._record("laser.emitted", record_id, payload, corrects=wrong)

    def _sign(self, record_id: str) -> None:
        self.clock.advance(SECONDS_TO_SIGN)
        self._unlock(self.what["operator"])
        payload = {
            "signer_id": self.house.ids[self.what["operator"]],
            "role": "clinician",
            "content_hash": content_hash(self.tablet.events_of(record_id)),
            "statement": self.house.statement,
        }
        self._record("record.signed", record_id, payload)
