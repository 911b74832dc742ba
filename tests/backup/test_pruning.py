"""Older backups go, by number; never the newest, nor one that holds what no other does.

That a log only grows within an epoch, and what a restore leaves behind, is the design of the log;
how many are kept by default is this project's own choice.
"""

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import settings as bounded
from hypothesis import strategies as st

from api.backup import checking, keys, making, manifest, pruning
from api.clock import rfc3339
from api.errors import BadInput, Conflict
from api.storage import backups
from api.storage.engine import read, write
from api.work.backups import Timer
from tests.backup.test_making import both, durable, tries

LOCATIONS, EPOCHS = ("north", "south"), ("one", "two", "three")


def backup(number: int, *epochs: tuple[str, str]) -> pruning.Made:
    name = f"backup-{number:03d}"
    return pruning.Made(name, Path(name), f"2026-01-{number:02d}", frozenset(epochs), number)


def names(made: list[pruning.Made]) -> list[str]:
    return [one.backup_id for one in made]


def test_all_but_the_newest_go():
    made = [backup(number, ("north", "one")) for number in (3, 1, 5, 2, 4)]
    assert names(pruning.needless(made, keep=2)) == ["backup-001", "backup-002", "backup-003"]
    assert pruning.needless(made, keep=5) == []


def test_the_last_of_an_epoch_stays():
    before, after = ("north", "one"), ("north", "two")
    made = [backup(1, before), backup(2, before), backup(3, after), backup(4, after)]
    assert names(pruning.needless(made, keep=1)) == ["backup-001", "backup-003"]


def test_which_is_newer_is_told_by_the_logs_and_not_by_a_clock_that_was_ahead():
    north = ("north", "one")
    ahead = [replace(backup(number, north), made_at=f"2030-01-0{number}") for number in (1, 2)]
    assert names(pruning.needless([*ahead, backup(3, north)], keep=2)) == ["backup-001"]
    # Nothing came in since: the one made just now stays all the same.
    same = replace(backup(2, north), backup_id="just now")
    assert names(pruning.needless([*ahead, same], keep=2, latest="just now")) == ["backup-001"]


def needless_by_number_alone(made, *, keep):
    """The known-bad rule: what came last is all that counts."""
    return sorted(made, key=lambda one: one.made_at)[:-keep]


def something_is_lost(rule, made, keep) -> bool:
    going = rule(made, keep=keep)
    left = [one for one in made if one not in going]
    newest = max(made, key=lambda one: one.made_at)
    every = {epoch for one in made for epoch in one.epochs}
    latest = {epoch: max(one.made_at for one in made if epoch in one.epochs) for epoch in every}
    held = {(epoch, one.made_at) for one in left for epoch in one.epochs}
    return newest not in left or not set(latest.items()) <= held


places = st.tuples(st.sampled_from(LOCATIONS), st.sampled_from(EPOCHS))
runs = st.lists(st.sets(places, min_size=1, max_size=3), min_size=1, max_size=12).map(
    lambda found: [backup(at, *epochs) for at, epochs in enumerate(found, start=1)]
)


@bounded(max_examples=50, deadline=None)
@given(runs, st.integers(1, 12))
def test_whatever_was_made_the_end_of_every_log_stays(made, keep):
    assert not something_is_lost(pruning.needless, made, keep)
    assert len(made) - len(pruning.needless(made, keep=keep)) >= min(keep, len(made))


def test_the_same_question_catches_a_rule_by_number_alone():
    made = [backup(1, ("north", "one")), backup(2, ("north", "two"))]
    assert something_is_lost(needless_by_number_alone, made, 1)


@pytest.fixture
def some(make, chair, clock):
    """Make so many backups with a note before each; return their folders, the oldest first."""
    _, note = chair

    def made(count: int) -> list[Path]:
        found = []
        for _ in range(count):
            clock.advance(60)
            note("one more")
            found.append(Path(make()["path"]))
        return found

    return made


def prune(practice, clock, folder: Path, keep: int) -> list[Path]:
    return pruning.prune(practice.house.engine, clock, folder=folder, keep=keep)


@both
def test_what_is_left_holds_and_is_counted_on(practice, clock, some, tmp_path):
    made = some(3)
    folder, inside = tmp_path / "backups", durable(practice)
    # Not ours: another server's, a person's own files, one that this database does not know.
    strange = folder / "dosebook-20200101T000000Z-aaaa"
    strange.mkdir()
    (strange / manifest.NAME).write_text('{"format": "dosebook-backup-1", "backup_id": "x"}')
    (folder / "letters").mkdir()
    assert prune(practice, clock, folder, 1) == made[:2]
    assert sorted(each.name for each in folder.iterdir() if each.is_dir()) == sorted(
        [strange.name, "letters", made[2].name]
    )
    checking.check(made[2])
    assert durable(practice) == inside
    assert [each["place"] for each in tries(practice)] == [str(made[2])]


def test_a_backup_elsewhere_is_neither_counted_nor_touched(practice, clock, some, tmp_path):
    made = some(2)
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    made[0].rename(elsewhere / made[0].name)
    assert prune(practice, clock, tmp_path / "backups", 1) == []
    assert prune(practice, clock, elsewhere, 1) == []
    assert (elsewhere / made[0].name).is_dir()


def test_none_is_refused_and_two_at_once_are_too(practice, clock, some, tmp_path):
    some(1)
    with pytest.raises(BadInput):
        prune(practice, clock, tmp_path / "backups", 0)
    with making.alone(tmp_path / "backups"), pytest.raises(Conflict):
        prune(practice, clock, tmp_path / "backups", 1)


def test_old_failures_leave_the_list(practice, clock, some, tmp_path):
    [made] = some(1)
    with write(practice.house.engine) as connection:
        for days in (91, 89):
            backups.note_failed(
                connection,
                practice.location_id,
                backup_id=f"failed {days} days ago",
                place="nowhere",
                made_at=rfc3339(clock.now() - timedelta(days=days)),
                problem="backup_not_written",
            )
    prune(practice, clock, tmp_path / "backups", 1)
    with read(practice.house.engine) as connection:
        left = [
            each["backup_id"] for each in backups.latest(connection, practice.location_id, limit=9)
        ]
    assert set(left) == {"failed 89 days ago", manifest.backup_id(made)}


def test_the_worker_keeps_as_many_as_it_is_told(
    settings, practice, clock, recovery_words, tmp_path
):
    folder = tmp_path / "backups"
    timed = replace(settings, backups_dir=folder, backup_hours=12, backups_kept=2)
    timer = Timer(timed, practice.house.engine, clock)
    for _ in range(4):
        assert timer.tick()
        clock.advance(12 * 3600)
    assert len([each for each in folder.iterdir() if each.is_dir()]) == 2
    # One that fails removes nothing: what is there may be all there is.
    keys.place(timed).unlink()
    assert not timer.tick()
    assert len([each for each in folder.iterdir() if each.is_dir()]) == 2


def test_a_clock_that_was_ahead_for_a_while_costs_no_backup(
    settings, practice, clock, recovery_words, tmp_path
):
    folder = tmp_path / "backups"
    timed = replace(settings, backups_dir=folder, backup_hours=12, backups_kept=2)
    timer = Timer(timed, practice.house.engine, clock)
    year_s = 365 * 24 * 3600
    clock.advance(year_s)
    for _ in range(2):
        assert timer.tick()
        clock.advance(12 * 3600)
    clock.advance(-year_s)
    assert making.age_of_oldest(practice.house.engine, clock.now()) is None
    # It is not put off for a year, and what it makes is not thrown away as the oldest.
    assert timer.tick()
    assert not timer.tick()
    assert [*folder.glob(f"dosebook-{clock.now():%Y%m%dT%H%M%SZ}-*")]
    clock.advance(3600)
    assert making.age_of_oldest(practice.house.engine, clock.now()) == timedelta(hours=1)
