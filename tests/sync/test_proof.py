"""The proof of one record holds by a hash function and the server's key alone, or says where not.

Reference: hashlib and OpenSSL's own command line, by the rule for links (SHA-256 over the label,
the link before, SHA-256 of the header and of the body) and FIPS 186-5 for ECDSA, in the DER form
of RFC 3279 that OpenSSL reads; none of the program's own checking is asked.
"""

import base64
import hashlib
import json
import subprocess

import pytest

from api import cli
from api.audit import proof, proof_check
from api.audit.proof_check import check
from api.errors import BadInput, NotFound
from api.events import signing
from api.people import certificates
from api.storage import renderings
from api.storage.engine import read, write
from tests.sync.world import World

PAPER = b"%PDF-1.7 a paper"


@pytest.fixture(scope="module")
def told(tmp_path_factory):
    """A record of five entries by a tablet and a desk, among those of another record."""
    world = World(tmp_path_factory.mktemp("proof"))
    tablet = world.tablet()
    other = world.new_id()
    with write(world.engine) as connection:
        certificate = certificates.issue(
            world.server_key,
            tablet_id=tablet.tablet_id,
            location_id=world.location_id,
            public_key=signing.public_key_text(tablet.key),
            now=world.clock.now(),
        )
        connection.exec_driver_sql(
            "UPDATE tablet SET certificate = ? WHERE tablet_id = ?",
            (json.dumps(certificate), tablet.tablet_id),
        )
        renderings.put(
            connection,
            world.location_id,
            world.record_id,
            1,
            "pdf",
            PAPER,
            made_at=world.clock.now(),
        )
    tablet.push(*[tablet.make() for _ in range(2)])
    tablet.push(tablet.make(entity_id=other), tablet.make(payload={"text": "zwölf Watt"}))
    world.append_as_desk("key-1")
    tablet.push(tablet.make(entity_id=other), tablet.make(), tablet.make(entity_id=other))
    yield world
    world.close()


def made(world, **more):
    with read(world.engine) as connection:
        return proof.prove(
            connection,
            world.server_key,
            world.clock,
            location_id=world.location_id,
            record_id=world.record_id,
            **more,
        )


def by_hand(found) -> int:
    """Follow a proof's links with hashlib only; return the entries that are the record's own."""
    own = 0
    for run in found["runs"]:
        link = bytes.fromhex(run["after"]["link"])
        for entry in run["entries"]:
            if "header" in entry:
                own += 1
                assert hashlib.sha256(entry["header"].encode()).hexdigest() == entry["header_hash"]
                assert hashlib.sha256(entry["body"].encode()).hexdigest() == entry["body_hash"]
            link = hashlib.sha256(
                b"dosebook-link-1"
                + link
                + bytes.fromhex(entry["header_hash"])
                + bytes.fromhex(entry["body_hash"])
            ).digest()
        assert json.loads(run["head"]["text"])["link"] == link.hex()
    return own


def openssl_says_signed(folder, public_key: str, text: str, signature: str) -> bool:
    """Ask OpenSSL whether ``signature`` (r and s, 32 bytes each) over ``text`` is the key's."""

    def raw(value: str) -> bytes:
        return base64.urlsafe_b64decode(value + "=" * (-len(value) % 4))

    def integer(half: bytes) -> bytes:
        # DER: no needless zeros, one where the number would else count as negative.
        short = half.lstrip(b"\0") or b"\0"
        short = b"\0" + short if short[0] & 0x80 else short
        return b"\x02" + bytes([len(short)]) + short

    both = integer(raw(signature)[:32]) + integer(raw(signature)[32:])
    (folder / "signature").write_bytes(b"\x30" + bytes([len(both)]) + both)
    (folder / "key").write_bytes(raw(public_key))
    (folder / "text").write_text(text, encoding="utf-8")
    done = subprocess.run(
        [
            *("openssl", "dgst", "-sha256", "-keyform", "DER"),
            *("-verify", "key", "-signature", "signature", "text"),
        ],
        cwd=folder,
        capture_output=True,
        text=True,
    )
    return done.stdout.strip() == "Verified OK"


def test_it_holds_by_hashlib_and_openssl(told, tmp_path):
    found = made(told)
    assert by_hand(found) == 5
    key = found["server_public_key"]
    for signed in [run["head"] for run in found["runs"]] + [found["papers"]]:
        assert openssl_says_signed(tmp_path, key, signed["text"], signed["signature"])
        # The known-bad one: another text under the same signature.
        assert not openssl_says_signed(tmp_path, key, signed["text"] + " ", signed["signature"])
    writers = {each["tablet_id"]: each for each in found["writers"]}
    for entry in [each for run in found["runs"] for each in run["entries"] if "header" in each]:
        by = writers[entry["tablet_id"]]["public_key"]
        signature = json.loads(entry["header"])["signature"]
        assert openssl_says_signed(tmp_path, by, entry["body"], signature)


def test_it_holds_by_the_checker_which_counts_what_it_saw(told):
    report = check(made(told), server_key=signing.public_key_text(told.server_key))
    assert (report["holds"], report["reason"]) == (True, None)
    assert len(report["entries"]) == report["signed"] == report["certified"] == 5
    assert (report["payloads"], report["key_given"], report["runs"]) == (0, True, 1)
    assert [each["position"] for each in report["entries"]] == [2, 3, 5, 6, 8]


def test_without_payloads_it_says_nothing_that_was_recorded(told):
    text = json.dumps(made(told), ensure_ascii=False)
    assert "zwölf" not in text and "from a desk" not in text
    whole = made(told, payloads=True)
    assert "zwölf Watt" in json.dumps(whole, ensure_ascii=False)
    assert check(whole)["payloads"] == 5


def test_up_to_the_head_it_ends_where_the_log_ends(told):
    found = made(told, to_head=True)
    [head] = check(found)["heads"]
    with read(told.engine) as connection:
        row = connection.exec_driver_sql("SELECT position, link FROM location").one()
    assert (head["position"], head["link"]) == (row[0], row[1].hex()) and row[0] == 9


def test_entries_far_apart_stand_in_runs_of_their_own(told, monkeypatch):
    monkeypatch.setattr(proof, "LONGEST_GAP", 1)
    found = made(told)
    assert [run["after"]["position"] for run in found["runs"]] == [1, 4, 7]
    assert by_hand(found) == 5
    assert check(found)["holds"]
    # Runs in another order would let later entries pass for earlier ones.
    found["runs"].reverse()
    assert check(found)["reason"] == "head"


def test_a_paper_is_known_by_its_bytes(told):
    assert check(made(told), paper=PAPER)["paper"]["version"] == 1
    report = check(made(told), paper=PAPER + b" ")
    assert (report["holds"], report["reason"]) == (False, "paper")


def entry_of(found, position):
    return next(e for run in found["runs"] for e in run["entries"] if e["position"] == position)


def again_hashed(entry):
    for name in ("header", "body"):
        entry[f"{name}_hash"] = hashlib.sha256(entry[name].encode()).hexdigest()


def with_header(entry, **values):
    entry["header"] = json.dumps(json.loads(entry["header"]) | values)
    again_hashed(entry)


DAMAGE = {
    "a body changed": (lambda f: entry_of(f, 5).update(body="{}"), 5, "body_hash"),
    "a header changed": (lambda f: entry_of(f, 5).update(header="{}"), 5, "header_hash"),
    "a moment changed, with its hash": (
        lambda f: with_header(entry_of(f, 6), received_at="2026-01-01T00:00:00.000+00:00"),
        6,
        "link",
    ),
    "a verdict changed": (
        lambda f: with_header(entry_of(f, 6), verdict="quarantined"),
        6,
        "header",
    ),
    "an entry of another taken away": (lambda f: f["runs"][0]["entries"].pop(2), 4, "position"),
    "the last entry taken away": (lambda f: f["runs"][0]["entries"].pop(), 7, "head"),
    "a hash between flipped": (lambda f: entry_of(f, 4).update(body_hash="00" * 32), 5, "link"),
    "what comes before changed": (
        lambda f: f["runs"][0]["after"].update(link="11" * 32),
        2,
        "link",
    ),
    "a payload changed": (
        lambda f: entry_of(f, 5).update(payload='{"text":"acht Watt"}'),
        5,
        "payload_hash",
    ),
    "a head changed": (
        lambda f: f["runs"][0]["head"].update(text=f["runs"][0]["head"]["text"] + " "),
        None,
        "head_signature",
    ),
    "a writer's key exchanged": (
        lambda f: f["writers"][0].update(
            public_key=signing.public_key_text(signing.new_private_key())
        ),
        None,
        ("writer", "signature"),
    ),
    "a paper added": (
        lambda f: f["papers"].update(text=f["papers"]["text"].replace("pdf", "txt")),
        None,
        "papers",
    ),
    "another record's name": (lambda f: f.update(record_id="another"), 2, "body"),
}


@pytest.mark.parametrize("what", DAMAGE)
def test_damage_is_found_with_its_position(told, what):
    damage, position, reason = DAMAGE[what]
    found = made(told, payloads=True)
    damage(found)
    report = check(found)
    assert not report["holds"]
    assert report["reason"] in (reason if isinstance(reason, tuple) else (reason,))
    assert position is None or report["position"] == position


def test_a_proof_made_up_by_another_server_needs_the_key_from_elsewhere(told):
    """Whoever has a key of their own makes a proof that holds by itself."""
    real = signing.public_key_text(told.server_key)
    forger = signing.new_private_key()
    forged = json.loads(json.dumps(made(told)).replace(real, signing.public_key_text(forger)))
    for signed in [run["head"] for run in forged["runs"]] + [forged["papers"]]:
        signed["signature"] = signing.sign(forger, signed["text"])
    report = check(forged, server_key=real)
    assert (report["holds"], report["reason"]) == (False, "server_key")
    assert report["fingerprint"] != check(forged)["fingerprint"]


def test_an_entry_that_was_changed_in_the_database_has_no_proof(told):
    with write(told.engine) as connection:
        connection.exec_driver_sql("DROP TRIGGER event_no_update")
        [body] = connection.exec_driver_sql("SELECT body FROM event WHERE position = 5").one()
        connection.exec_driver_sql(
            "UPDATE event SET body = ? WHERE position = 5", (body.replace("test", "tesu"),)
        )
    try:
        report = check(made(told))
        assert (report["position"], report["reason"]) == (5, "body_hash")
    finally:
        with write(told.engine) as connection:
            connection.exec_driver_sql("UPDATE event SET body = ? WHERE position = 5", (body,))


@pytest.mark.parametrize(
    "text", ["", "[]", "{}", '{"kind":"dosebook-proof-1"}', '{"kind":"dosebook-proof-1","runs":5}']
)
def test_what_is_no_proof_is_told_so(text):
    with pytest.raises(BadInput) as refused:
        check(proof_check.read_proof(text))
    assert refused.value.code in ("proof_unreadable", "public_key_unreadable")


def test_a_record_that_is_not_there_has_none(told):
    with read(told.engine) as connection, pytest.raises(NotFound):
        proof.prove(
            connection,
            told.server_key,
            told.clock,
            location_id=told.location_id,
            record_id="nothing",
        )


def test_a_file_is_checked_without_any_setting(told, tmp_path, monkeypatch, capfd):
    for name in ("DOSEBOOK_DATA", "DATABASE_URL"):
        monkeypatch.delenv(name, raising=False)
    file, paper = tmp_path / "proof.json", tmp_path / "paper.pdf"
    file.write_text(json.dumps(made(told)), encoding="utf-8")
    paper.write_bytes(PAPER)
    known = proof_check.fingerprint(signing.public_key_text(told.server_key))
    command = ["log", "check-proof", str(file), "--key", known, "--paper", str(paper)]
    assert cli.main(command) == 0
    out = capfd.readouterr().out
    assert "5 entries hold: 5 signed, 5 by known keys" in out and "version 1" in out
    assert cli.main([*command, "--json"]) == 0
    assert json.loads(capfd.readouterr().out)["key_given"]
    file.write_text(
        file.read_text().replace('\\"verdict\\":\\"applied\\"', '\\"verdict\\":\\"x\\"')
    )
    assert cli.main(command) == 1
    assert "position 2 does not hold (header_hash)" in capfd.readouterr().err
    assert cli.main(["log", "check-proof", str(tmp_path / "none")]) == 2
