"""The demo's practice: opened, staffed and equipped, then reached through tablets and desks."""

from collections.abc import Callable, Mapping
from datetime import timedelta
from types import MappingProxyType
from typing import Any

from api.clock import SteppedClock
from api.demo import scenario, transport
from api.demo.case import House
from api.demo.desk_client import DeskClient
from api.demo.tablet_client import TabletClient
from api.ids import new_id
from api.people import service, tablets
from api.settings import Settings
from api.storage.engine import Engine, write
from api.sync import desk, server_key

ORIGIN = "http://localhost"

Random = Callable[[int], bytes]


class Practice:
    """The demo's practice as it is being built up: ids by fixture key, tablets, desks."""

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
        known: Mapping[str, str] = MappingProxyType({}),
    ) -> None:
        """``known`` are the ids of people who work at another location too, by fixture key."""
        self._engine = engine
        self._app = app
        self._projectors = projectors
        self.clock = clock
        self.script = script
        self._random = random
        self._key = server_key.load_or_create(settings.server_key_path)
        self.ids: dict[str, str] = dict(known)
        self.tablets: dict[str, TabletClient] = {}
        self.people = {person["key"]: person for person in script.house["people"]}
        self.case_house = House(
            ids=self.ids,
            pins={key: person["pin"] for key, person in self.people.items()},
            statement=script.procedures["statement"],
            zone=script.house["location"]["zone"],
        )
        self.location_id = ""
        self._opened_at = clock.now()

    # Set-up

    def set_up(self) -> None:
        """Open the practice: people with their secrets, tablets, registers."""
        house = self.script.house
        opened = {key: value for key, value in house["location"].items() if key != "key"}
        self.location_id = desk.open_location(
            self._engine,
            self.clock,
            self._key,
            payload=opened,
            projectors=self._projectors,
            random=self._random,
        )["location_id"]
        for person in house["people"]:
            self._register(person)
        for tablet in house["tablets"]:
            self._enrol(tablet)
        with self.desk(house["officer"]) as officer:
            for device in house["devices"]:
                officer.command("device.registered", self.id_of(device), self._payload(device))
            for handpiece in house["handpieces"]:
                payload = self._payload(handpiece)
                payload["device_id"] = self.ids[payload.pop("device")]
                officer.command("handpiece.registered", self.id_of(handpiece), payload)
            for thing in house.get("registers", ()):
                officer.command(thing["type"], self.id_of(thing), self._registered(thing))
            for plan in house["room_plans"]:
                drawn = {name: value for name, value in plan.items() if name != "room_id"}
                officer.command("room.drawn", plan["room_id"], drawn)
            for kind in house["procedure_kinds"]:
                officer.command("procedure_kind.listed", self.id_of(kind), self._payload(kind))
            for questions in self.script.lists["lists"]:
                payload = {**self.asked(questions), "version": 1}
                officer.command("list.published", self.id_of(questions), payload)

    def _registered(self, thing: Mapping) -> dict:
        """Say what a register holds of a thing: its laser by id, its days by the calendar."""
        payload = {name: thing[name] for name in thing if name not in ("key", "type")}
        if "device" in payload:
            payload["device_id"] = self.ids[payload.pop("device")]
        if "calibrated_days_ago" in payload:
            payload["calibrated_on"] = self.days_ago(payload.pop("calibrated_days_ago"))
        return payload

    def days_ago(self, days: int) -> str:
        """Return the day that lies so many days before the practice was opened."""
        return (self._opened_at - timedelta(days=days)).date().isoformat()

    def code(self, **more: Any) -> dict:
        """Make an enrolment code."""
        with write(self._engine) as connection:
            return tablets.make_code(
                connection,
                location_id=self.location_id,
                made_by=self.ids[self.script.house["keeper"]],
                clock=self.clock,
                random=self._random,
                **more,
            )

    def id_of(self, thing: Mapping) -> str:
        """Give a thing of the fixtures an id of its own, and remember it under its key."""
        self.clock.advance(1)
        return self.ids.setdefault(thing["key"], new_id(self.clock.now(), self._random))

    @classmethod
    def asked(cls, questions: Mapping) -> dict:
        """Return what of a list is published: not its source, nor the version that follows."""
        payload = cls._payload(questions)
        return {name: payload[name] for name in payload if name not in ("source", "next")}

    @staticmethod
    def _payload(thing: Mapping) -> dict:
        return {name: value for name, value in thing.items() if name != "key"}

    def _register(self, person: Mapping) -> None:
        person_id = self.id_of(person)
        days = person["licence_days"]
        expires = self.clock.now() + timedelta(days=days) if days else None
        payload = {
            **{name: person[name] for name in ("display_name", "initials", "roles", "credential")},
            "licence_expires": expires.date().isoformat() if expires else None,
            "auditor_until": self._auditor_until(person),
        }
        about = {"location_id": self.location_id, "person_id": person_id, "actor_id": None}
        with write(self._engine) as connection:
            desk.append_in(
                connection,
                self.clock,
                self._key,
                location_id=self.location_id,
                actor_id=None,
                type="person.registered",
                entity_id=person_id,
                payload=payload,
                projectors=self._projectors,
                zone=self.script.house["location"]["zone"],
                random=self._random,
            )
            means = {"clock": self.clock, "random": self._random}
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

    def _auditor_until(self, person: Mapping) -> str | None:
        days = person.get("auditor_days")
        return days and (self.clock.now() + timedelta(days=days)).date().isoformat()

    def _enrol(self, tablet: Mapping) -> None:
        client = TabletClient(
            self._transport(), self.clock, label=tablet["label"], random=self._random
        )
        client.enrol(self.code()["code"])
        self.tablets[tablet["key"]] = client

    def _transport(self) -> transport.Transport:
        return transport.from_test_client(self._app.test_client())

    def desk(self, sign_in: str) -> "DeskSession":
        password = next(
            person["password"] for person in self.people.values() if person["sign_in"] == sign_in
        )
        client = DeskClient(self._transport(), self.clock, origin=ORIGIN, random=self._random)
        return DeskSession(client, sign_in, password)


class DeskSession:
    """A desk that is signed in for the length of a block."""

    def __init__(self, client: DeskClient, sign_in: str, password: str) -> None:
        self._client = client
        self._secrets = (sign_in, password)

    def __enter__(self) -> DeskClient:
        self._client.sign_in(*self._secrets)
        return self._client

    def __exit__(self, *_: object) -> None:
        self._client.sign_out()
