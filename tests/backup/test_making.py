"""A backup is of one moment, opens, and is counted on only after it was found to hold."""

import base64
import json
import sqlite3
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest

from api.backup import checking, keys, making
from api.errors import DomainError
from api.storage import backups, copies
from api.storage.engine import read
from api.sync.pull import pull
from api.work.backups import Timer

both = pytest.mark.both_databases(long=True)


def pulled(practice) -> dict:
    """What a tablet is told at its next pull."""
    house = practice.house
    return pull(
        house.engine,
        practice.clock,
        house.server_key,
        tablet_or_location=practice.location_id,
    )


def durable(practice) -> int | None:
    return pulled(practice)["durable_position"]


def position(practice) -> int:
    return json.loads(pulled(practice)["head"]["text"])["position"]


def tries(practice) -> list[dict]:
    with read(practice.house.engine) as connection:
        return backups.latest(connection, practice.location_id, limit=10)


@both
def test_what_is_inside_is_durable_and_what_comes_later_is_not(practice, chair, make):
    _, note = chair
    note("before")
    assert durable(practice) is None
    made = make()
    inside = position(practice)
    assert durable(practice) == inside == made["locations"][0]["position"]
    note("after: \ttab, \\ backslash, \u2028, \U0001f600")
    assert (durable(practice), position(practice)) == (inside, inside + 1)
    practice.clock.advance(60)
    make()
    assert durable(practice) == inside + 1
    assert [each["verified_at"] is not None for each in tries(practice)] == [True, True]


@both
def test_the_manifest_says_what_is_there(practice, chair, make):
    _, note = chair
    for number in range(3):
        note(f"note {number}")
    made = make()
    path = Path(made["path"])
    said = checking.check(path)
    # Counted by hand: the opening, the dentist, the tablet, three notes.
    assert said["counts"]["event"] == said["counts"]["payload"] == 6
    assert said["counts"]["record_index"] == 1
    assert said["locations"][0]["position"] == 6
    assert set(said["files"]) == {path.name for path in path.iterdir()} - {"manifest.json"}
    for each in path.iterdir():
        assert each.stat().st_mode & 0o077 == 0, each.name
    assert path.stat().st_mode & 0o077 == 0


@both
def test_the_servers_key_is_in_no_file_in_the_clear(settings, make):
    made = make()
    lines = settings.server_key_path.read_bytes().splitlines()
    # Its secret itself: 32 bytes behind the fixed beginning of such a file (RFC 5915, RFC 5208).
    secret = base64.b64decode(b"".join(lines[1:-1]))[36:68]
    forms = (secret, secret.hex().encode(), base64.b64encode(secret)[:40], lines[1])

    def holds(path: Path) -> bool:
        content = path.read_bytes()
        return any(form in content for form in forms)

    assert holds(settings.server_key_path)
    assert [path.name for path in Path(made["path"]).iterdir() if holds(path)] == []


def test_without_a_recovery_key_there_is_no_backup(settings, practice, clock, tmp_path):
    with pytest.raises(DomainError) as refused:
        making.make(
            settings,
            practice.house.engine,
            clock,
            practice.house.random,
            folder=tmp_path / "backups",
        )
    assert refused.value.code == "recovery_key_missing"
    assert [each["problem"] for each in tries(practice)] == ["recovery_key_missing"]


def spoil(path: Path) -> None:
    """Change one letter of one payload, as a disk may that says nothing of it."""
    with closing(sqlite3.connect(path)) as raw:
        raw.execute("DROP TRIGGER payload_no_update")
        raw.execute(
            "UPDATE payload SET payload = replace(payload, 'kept', 'kepd') WHERE rowid ="
            " (SELECT max(rowid) FROM payload)"
        )
        raw.commit()


def test_a_copy_that_does_not_hold_is_not_counted_on(practice, chair, make, monkeypatch):
    _, note = chair
    note("kept as it is")
    write_copy = copies.write_copy

    def written_badly(url, folder):
        said = write_copy(url, folder)
        spoil(folder / said["file"])
        return said

    monkeypatch.setattr(copies, "write_copy", written_badly)
    with pytest.raises(DomainError, match=r"does not hold at position 4 \(payload_hash\)"):
        make()
    assert durable(practice) is None
    assert [each["problem"] for each in tries(practice)] == ["backup_broken"]
    folder = Path(tries(practice)[0]["place"]).parent
    assert [each.name for each in folder.iterdir() if each.is_dir()] == []
    # Whoever trusts what was written without opening it counts on a copy that is spoilt.
    monkeypatch.setattr(checking, "check", lambda *_arguments, **_more: {})
    make()
    assert durable(practice) == 4


def test_what_a_killed_run_left_is_swept_and_counts_for_nothing(practice, make, tmp_path):
    left = tmp_path / "backups" / ".dosebook-20260101T000000Z-aaaa.unfinished"
    left.mkdir(parents=True)
    (left / "dosebook.sqlite3").write_bytes(b"half of it")
    make()
    assert not left.exists()
    assert len(tries(practice)) == 1


def test_the_age_is_that_of_the_location_that_is_worst_off(practice, make, clock):
    engine = practice.house.engine
    assert making.age_of_oldest(engine, clock.now()) is None
    make()
    clock.advance(3600)
    assert making.age_of_oldest(engine, clock.now()).total_seconds() == 3600
    type(practice)(practice.app, clock, name="South room", roles=())
    assert making.age_of_oldest(engine, clock.now()) is None


def test_the_public_half_is_all_that_is_kept(settings, recovery_words):
    kept = keys.place(settings).read_text()
    assert not [word for word in recovery_words.split() if f'"{word}"' in kept]
    assert set(json.loads(kept)) == {"public_key", "made_at"}
    assert keys.is_right(settings, recovery_words)


def test_the_timer_makes_one_when_one_is_due(settings, practice, clock, recovery_words, tmp_path):
    timed = replace(settings, backups_dir=tmp_path / "backups", backup_hours=12)
    timer = Timer(timed, practice.house.engine, clock)
    assert [timer.tick(), timer.tick()] == [True, False]
    clock.advance(12 * 3600 - 1)
    assert not timer.tick()
    clock.advance(1)
    assert timer.tick()
    # After a failure it waits a while, and then tries again.
    keys.place(timed).unlink()
    clock.advance(12 * 3600)
    assert [timer.tick(), timer.tick()] == [False, False]
    assert [each["problem"] for each in tries(practice)[:2]] == ["recovery_key_missing", None]
    keys.new_recovery_key(timed, clock, practice.house.random)
    assert not timer.tick()
    clock.advance(30 * 60)
    assert timer.tick()
