"""A location with one clinician who has a PIN and a password, on a migrated database."""

import hashlib
import itertools

import pytest

from api.events import signing
from api.people import service, tablets
from api.storage import documents, event_store
from api.storage.engine import EVERYWHERE, open_engine, write

LOCATION, PERSON, TABLET = "loc-1", "person-1", "tablet-1"
PIN = "271828"
PASSWORD = "a long enough pass phrase"
SIGN_IN = "Dr. Test"


def counted_random():
    """Bytes that differ from call to call and are the same in every run."""
    calls = itertools.count()

    def random(count: int) -> bytes:
        return hashlib.shake_256(str(next(calls)).encode()).digest(count)

    return random


class House:
    """The engine and what every call needs."""

    def __init__(self, engine, clock):
        self.engine = engine
        self.clock = clock
        self.random = counted_random()
        self.server_key = signing.new_private_key()

    @property
    def given(self):
        return {"clock": self.clock, "random": self.random}

    def pin(self, pin=PIN, *, person_id=PERSON, tablet_id=TABLET):
        return service.sign_in_with_pin(
            self.engine,
            location_id=LOCATION,
            tablet_id=tablet_id,
            person_id=person_id,
            pin=pin,
            **self.given,
        )

    def password(self, password=PASSWORD, *, sign_in=SIGN_IN):
        return service.sign_in_with_password(
            self.engine, sign_in=sign_in, password=password, **self.given
        )

    def code(self, **more):
        with write(self.engine) as connection:
            return tablets.make_code(
                connection, location_id=LOCATION, made_by=PERSON, **self.given, **more
            )["code"]

    def enrol(self, code, private_key, label="Chair one"):
        with write(self.engine) as connection:
            return tablets.enrol(
                connection,
                code=code,
                public_key=signing.public_key_text(private_key),
                label=label,
                server_key=self.server_key,
                **self.given,
            )


@pytest.fixture
def house(database_url, clock):
    engine = open_engine(database_url, reach=EVERYWHERE)
    made = House(engine, clock)
    with write(engine) as connection:
        event_store.open_location(connection, LOCATION, epoch="epoch-1", now=clock.now())
        documents.put(connection, LOCATION, "location", LOCATION, {"name": "North"}, position=1)
        documents.put(
            connection,
            LOCATION,
            "person",
            PERSON,
            {"person_id": PERSON, "display_name": "Test", "roles": ["clinician"]},
            position=2,
        )
        known = {"location_id": LOCATION, "person_id": PERSON, "actor_id": None, **made.given}
        service.set_pin(connection, pin=PIN, **known)
        service.set_password(connection, sign_in=SIGN_IN, password=PASSWORD, **known)
    yield made
    engine.dispose()
