"""What people do about erasing, and looking for what must be gone."""

import hashlib
import os
from pathlib import Path

import pytest
from sqlalchemy import make_url

from api.audit.verify import verify_log
from api.demo.tablet_client import Refused
from api.storage import documents, erased, jobs
from api.storage.engine import open_engine, read, write
from api.sync.rebuild import rebuild
from api.work import runner
from tests.postgresql import OWNER
from tests.records import pictures
from tests.web.practice import Practice
from tests.web.test_attachments import name, put

# Written into every record that is to be erased, and nowhere else.
MARK = "Zimtsternchen-4711"
# Made up for the test: what a practice writes into its own table is no business of the program.
RULES = [
    {"text": "Records of treatment", "years": 10, "citation": "House rule 3"},
    {"text": "Records of the laser", "years": 2, "citation": "House rule 4"},
]
REQUEST = {
    "basis": "request",
    "citation": "House rule 7",
    "reason": "Asked for in writing",
    "override": "Nothing of it was ever billed",
}
PICTURE = pictures.jpeg()


class House:
    """A practice whose desks ask, decide and look; desks are signed in once."""

    def __init__(self, practice: Practice) -> None:
        self.practice = practice
        self.engine = practice.house.engine
        self.location_id = practice.location_id
        self._desks: dict = {}

    def desk(self, role: str):
        if role not in self._desks:
            self._desks[role] = self.practice.desk(role)
        return self._desks[role]

    def record(self, tablet=None, *, picture: bytes | None = PICTURE) -> tuple:
        """Make a signed record with a photograph and papers: (its id, its tablet)."""
        tablet = tablet or self.practice.tablet("clinician")
        record_id = self.practice.signed_record(tablet, chart_number=MARK)
        if picture is not None:
            name(tablet, picture, record_id)
            assert put(self.practice, tablet, picture, named=False).status_code == 200
        tablet.push()
        self.work()
        return record_id, tablet

    def work(self) -> None:
        """Do every job that is due."""
        with write(self.engine) as connection:
            connection.exec_driver_sql("UPDATE job SET due_at = '2000' WHERE state <> 'done'")
        while runner.run_once(self.engine, self.practice.clock):
            pass

    def ask(self, record_id: str, role: str = "clinician", **more):
        return self.desk(role).ask("POST", f"/records/{record_id}/erasure", {**REQUEST, **more})

    def decide(self, record_id: str, role: str = "manager", decision: str = "erase", **more):
        path = f"/records/{record_id}/erasure/decision"
        return self.desk(role).ask("POST", path, {"decision": decision, **more})

    def erase(self, record_id: str, **more):
        self.ask(record_id, **more)
        return self.decide(record_id)

    def look(self, record_id: str, role: str = "manager"):
        return self.desk(role).ask("GET", f"/records/{record_id}/erasure")

    def rule(self, rules=RULES):
        return self.desk("manager").command("retention.ruled", self.location_id, {"rules": rules})

    def verified(self) -> dict:
        return verify_log(self.engine)

    def rebuilt(self) -> None:
        with write(self.engine) as connection:
            rebuild(connection, projectors=self.practice.house.projectors)

    def document(self, kind: str, doc_id: str):
        with read(self.engine) as connection:
            return documents.get(connection, self.location_id, kind, doc_id)

    def payloads(self, record_id: str) -> list:
        with read(self.engine) as connection:
            rows = erased.entries_of(connection, self.location_id, record_id)
        return [row["payload"] for row in rows]

    def jobs_of(self, record_id: str) -> dict:
        with read(self.engine) as connection:
            rows = jobs.of_record(connection, self.location_id, record_id)
        return {row["kind"]: (row["state"], row["problem"]) for row in rows}

    def rows_with(self, text: str) -> dict[str, int]:
        """Count, in every table of the database, the rows that hold a text anywhere."""
        found = {}
        for table in sorted(self._tables()):
            with read(self.engine) as connection:
                rows = connection.exec_driver_sql(f"SELECT * FROM {table}").all()
            count = sum(any(text in _said(cell) for cell in row) for row in rows)
            if count:
                found[table] = count
        return found

    @staticmethod
    def _tables() -> set[str]:
        from api.storage.tables import metadata

        return set(metadata.tables)


def _said(cell) -> str:
    if isinstance(cell, memoryview | bytes):
        return bytes(cell).decode("latin-1")
    return str(cell)


def files_with(folder: Path, *wanted: bytes) -> list[str]:
    """Return the files below a folder among whose bytes any of these stands."""
    found = []
    for where, _, names in os.walk(folder):
        for each in names:
            file = Path(where) / each
            # A server's socket is a name there too.
            if file.is_file() and any(one in file.read_bytes() for one in wanted):
                found.append(str(file.relative_to(folder)))
    return sorted(found)


def part_of(picture: bytes) -> bytes:
    """Return bytes out of the middle of a picture, which stand nowhere else."""
    return picture[len(picture) // 2 :][:32]


def sha256(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def refused(act, *arguments, **named) -> Refused:
    with pytest.raises(Refused) as raised:
        act(*arguments, **named)
    return raised.value


def owner_engine(database_url: str):
    """Open the database as whoever owns the tables; a file has nobody but its writers."""
    url = make_url(database_url)
    if url.get_backend_name() == "postgresql":
        url = url.set(username=OWNER)
    return open_engine(url.render_as_string(hide_password=False), reach=("*",), as_owner=True)
