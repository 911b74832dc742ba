"""What can be used once is used once, also when two ask at the same time."""

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta

import pytest

from api.storage import accounts, event_store
from api.storage.engine import IntegrityError, read, write

pytestmark = pytest.mark.both_databases

NOW = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
LATER = NOW + timedelta(minutes=10)


def at_once(engine, function, count=8):
    """Run ``function`` in as many write transactions at once; return what each returned."""

    def run(_):
        with write(engine) as connection:
            return function(connection)

    with ThreadPoolExecutor(count) as pool:
        return list(pool.map(run, range(count)))


def test_a_code_is_taken_once_and_in_time(engine):
    with write(engine) as connection:
        accounts.add_code(connection, "l", "code", made_by=None, expires_at=LATER)
        accounts.add_code(connection, "l", "old", made_by=None, expires_at=NOW)
    taken = at_once(engine, lambda c: accounts.take_code(c, "code", now=NOW))
    assert [row["location_id"] for row in taken if row] == ["l"]
    with write(engine) as connection:
        assert accounts.take_code(connection, "old", now=NOW) is None
        assert accounts.take_code(connection, "none", now=NOW) is None


def test_a_challenge_is_answered_once_by_the_tablet_it_was_for(engine):
    with write(engine) as connection:
        accounts.add_challenge(connection, "nonce", "t1", expires_at=LATER)
        assert not accounts.take_challenge(connection, "nonce", "t2", now=NOW)
        assert not accounts.take_challenge(connection, "nonce", "t1", now=LATER)
    taken = at_once(engine, lambda c: accounts.take_challenge(c, "nonce", "t1", now=NOW))
    assert sum(taken) == 1


def test_wrong_guesses_are_all_counted(engine):
    counts = at_once(engine, lambda c: accounts.count_wrong(c, "l", "pin", "p"))
    assert sorted(counts) == list(range(1, 9))
    with write(engine) as connection:
        assert accounts.attempts(connection, "l", "pin", "other")["wrong"] == 0
        accounts.lock_attempts(connection, "l", "pin", "p", until=LATER)
        known = accounts.attempts(connection, "l", "pin", "p")
        assert known == {"wrong": 8, "locked_until": "2026-03-02T09:10:00.000+00:00"}
        accounts.clear_attempts(connection, "l", "pin", "p")
        assert accounts.attempts(connection, "l", "pin", "p")["wrong"] == 0


def test_a_token_ends_by_time_by_itself_or_with_its_owner(engine):
    with write(engine) as connection:
        for name, tablet_id, person_id in [("a", "t", None), ("b", "t", "p"), ("c", "u", "p")]:
            accounts.add_token(
                connection,
                "l",
                name,
                kind="person" if person_id else "tablet",
                tablet_id=tablet_id,
                person_id=person_id,
                now=NOW,
                expires_at=LATER,
            )

        def alive(now=NOW):
            return [
                name
                for name, kind in [("a", "tablet"), ("b", "person"), ("c", "person")]
                if accounts.find_token(connection, name, kind=kind, now=now)
            ]

        assert alive() == ["a", "b", "c"]
        assert alive(LATER) == []
        assert accounts.find_token(connection, "a", kind="person", now=NOW) is None
        accounts.touch_token(connection, "a", now=NOW + timedelta(seconds=5))
        found = accounts.find_token(connection, "a", kind="tablet", now=NOW)
        assert found["used_at"] == "2026-03-02T09:00:05.000+00:00"
        accounts.end_tokens(connection, "elsewhere", person_id="p", now=NOW)
        assert alive() == ["a", "b", "c"]
        accounts.end_token(connection, "b", now=NOW)
        assert alive() == ["a", "c"]
        accounts.end_tokens(connection, "l", person_id="p", now=NOW)
        assert alive() == ["a"]
        accounts.end_tokens(connection, "l", tablet_id="t", now=NOW)
        assert alive() == []
        with pytest.raises(ValueError, match="whose"):
            accounts.end_tokens(connection, "l", now=NOW)


def test_secrets_change_one_by_one_and_sign_in_names_are_single(engine):
    with write(engine) as connection:
        accounts.put_secret(connection, "l", "p", now=NOW, sign_in="anna", password_hash="one")
        accounts.put_secret(connection, "l", "p", now=NOW, pin_hash="two")
        known = accounts.secret_by_sign_in(connection, "anna")
        assert (known["person_id"], known["password_hash"], known["pin_hash"]) == (
            "p",
            "one",
            "two",
        )
        assert accounts.secret_of(connection, "elsewhere", "p") is None
        with pytest.raises(ValueError, match="roles"):
            accounts.put_secret(connection, "l", "p", now=NOW, roles="all")
    with pytest.raises(IntegrityError), write(engine) as connection:
        accounts.put_secret(connection, "l", "q", now=NOW, sign_in="anna")


def test_tablets_are_listed_without_the_desk_and_revoked_once(engine):
    with write(engine) as connection:
        event_store.open_location(connection, "l", epoch="e", now=NOW)
        for tablet_id, kind in [("d", accounts.DESK), ("t", accounts.TABLET)]:
            accounts.add_tablet(
                connection,
                "l",
                tablet_id,
                kind=kind,
                label="x",
                public_key="k",
                certificate=None,
                now=NOW,
            )
        assert [row["tablet_id"] for row in accounts.tablets(connection, "l")] == ["t"]
        assert accounts.desk_writer(connection, "l")["tablet_id"] == "d"
        assert accounts.desk_writer(connection, "elsewhere") is None
        assert not accounts.revoke_tablet(connection, "elsewhere", "t", NOW)
        assert not accounts.revoke_tablet(connection, "l", "d", NOW)
        assert accounts.revoke_tablet(connection, "l", "t", NOW)
        assert not accounts.revoke_tablet(connection, "l", "t", LATER)
    with read(engine) as connection:
        known = accounts.tablet_by_id(connection, "t")
    assert known["revoked_at"] == "2026-03-02T09:00:00.000+00:00"
