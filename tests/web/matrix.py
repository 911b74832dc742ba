"""Two locations that hold the same kinds of things, and everybody who may come to the door."""

import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path

import psycopg

from api.demo.tablet_client import TabletClient
from api.people import secrets, sessions
from api.people.rights import RIGHTS, ROLES
from api.storage import accounts, attachment_uses, attachments, certificates, tables
from api.storage.engine import is_postgresql, read, write
from api.web.auth import Rule
from api.web.context import Context
from api.work import runner
from tests import postgresql
from tests.records.pictures import jpeg
from tests.web.equipment import DEVICE, TIP
from tests.web.practice import ORIGIN, Practice

ON_TABLET = ("clinician", "assistant", "auditor")
TYPE = "record.placed_in_chart"


@dataclass(frozen=True)
class Place:
    """A location: a tablet of it, its ids by what an address calls them, texts only it has."""

    practice: Practice
    tablet: TabletClient
    ids: Mapping[str, str]
    marks: frozenset[str]


class Moment:
    """The database as it stood at a moment, put back whenever a request may have changed it."""

    def __init__(self, house: Context, path: Path) -> None:
        self._house, self._path = house, path
        self._close()
        self._bytes = path.read_bytes()

    def back(self) -> None:
        """Put it back as it stood."""
        self._close()
        self._path.write_bytes(self._bytes)

    def _close(self) -> None:
        with self._house.engine.connect() as connection:
            connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
        for engine in {self._house.engine, self._house.report_engine}:
            engine.dispose()
        for more in ("-wal", "-shm"):
            self._path.with_name(self._path.name + more).unlink(missing_ok=True)


class MomentOfRows:
    """The same on PostgreSQL, where a database is no file: every row, put back as it was."""

    def __init__(self, house: Context) -> None:
        address = house.engine.url.set(drivername="postgresql", username=postgresql.SUPERUSER)
        self._address = address.render_as_string(hide_password=False)
        names = list(tables.metadata.tables)
        copies = "; ".join(f"CREATE TABLE kept.{name} AS TABLE public.{name}" for name in names)
        self._run(f"DROP SCHEMA IF EXISTS kept CASCADE; CREATE SCHEMA kept; {copies}")
        gone = "; ".join(f"DELETE FROM public.{name}" for name in names)
        again = "; ".join(
            f"INSERT INTO public.{name} OVERRIDING SYSTEM VALUE SELECT * FROM kept.{name}"
            for name in names
        )
        # Without triggers, which keep what is append-only from being taken away.
        self._back = f"SET session_replication_role = replica; {gone}; {again}"

    def back(self) -> None:
        """Put it back as it stood."""
        self._run(self._back)

    def _run(self, statements: str) -> None:
        with psycopg.connect(self._address) as connection:
            connection.execute(statements)


def moment_of(house: Context) -> Moment | MomentOfRows:
    """Return the moment that it is now, on either database."""
    if is_postgresql(house.engine):
        return MomentOfRows(house)
    return Moment(house, house.settings.data_dir / "dosebook.sqlite3")


@dataclass(frozen=True)
class Caller:
    """Somebody at the door: what a request of theirs carries, and what lets them in."""

    name: str
    way: str
    role: str | None
    headers: Mapping[str, str]

    def may(self, rule: Rule) -> bool:
        """Return whether ``rule`` lets this caller in."""
        if not rule.ways:
            return True
        if self.way not in rule.ways:
            # A tablet's own routes do not mind that somebody is signed in on it.
            return "tablet" in rule.ways and self.way == "person"
        # A tablet alone is nobody, and has no role that could be asked.
        return rule.right is None or self.way == "tablet" or self.role in RIGHTS[rule.right]


def filled(practice: Practice, word: str) -> Place:
    """Fill a location; every text that only it has holds ``word``."""
    officer = practice.desk("safety_officer")
    officer.command("device.registered", f"{word}-laser", DEVICE | {"label": f"{word} laser"})
    officer.command(
        "handpiece.registered",
        f"{word}-tip",
        TIP | {"label": f"{word} tip", "device_id": f"{word}-laser"},
    )
    dentist = practice.desk("clinician")
    dentist.command("procedure_kind.listed", f"{word}-kind", {"text": f"{word} kind", "code": None})
    tablet = practice.tablet("clinician")
    record_id = practice.signed_record(tablet, chart_number=f"{word}-1001", kind=f"{word}-kind")
    tablet.push()
    house = practice.house
    runner.run_once(house.engine, practice.clock)
    picture = jpeg(64, 40 + len(word))
    sha256 = hashlib.sha256(picture).hexdigest()
    with write(house.engine) as connection:
        attachments.put(
            connection,
            practice.location_id,
            sha256,
            picture,
            media_type="image/jpeg",
            width_px=64,
            height_px=40 + len(word),
            received_at=practice.clock.now(),
            actor_id=None,
            tablet_id=None,
        )
        attachment_uses.put(connection, practice.location_id, record_id, [sha256])
        # A certificate may be the very same picture.
        certificates.put(
            connection,
            practice.location_id,
            sha256,
            picture,
            media_type="image/jpeg",
            received_at=practice.clock.now(),
            actor_id=practice.people["safety_officer"],
            tablet_id=None,
        )
        paper = {"certificates": [{"sha256": sha256}]}
        certificates.note_uses(connection, practice.location_id, "meter", f"{word}-meter", paper)
    ids = {
        "record_id": record_id,
        "device_id": f"{word}-laser",
        "person_id": practice.people["clinician"],
        "tablet_id": tablet.identity["tablet_id"],
        "location_id": practice.location_id,
        "procedure_kind_id": f"{word}-kind",
        "sha256": sha256,
        "session_id": _a_session(practice),
        # Nobody has one here: whose it is decides, and only its owner may ask.
        "factor_id": f"{word}-factor",
        "type": TYPE,
    }
    only_here = {value for name, value in ids.items() if name not in ("type", "factor_id")}
    marks = frozenset({word, practice.name, *only_here, *practice.people.values()})
    return Place(practice, tablet, ids, marks)


def callers(place: Place) -> Iterator[Caller]:
    """Yield everybody who may come, each with tokens of their own."""
    yield Caller("a stranger", "nobody", None, {"Origin": ORIGIN})
    practice, tablet = place.practice, place.tablet
    bearer = {"Authorization": tablet._headers()["Authorization"], "Origin": ORIGIN}
    yield Caller("a tablet", "tablet", None, bearer)
    for role in ON_TABLET:
        token = _token(practice, role, accounts.PERSON, tablet_id=tablet.identity["tablet_id"])
        yield Caller(f"{role} on a tablet", "person", role, {**bearer, "Dosebook-Person": token})
    for role in ROLES:
        cookie = f"dosebook_desk={_token(practice, role, accounts.DESK, tablet_id=None)}"
        yield Caller(f"{role} at a desk", "desk", role, {"Cookie": cookie, "Origin": ORIGIN})


def _a_session(practice: Practice) -> str:
    with read(practice.house.engine, locations=(practice.location_id,)) as connection:
        now = practice.clock.now()
        found = sessions.of_location(connection, practice.location_id, here=None, now=now)
    return found[0]["session_id"]


def _token(practice: Practice, role: str, kind: str, *, tablet_id: str | None) -> str:
    token, now = secrets.new_token(practice.house.random), practice.clock.now()
    with write(practice.house.engine) as connection:
        accounts.add_token(
            connection,
            practice.location_id,
            secrets.digest(token),
            kind=kind,
            tablet_id=tablet_id,
            person_id=practice.people[role],
            now=now,
            expires_at=now + timedelta(hours=12),
        )
    return token
