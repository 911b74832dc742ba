"""A small practice on the test's database: one location, its people, a tablet, a desk."""

from api.app import PROJECTORS
from api.clock import rfc3339
from api.demo.desk_client import DeskClient
from api.demo.tablet_client import TabletClient
from api.demo.transport import from_test_client
from api.ids import new_id
from api.people import service, standing, tablets
from api.records.order import content_hash
from api.storage.engine import write
from api.sync import desk

ORIGIN = "http://localhost"
PIN = "270618"
PASSWORD = "a long enough pass phrase"
ZONE = "Europe/Lisbon"
# 4 W over a spot of 0.25 mm: 4 * 4 / (pi * 0.025 cm ** 2) = 8148.733 W/cm2, by hand.
SETTINGS = {
    "wavelength": "10.6 um",
    "emission": {"mode": "continuous", "power": "4 W"},
    "spot": {"diameter": "0.25 mm", "diameter_definition": "1/e2"},
}
IRRADIANCE_MEAN_W_CM2 = 8148.733


class Practice:
    """One location; ``people`` are ids by role, each person having just that role."""

    def __init__(self, app, clock, *, name: str = "North room", roles: tuple[str, ...]) -> None:
        self.app = app
        self.clock = clock
        self.name = name
        self.house = app.extensions["dosebook"]
        opened = desk.open_location(
            self.house.engine,
            clock,
            self.house.server_key,
            payload={"name": name, "practice_name": "Lantern Dental", "zone": ZONE, "rooms": []},
            projectors=PROJECTORS,
        )
        self.location_id = opened["location_id"]
        self._with_secrets: set[str] = set()
        self.people = {role: self._person(role) for role in roles}

    def _person(self, role: str) -> str:
        person_id = new_id(self.clock.now())
        said = {
            "display_name": f"Test {role}",
            "initials": "T",
            "credential": None,
            "licence_expires": "2099-12-31",
            "auditor_until": "2099-12-31" if role == "auditor" else None,
        }
        self.register(person_id, said, [role])
        return person_id

    def register(self, person_id: str, said: dict, roles: list[str]) -> None:
        """Register a person, as the program itself; also one of another location."""
        desk.append_as_desk(
            self.house.engine,
            self.clock,
            self.house.server_key,
            location_id=self.location_id,
            actor_id=None,
            type="person.registered",
            entity_id=person_id,
            payload={**said, "roles": roles},
            idempotency_key=f"person {person_id} {roles}",
            projectors=PROJECTORS,
            zone=ZONE,
        )

    def give_secrets(self, role: str) -> None:
        """Give the person of a role a PIN and a password, once; hashing them takes its time."""
        if role in self._with_secrets:
            return
        self._with_secrets.add(role)
        known = {
            "location_id": self.location_id,
            "person_id": self.people[role],
            "actor_id": None,
            "clock": self.clock,
            "random": self.house.random,
        }
        with write(self.house.engine) as connection:
            service.set_pin(connection, pin=PIN, **known)
            service.set_password(
                connection, sign_in=self.sign_in_name(role), password=PASSWORD, **known
            )

    def sign_in_name(self, role: str) -> str:
        """Return the name under which the person of a role signs in."""
        return f"{role} {self.name}"

    def code(self) -> str:
        """Return a code to enrol a tablet with."""
        with write(self.house.engine) as connection:
            return tablets.make_code(
                connection,
                location_id=self.location_id,
                made_by=None,
                clock=self.clock,
                random=self.house.random,
            )["code"]

    def tablet(self, role: str | None = None) -> TabletClient:
        """Return an enrolled tablet, with the person of a role signed in on it."""
        made = TabletClient(from_test_client(self.app.test_client()), self.clock, label="Chair one")
        made.enrol(self.code())
        if role is not None:
            self.give_secrets(role)
            made.sign_in(self.people[role], PIN)
        return made

    def desk(self, role: str) -> DeskClient:
        """Return a desk with the person of a role signed in."""
        return self.desk_and_browser(role)[0]

    def desk_and_browser(self, role: str):
        """Return a desk, and Flask's client with its cookie, for what is no JSON."""
        browser = self.app.test_client()
        made = DeskClient(from_test_client(browser), self.clock, origin=ORIGIN)
        self.give_secrets(role)
        made.sign_in(self.sign_in_name(role), PASSWORD)
        return made, browser

    def signed_record(
        self,
        tablet: TabletClient,
        *,
        chart_number: str = "C-1001",
        kind: str | None = None,
        preset: dict | None = None,
        accepted: dict | None = None,
        overridden: str | None = None,
    ) -> str:
        """Record a procedure of one pass on a tablet, sign it, and return its id, not yet sent."""
        person_id = tablet.person["person_id"]
        record_id, pass_id = tablet.new_id(), tablet.new_id()
        at = rfc3339(tablet.now())
        tablet.record(
            "procedure.opened",
            record_id,
            {
                "patient": {"chart_number": chart_number, "second_identifier": "1980-05-17"},
                "procedure": {
                    "procedure_kind_id": kind,
                    "text": "Labial frenectomy",
                    "code": None,
                },
                "site": "Upper lip",
                "indication": "Diastema",
                "why_laser": None,
                "operator_id": person_id,
                "supervising_id": None,
                "assistant_ids": [],
                "others_present": None,
                "room": None,
                "device": {
                    "device_id": "laser-1",
                    "label": "Laser one",
                    "maker": "Invented Works",
                    "model": "Test",
                    "serial": "1",
                    "wavelength": "10.6 um",
                    "delivery_part": "articulated arm",
                },
                "handpiece": {
                    "handpiece_id": "tip-1",
                    "label": "0.25 mm",
                    "kind": "focusing handpiece",
                    "use_count": None,
                },
                "verification": None,
                "consent": None,
                "anaesthesia": None,
                "alerts_reviewed": True,
                "started_at": at,
            },
        )
        if accepted is not None:
            tablet.record("operator.accepted", record_id, {"operator_id": person_id, **accepted})
        if overridden is not None:
            cause = {"event_id": overridden, "kind": "verification", "at": at, "text": "failed"}
            said = {"causes": [cause], "reason": "Bleeding that nothing else here stops"}
            tablet.record("service.overridden", record_id, {"device_id": "laser-1", **said})
        self.clock.advance(30)
        tablet.record(
            "pass.started",
            record_id,
            {
                "pass_id": pass_id,
                "number": 1,
                "settings": SETTINGS,
                "verification_event_id": None,
                "preset": preset,
                "changed_from_preset": False,
                "spot_known": "label",
                "focus": "focused",
                "coolant": "none",
                "distance": None,
                "dose": None,
            },
        )
        self.clock.advance(20)
        tablet.record(
            "laser.emitted",
            record_id,
            {"pass_id": pass_id, "laser_on_time": "12.4 s", "source": "timer", "pulses": None},
        )
        self.clock.advance(60)
        tablet.record(
            "procedure.ended",
            record_id,
            {
                "outcome": {
                    "haemostasis": "Dry field",
                    "specimens": None,
                    "sutures": None,
                    "complications": None,
                    "instructions": None,
                },
                "ended_at": rfc3339(tablet.now()),
            },
        )
        self.clock.advance(15)
        tablet.record(
            "record.signed",
            record_id,
            {
                "signer_id": person_id,
                "role": "clinician",
                "content_hash": content_hash(tablet.events_of(record_id)),
                "statement": "This is what was done.",
            },
        )
        return record_id


def settled(app, clock, *, roles: tuple[str, ...]) -> Practice:
    """Return a practice whose people have been here long enough to decide things together."""
    clock.advance(-standing.AFTER.total_seconds())
    made = Practice(app, clock, roles=roles)
    clock.advance(standing.AFTER.total_seconds())
    return made
