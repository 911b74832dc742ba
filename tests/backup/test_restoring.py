"""A backup comes back whole, as a new epoch, and never in place of what nobody gave up."""

import hashlib
import json
import sqlite3
from contextlib import closing
from dataclasses import replace
from functools import partial
from pathlib import Path

import pytest
from alembic import command
from alembic.config import Config
from sqlalchemy import make_url

from api.app import PROJECTORS
from api.audit.verify import verify_log
from api.backup import checking, keys, manifest, restoring
from api.errors import BadInput, Conflict, DomainError
from api.events import chain
from api.migrations import run
from api.registers import certificates as register
from api.storage import accounts, after_restore, certificates, copies, documents, readers
from api.storage.engine import open_engine, read, write
from api.sync import server_key
from tests import postgresql
from tests.files import papers

both = pytest.mark.both_databases(long=True)


def never() -> str:
    raise AssertionError("no recovery key is needed here")


@pytest.fixture
def restore(clock, practice):
    """Return a function that restores a backup to where settings say."""
    return partial(
        restoring.restore,
        clock=clock,
        random=practice.house.random,
        who="Whoever looks after the server",
        why="the disk broke",
        replace=False,
        ask_recovery_key=never,
        projectors=PROJECTORS,
    )


@pytest.fixture
def elsewhere(settings, tmp_path, database_url, request):
    """Settings of another machine, with nothing on it yet."""
    folder = tmp_path / "elsewhere"
    other = replace(settings, data_dir=folder, server_key_path=folder / "server_key.pem")
    if database_url.startswith("sqlite"):
        return replace(other, database_url=f"sqlite:///{folder / 'dosebook.sqlite3'}")
    server = request.getfixturevalue("postgresql_server")
    name = server.new_empty()
    return replace(
        other,
        database_url=server.url(name),
        database_owner_url=server.url(name, as_role=postgresql.OWNER),
    )


def hash_of(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def put_certificate(practice, content: bytes) -> None:
    with write(practice.house.engine) as connection:
        register.keep(
            connection,
            location_id=practice.location_id,
            sha256=hash_of(content),
            content=content,
            actor_id=practice.people["clinician"],
            tablet_id=None,
            now=practice.clock.now(),
        )


def state(url: str) -> tuple[dict, list[dict]]:
    engine = open_engine(url, reach=("*",))
    with read(engine) as connection:
        found = copies.row_counts(connection), readers.locations(connection)
    engine.dispose()
    return found


@both
def test_it_comes_back_whole_on_a_machine_with_nothing(
    settings, practice, chair, make, restore, elsewhere, recovery_words
):
    _, note = chair
    for number in range(3):
        note(f"note {number}: \ttab, \\N, \\, \u2028, ’")
    paper = papers.pdf()
    put_certificate(practice, paper)
    before, [log] = state(settings.database_url)
    made = make()
    note("written after the backup")
    done = restore(
        elsewhere, folder=Path(made["path"]), ask_recovery_key=lambda: recovery_words.upper()
    )
    after, [again] = state(elsewhere.database_url)
    # One entry more, with what is noted of it, and of the backup that it came from.
    one_more = ("event", "payload", "access_log", "backup")
    assert after == {name: count + (name in one_more) for name, count in before.items()}
    assert done["set_aside"] == []
    assert again["position"] == log["position"] + 1
    assert again["epoch"] == done["locations"][0]["epoch"] != log["epoch"]
    engine = open_engine(elsewhere.database_url, reach=("*",))
    with read(engine) as connection:
        *earlier, last = readers.stored_after(connection, practice.location_id, 0, limit=100)
        place = documents.get(connection, practice.location_id, "location", practice.location_id)
        kept = certificates.get(connection, practice.location_id, hash_of(paper))
    assert (before["certificate"], kept["content"]) == (1, paper)
    assert [each["payload"] for each in earlier if "note" in each["payload"]][:1]
    said = json.loads(last["payload"])
    assert last["type"] == "log.restored"
    assert (said["old_epoch"], said["position"]) == (log["epoch"], log["position"])
    assert (said["link"], said["why"]) == (log["link"].hex(), "the disk broke")
    assert place["restored"]["backup_id"] == made["backup_id"]
    # The first entry of the epoch hangs on the last one of the backup.
    assert last["link"] == chain.link(
        previous=log["link"], header_hash=last["header_hash"], body_hash=last["body_hash"]
    )
    assert verify_log(engine)["ok"]
    engine.dispose()
    assert elsewhere.server_key_path.read_bytes() == settings.server_key_path.read_bytes()


@both
def test_nobody_is_let_in_by_what_was_open_then(
    practice, chair, make, restore, elsewhere, recovery_words
):
    practice.code()
    chair[1]("for which the tablet got a token")
    with write(practice.house.engine) as connection:
        accounts.add_challenge(
            connection, "a nonce", chair[0].identity["tablet_id"], expires_at=practice.clock.now()
        )
    made = make()
    restore(elsewhere, folder=Path(made["path"]), ask_recovery_key=lambda: recovery_words)
    engine = open_engine(elsewhere.database_url, reach=("*",))
    with read(engine) as connection:
        for table in ("token", "enrol_code", "challenge"):
            ended = "ended_at" if table == "token" else "used_at"
            rows = connection.exec_driver_sql(f"SELECT {ended} FROM {table}").scalars().all()
            assert rows, table
            assert None not in rows, table
    engine.dispose()


def spoil(folder: Path, *statements: str) -> None:
    """Change the copy, and the manifest so that its hash fits: a bug, or somebody who can."""
    with closing(sqlite3.connect(folder / copies.SQLITE_FILE)) as raw:
        for table in ("event", "payload"):
            for change in ("update", "delete"):
                raw.execute(f"DROP TRIGGER {table}_no_{change}")
        for statement in statements:
            raw.execute(statement)
        raw.commit()
    said = json.loads((folder / manifest.NAME).read_text())
    said["files"][copies.SQLITE_FILE] = manifest.fingerprint(folder / copies.SQLITE_FILE)
    (folder / manifest.NAME).write_text(json.dumps(said))


def flip(path: Path) -> None:
    content = bytearray(path.read_bytes())
    content[len(content) // 2] ^= 1
    path.write_bytes(content)


DAMAGE = {
    "a file changed": (lambda f: flip(f / copies.SQLITE_FILE), "dosebook.sqlite3 is not the file"),
    "a file cut": (
        lambda f: (f / copies.SQLITE_FILE).write_bytes(b"half"),
        r"dosebook.sqlite3 has 4 bytes, and had \d+",
    ),
    "a file gone": (lambda f: (f / manifest.SEALED_KEYS).unlink(), "server_keys.sealed is missing"),
    "the manifest cut": (
        lambda f: (f / manifest.NAME).write_text('{"format": '),
        "manifest.json cannot be read",
    ),
    "a row gone": (
        lambda f: spoil(f, "DELETE FROM payload WHERE rowid = 2"),
        r"table payload has 4 rows, and had 5",
    ),
    "a link changed": (
        lambda f: spoil(f, "UPDATE event SET link = zeroblob(32) WHERE position = 4"),
        r"does not hold at position 4 \(link\)",
    ),
    "a verdict changed": (
        lambda f: spoil(f, "UPDATE event SET verdict = 'quarantined' WHERE position = 5"),
        r"does not hold at position 5 \(header\)",
    ),
    "the log ends elsewhere": (
        lambda f: spoil(f, "UPDATE location SET position = 4"),
        "ends elsewhere",
    ),
}


@pytest.mark.parametrize("what", DAMAGE)
def test_what_does_not_hold_is_refused_and_named(
    what, settings, practice, chair, make, restore, elsewhere
):
    _, note = chair
    note("one")
    note("two")
    folder = Path(make()["path"])
    checking.check(folder)
    damage, words = DAMAGE[what]
    damage(folder)
    with pytest.raises(DomainError, match=words) as refused:
        restore(elsewhere, folder=folder)
    assert refused.value.code == "backup_broken"
    assert not elsewhere.data_dir.exists()


def test_what_is_there_is_set_aside_only_when_told(settings, practice, chair, make, restore):
    _, note = chair
    folder = Path(make()["path"])
    note("written after the backup")
    practice.house.engine.dispose()
    path = Path(settings.database_url.removeprefix("sqlite:///"))
    before = path.read_bytes()
    with pytest.raises(Conflict) as refused:
        restore(settings, folder=folder)
    assert refused.value.code == "database_exists"
    assert path.read_bytes() == before
    done = restore(settings, folder=folder, replace=True)
    [aside] = done["set_aside"]
    assert Path(aside).read_bytes() == before
    with closing(sqlite3.connect(path)) as raw:
        types = [row[0] for row in raw.execute("SELECT type FROM event ORDER BY position")]
    assert types[-1] == "log.restored"
    assert "procedure.noted" not in types
    assert list(path.parent.glob("*.restoring*")) == []
    # In the same second once more: what was set aside first stays where it is.
    [again] = restore(settings, folder=folder, replace=True)["set_aside"]
    assert again != aside
    assert Path(aside).read_bytes() == before


def test_a_database_in_use_is_not_moved_away(settings, practice, make, restore):
    folder = Path(make()["path"])
    with read(practice.house.engine) as connection:
        readers.locations(connection)
        with pytest.raises(Conflict) as refused:
            restore(settings, folder=folder, replace=True)
    assert refused.value.code == "database_in_use"


def test_the_key_of_another_server_stays_unless_told(
    settings, practice, make, restore, elsewhere, recovery_words
):
    folder = Path(make()["path"])
    server_key.load_or_create(elsewhere.server_key_path)
    before = elsewhere.server_key_path.read_bytes()
    with pytest.raises(Conflict) as refused:
        restore(elsewhere, folder=folder)
    assert refused.value.code == "server_key_other"
    done = restore(elsewhere, folder=folder, replace=True, ask_recovery_key=lambda: recovery_words)
    assert [Path(each).read_bytes() for each in done["set_aside"]] == [before]
    assert elsewhere.server_key_path.read_bytes() == settings.server_key_path.read_bytes()


def test_another_recovery_key_opens_nothing_and_changes_nothing(
    practice, make, restore, elsewhere, settings, clock
):
    folder = Path(make()["path"])
    other = keys.new_recovery_key(settings, clock, practice.house.random)
    for typed, code in ((other, "recovery_key_wrong"), ("not words", "recovery_key_mistyped")):
        with pytest.raises(BadInput) as refused:
            restore(elsewhere, folder=folder, ask_recovery_key=lambda typed=typed: typed)
        assert refused.value.code == code
    assert not elsewhere.data_dir.exists()


def as_of_revision(revision: str, path: Path) -> None:
    """Put what is in a database file into the tables that an older version had."""
    older = path.with_name("older.sqlite3")
    engine = open_engine(f"sqlite:///{older}", reach=("*",))
    with write(engine) as connection:
        config = Config()
        config.set_main_option("script_location", str(run.FOLDER))
        config.attributes["connection"] = connection
        command.upgrade(config, revision)
    engine.dispose()
    with closing(sqlite3.connect(older, isolation_level=None)) as raw:
        raw.execute("PRAGMA journal_mode = DELETE")
        raw.execute("PRAGMA foreign_keys = OFF")
        raw.execute("ATTACH ? AS newer", (str(path),))
        for (table,) in raw.execute(
            "SELECT name FROM main.sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite%'"
            " AND name <> 'alembic_version'"
        ).fetchall():
            columns = ", ".join(row[1] for row in raw.execute(f"PRAGMA main.table_info({table})"))
            raw.execute(f"INSERT INTO main.{table} ({columns}) SELECT {columns} FROM newer.{table}")
    older.replace(path)


def test_a_backup_of_an_older_version_is_lifted(
    practice, chair, make, restore, elsewhere, recovery_words
):
    _, note = chair
    note("of the older version")
    folder = Path(make()["path"])
    as_of_revision("0010", folder / copies.SQLITE_FILE)
    said = json.loads((folder / manifest.NAME).read_text())
    said["files"][copies.SQLITE_FILE] = manifest.fingerprint(folder / copies.SQLITE_FILE)
    (folder / manifest.NAME).write_text(json.dumps({**said, "revision": "0010"}))
    restore(elsewhere, folder=folder, ask_recovery_key=lambda: recovery_words)
    counts, [log] = state(elsewhere.database_url)
    assert (counts["backup"], log["position"]) == (1, 5)


def test_an_epoch_that_nothing_explains_is_found(practice, chair):
    """The twin of a restore: the log goes on in another epoch, and no entry says from where."""
    _, note = chair
    note("before")
    engine = practice.house.engine
    assert verify_log(engine)["ok"]
    with write(engine) as connection:
        after_restore.begin_epoch(connection, practice.location_id, "another")
    [found] = verify_log(engine)["locations"]
    assert (found["first_bad"]["position"], found["first_bad"]["reason"]) == (5, "epoch")
    chair[0].identity["epoch"] = "another"
    note("after")
    [found] = verify_log(engine)["locations"]
    assert (found["first_bad"]["position"], found["first_bad"]["reason"]) == (5, "epoch")


@pytest.mark.long
@pytest.mark.parametrize("database_url", ["postgresql"], indirect=True)
def test_a_servers_tables_are_set_aside_only_when_told(
    practice, chair, make, restore, elsewhere, recovery_words, postgresql_server
):
    folder = Path(make()["path"])
    restore(elsewhere, folder=folder, ask_recovery_key=lambda: recovery_words)
    with pytest.raises(Conflict) as refused:
        restore(elsewhere, folder=folder)
    assert refused.value.code == "database_exists"
    practice.clock.advance(60)
    [kept] = restore(elsewhere, folder=folder, replace=True)["set_aside"]
    name = make_url(elsewhere.database_url).database
    schema = kept.removeprefix("schema ")
    count = f"SELECT count(*) FROM {schema}.event WHERE type = 'log.restored'"
    assert postgresql_server.run(count, database=name) == [(1,)]
    counts, [log] = state(elsewhere.database_url)
    assert (counts["event"], log["position"]) == (4, 4)
    # In the same second once more: what was set aside first stays where it is.
    [again] = restore(elsewhere, folder=folder, replace=True)["set_aside"]
    assert again == f"{kept}_2"
    assert postgresql_server.run(count, database=name) == [(1,)]
