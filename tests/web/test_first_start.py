"""The first start: `dosebook user create-admin`, no password anywhere, the server's settings."""

import json

import pytest
import sqlalchemy as sa

from api import cli
from api.backup import keys
from api.errors import BadInput
from api.settings import Settings
from api.storage import tables
from api.storage.engine import open_engine, read
from tests.web.test_sign_in import Browser

PLACE = ("--practice", "Lantern Dental", "--location", "North room", "--zone", "Europe/Lisbon")
WHO = ("--name", "Ida Placeholder", "--initials", "IP")


@pytest.fixture
def command(settings, monkeypatch, capfd):
    """Return a function: arguments -> (exit code, standard output, standard error)."""
    monkeypatch.setenv("DOSEBOOK_DATA", str(settings.data_dir))
    monkeypatch.setenv("PORT", "8090")
    monkeypatch.setenv("DATABASE_URL", settings.database_url)

    def run(*arguments: str) -> tuple[int, str, str]:
        code = cli.main(["user", "create-admin", *arguments])
        return code, *capfd.readouterr()

    return run


def rows(settings, table):
    engine = open_engine(settings.database_url)
    with read(engine) as connection:
        found = connection.execute(sa.select(table)).mappings().all()
    engine.dispose()
    return found


def test_it_makes_the_first_location_and_a_link_but_no_secret(command, settings):
    code, out, err = command(*WHO, *PLACE)
    assert (code, err) == (0, "")
    [link] = [line for line in out.splitlines() if line.startswith("http")]
    assert link.startswith("http://localhost:8090/#/welcome/")
    assert rows(settings, tables.secret) == []
    [kept] = rows(settings, tables.link)
    assert link.rpartition("/")[2] not in str(dict(kept))


def test_the_link_it_prints_sets_the_password(command, app):
    made = json.loads(command(*WHO, *PLACE, "--json")[1])
    # The server's clock stands in this test, and the machine's does not: the link is not over yet.
    browser = Browser(app)
    found = browser.ask("/links/open", {"token": made["token"]})
    assert (found["purpose"], found["practice_name"]) == ("first", "Lantern Dental")
    assert (found["password"], found["pin"]) == ("must", "no")
    new = {"token": made["token"], "sign_in": "ida", "password": "zq7 willow lamp moss"}
    assert browser.ask("/links/use", new) == {"recovery_codes": []}
    browser.sign_in("ida", new["password"])
    session = browser.ask("/session")
    assert session["roles"] == ["administrator"]
    assert session["location"]["name"] == "North room"


def test_it_prints_the_recovery_key_once_where_there_is_none(command, settings, tmp_path):
    made = json.loads(command(*WHO, *PLACE, "--json")[1])
    assert keys.is_right(settings, made["recovery_key"])
    # The words themselves are kept nowhere.
    kept = [one.read_bytes() for one in settings.data_dir.iterdir() if one.is_file()]
    assert not [one for one in kept if made["recovery_key"].split()[0].encode() + b" " in one]
    assert "recovery_key" not in json.loads(command(*WHO, "--json")[1])
    assert "recovery key" not in command(*WHO)[1]


def test_who_reads_what_it_prints_is_told_to_keep_the_recovery_key(command, settings):
    out = command(*WHO, *PLACE)[1]
    words = [line for line in out.splitlines() if line.startswith("  ")]
    assert keys.is_right(settings, " ".join(words))
    assert "paper" in out


def test_nothing_is_made_of_a_recovery_key_where_nobody_is_registered(command, settings):
    assert command(*WHO)[0] == 2
    assert keys.recovery_public(settings) is None


def test_a_further_administrator_joins_the_location_there_is(command, settings):
    command(*WHO, *PLACE)
    assert command(*WHO)[0] == 0
    assert len(rows(settings, tables.location)) == 1
    code, out, err = command(*WHO, *PLACE)
    assert (code, out) == (2, "")
    assert "a location already" in err


@pytest.mark.parametrize(
    ("given", "named"),
    [
        ((), "--name"),
        (WHO, "--practice"),
        ((*WHO, *PLACE[:4]), "--zone"),
        ((*WHO, *PLACE[:5], "Nowhere/Else"), "time zone"),
        (("--name", " ", *WHO[2:], *PLACE), "--name"),
    ],
)
def test_what_is_missing_is_named_and_nothing_is_made(command, settings, given, named):
    code, out, err = command(*given)
    assert (code, out) == (2, "")
    assert named in err
    assert rows(settings, tables.location) == []


@pytest.mark.parametrize(
    "origin",
    [
        "https://192.0.2.1",
        "https://[2001:db8::1]:8443",
        "dose.practice.example",
        "https://dose.practice.example/",
        "ftp://dose.practice.example",
        "https://user@dose.practice.example",
    ],
)
def test_an_origin_that_passkeys_cannot_have_is_refused_at_start(origin):
    with pytest.raises(BadInput, match="DOSEBOOK_ORIGIN"):
        Settings.from_env({"DOSEBOOK_DATA": "/nowhere", "DOSEBOOK_ORIGIN": origin})


def test_settings_of_sign_in():
    env = {
        "DOSEBOOK_DATA": "/nowhere",
        "DOSEBOOK_ORIGIN": "https://dose.practice.example",
        "DOSEBOOK_PROXIES": "1",
    }
    found = Settings.from_env(env)
    assert (found.origin, found.proxies) == ("https://dose.practice.example", 1)
    for name, text in (
        ("DOSEBOOK_PROXIES", "-1"),
        ("DOSEBOOK_PROXIES", "6"),
        ("DOSEBOOK_LIMIT_FACTOR", "0"),
        ("DOSEBOOK_LIMIT_FACTOR", "x"),
    ):
        with pytest.raises(BadInput, match=name):
            Settings.from_env({**env, name: text})
