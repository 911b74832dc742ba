"""Plays the demo's script through the real interface, on a clock that is moved by hand.

Opening the practice and setting secrets has no request of its own; these few go to the services
that the command line uses too. Everything else is what a tablet or a desk would send.
"""

import os
from collections.abc import Callable, Mapping
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any

from api.clock import Clock, SteppedClock
from api.demo import scenario, transport
from api.demo.case import WAVELENGTH, Case, House
from api.demo.desk_client import DeskClient
from api.demo.tablet_client import TabletClient
from api.devices import verification
from api.errors import Conflict
from api.ids import new_id
from api.people import service, tablets
from api.settings import Settings
from api.storage import documents, readers
from api.storage.engine import Engine, read, write
from api.sync import desk, server_key

ORIGIN = "http://localhost"
# Longer than an ordinary code: it is printed at set-up, and the reader may first want to read.
CODE_LIFE = timedelta(hours=24)

Progress = Callable[[int, int], None]
Random = Callable[[int], bytes]


def load(
    settings: Settings,
    *,
    engine: Engine,
    open_app: Callable[[Clock], Any],
    projectors: Mapping[str, Callable],
    now: datetime,
    work: Callable[[Engine, Clock], int] | None = None,
    progress: Progress | None = None,
    random: Random = os.urandom,
) -> dict:
    """Load the demo into an empty, upgraded database; return what to print.

    ``open_app(clock)`` gives the application on that clock, ``projectors`` are the application's,
    ``work`` does the jobs (renderings) before a desk needs them. Everything happens before
    ``now``. Returns {"loaded", "location_id", "location_name", "sign_ins": [{name, roles,
    sign_in, password, pin}], "enrolment_code": {code, expires_at} or None}; ``loaded`` is False,
    and nothing was done, where the demo is there already. Raises ``Conflict`` where other data,
    or half a demo, is in the database.
    """
    script = scenario.read()
    there = _already_there(engine, script)
    if there is not None:
        return _answer(script, there, loaded=False, code=None)
    clock = SteppedClock(scenario.set_up_at(script, now=now))
    player = _Player(
        settings,
        engine=engine,
        app=open_app(clock),
        projectors=projectors,
        clock=clock,
        script=script,
        random=random,
    )
    player.set_up()
    steps = scenario.steps(script, now=now)
    for number, step in enumerate(steps, start=1):
        clock.set(max(step.at, clock.now()))
        if work is not None and step.kind in ("placing", "addendum"):
            work(engine, clock)
        player.play(step)
        if progress is not None:
            progress(number, len(steps))
    if work is not None:
        work(engine, clock)
    clock.set(max(now.astimezone(UTC), clock.now()))
    code = player.code(life=CODE_LIFE)
    return _answer(script, player.location_id, loaded=True, code=code)


def _already_there(engine: Engine, script: scenario.Scenario) -> str | None:
    with read(engine) as connection:
        locations = readers.locations(connection)
        if not locations:
            return None
        location_id = locations[0]["location_id"]
        found = documents.get(connection, location_id, "location", location_id) or {}
        records = documents.list(connection, location_id, "record")
    if found.get("practice_name") != script.house["location"]["practice_name"]:
        raise Conflict("database_in_use", "The database holds another practice; no demo into it.")
    if len(records) < len(script.procedures["procedures"]):
        raise Conflict(
            "demo_incomplete",
            "Loading the demo was interrupted before. Empty the data folder and load it again.",
        )
    return location_id


def _answer(
    script: scenario.Scenario, location_id: str, *, loaded: bool, code: dict | None
) -> dict:
    return {
        "loaded": loaded,
        "location_id": location_id,
        "location_name": script.house["location"]["name"],
        "sign_ins": [
            {
                "name": person["display_name"],
                **{name: person[name] for name in ("roles", "sign_in", "password", "pin")},
            }
            for person in script.house["people"]
        ],
        "enrolment_code": code,
    }


class _Player:
    def __init__(
        self,
        settings: Settings,
        *,
        engine: Engine,
        app: Any,
        projectors: Mapping[str, Callable],
        clock: SteppedClock,
        script: scenario.Scenario,
        random: Random,
    ) -> None:
        self._engine = engine
        self._app = app
        self._projectors = projectors
        self._clock = clock
        self._script = script
        self._random = random
        self._key = server_key.load_or_create(settings.server_key_path)
        self._ids: dict[str, str] = {}
        self._records: dict[int, str] = {}
        self._tablets: dict[str, TabletClient] = {}
        self._people = {person["key"]: person for person in script.house["people"]}
        self._house = House(
            ids=self._ids,
            pins={key: person["pin"] for key, person in self._people.items()},
            statement=script.procedures["statement"],
        )
        self.location_id = ""

    # Set-up

    def set_up(self) -> None:
        """Open the practice: people with their secrets, tablets, registers."""
        house = self._script.house
        opened = {key: value for key, value in house["location"].items() if key != "key"}
        self.location_id = desk.open_location(
            self._engine,
            self._clock,
            self._key,
            payload=opened,
            projectors=self._projectors,
            random=self._random,
        )["location_id"]
        for person in house["people"]:
            self._register(person)
        for tablet in house["tablets"]:
            self._enrol(tablet)
        with self._desk("alder") as officer:
            for device in house["devices"]:
                officer.command("device.registered", self._id(device), self._payload(device))
            for handpiece in house["handpieces"]:
                payload = self._payload(handpiece)
                payload["device_id"] = self._ids[payload.pop("device")]
                officer.command("handpiece.registered", self._id(handpiece), payload)
            for kind in house["procedure_kinds"]:
                officer.command("procedure_kind.listed", self._id(kind), self._payload(kind))
            questions = house["time_out"]
            payload = {**self._payload(questions), "version": 1}
            officer.command("list.published", self._id(questions), payload)

    def code(self, **more: Any) -> dict:
        """Make an enrolment code."""
        with write(self._engine) as connection:
            return tablets.make_code(
                connection,
                location_id=self.location_id,
                made_by=self._ids["standin"],
                clock=self._clock,
                random=self._random,
                **more,
            )

    def _id(self, thing: Mapping) -> str:
        """Give a thing of the fixtures an id of its own, and remember it under its key."""
        self._clock.advance(1)
        return self._ids.setdefault(thing["key"], new_id(self._clock.now(), self._random))

    @staticmethod
    def _payload(thing: Mapping) -> dict:
        return {name: value for name, value in thing.items() if name != "key"}

    def _register(self, person: Mapping) -> None:
        person_id = self._id(person)
        days = person["licence_days"]
        expires = self._clock.now() + timedelta(days=days) if days else None
        payload = {
            **{name: person[name] for name in ("display_name", "initials", "roles", "credential")},
            "licence_expires": expires.date().isoformat() if expires else None,
        }
        about = {"location_id": self.location_id, "person_id": person_id, "actor_id": None}
        with write(self._engine) as connection:
            desk.append_in(
                connection,
                self._clock,
                self._key,
                location_id=self.location_id,
                actor_id=None,
                type="person.registered",
                entity_id=person_id,
                payload=payload,
                projectors=self._projectors,
                zone=self._script.house["location"]["zone"],
                random=self._random,
            )
            means = {"clock": self._clock, "random": self._random}
            if person["sign_in"]:
                service.set_password(
                    connection,
                    **about,
                    sign_in=person["sign_in"],
                    password=person["password"],
                    **means,
                )
            if person["pin"]:
                service.set_pin(connection, **about, pin=person["pin"], **means)

    def _enrol(self, tablet: Mapping) -> None:
        client = TabletClient(
            self._transport(), self._clock, label=tablet["label"], random=self._random
        )
        client.enrol(self.code()["code"])
        self._tablets[tablet["key"]] = client

    def _transport(self) -> transport.Transport:
        return transport.from_test_client(self._app.test_client())

    def _desk(self, sign_in: str) -> "_Session":
        password = next(
            person["password"] for person in self._people.values() if person["sign_in"] == sign_in
        )
        client = DeskClient(self._transport(), self._clock, origin=ORIGIN, random=self._random)
        return _Session(client, sign_in, password)

    # What happens day by day

    def play(self, step: scenario.Step) -> None:
        """Do one step."""
        getattr(self, f"_{step.kind}")(step.what)

    def _tablet_of(self, what: Mapping, person: str) -> TabletClient:
        tablet = self._tablets[what.get("tablet", "tablet-1")]
        tablet.sign_in(self._ids[person], self._people[person]["pin"])
        return tablet

    def _preset(self, what: Mapping) -> None:
        handpiece = next(
            one for one in self._script.house["handpieces"] if one["key"] == what["handpiece"]
        )
        spot = what.get("spot") or {
            "diameter": handpiece["spot_diameter"],
            "diameter_definition": handpiece["diameter_definition"],
        }
        payload = {
            "version": what["number"],
            "name": what["name"],
            "procedure_kind_id": self._ids[what["kind"]],
            "device_id": self._ids[what["device"]],
            "handpiece_id": self._ids[what["handpiece"]],
            "settings": {"wavelength": WAVELENGTH, "emission": what["emission"], "spot": spot},
            "spot_known": what.get("spot_known") or handpiece["spot_known"],
            "focus": what["focus"],
            "coolant": what["coolant"],
            "note": what["note"],
            "reviewed_by": self._ids[what["reviewed_by"]],
        }
        tablet = self._tablet_of(what, what["reviewed_by"])
        before = what["number"] - 1
        tablet.record("preset.published", self._id(what), payload, base_version=before or None)
        tablet.push()
        tablet.lock()

    def _verification(self, what: Mapping) -> None:
        checks = self._script.verifications
        worked_out = verification.work_out(
            readings_w=[
                (_watts(one["expected_average_power"]), [_watts(text) for text in one["measured"]])
                for one in what["readings"]
            ],
            meter_uncertainty=checks["meter_uncertainty"],
        )
        meter = dict(checks["meter"])
        calibrated = self._clock.now() - timedelta(days=meter.pop("calibrated_days_ago"))
        payload = {
            "device_id": self._ids[what["device"]],
            "handpiece_id": self._ids[what["handpiece"]],
            "mode": what["mode"],
            "meter": {**meter, "calibrated_on": calibrated.date().isoformat()},
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

    def _procedure(self, what: Mapping) -> None:
        tablet = self._tablets[what["tablet"]]
        case = Case(tablet=tablet, clock=self._clock, house=self._house, what=what)
        self._records[id(what)] = case.play()

    def _placing(self, what: Mapping) -> None:
        payload = {"how": what["placed"], "note": None}
        with self._desk("poppy") as front_desk:
            front_desk.command("record.placed_in_chart", self._records[id(what)], payload)

    def _addendum(self, what: Mapping) -> None:
        payload = {name: what["addendum"][name] for name in ("text", "reason")}
        tablet = self._tablet_of(what, what["operator"])
        tablet.record("record.addended", self._records[id(what)], payload)
        tablet.push()
        tablet.lock()


class _Session:
    """A desk that is signed in for the length of a block."""

    def __init__(self, client: DeskClient, sign_in: str, password: str) -> None:
        self._client = client
        self._secrets = (sign_in, password)

    def __enter__(self) -> DeskClient:
        self._client.sign_in(*self._secrets)
        return self._client

    def __exit__(self, *_: object) -> None:
        self._client.sign_out()


def _watts(text: str) -> Decimal:
    return Decimal(text.removesuffix(" W"))
