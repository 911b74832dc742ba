"""The tablet's own program, as it runs in a browser, against the real server over a socket.

Its modules run under vitest with an IndexedDB in memory; everything else is real: enrolment,
tokens, PIN, push with a reply that gets lost, pull with the recomputed chain.
"""

import os
import subprocess
import threading
from pathlib import Path

import pytest
from werkzeug.serving import make_server

from api.audit.verify import verify_log
from api.storage import readers
from api.storage.engine import read
from tests.web.practice import PIN, Practice

PWA = Path(__file__).resolve().parents[2] / "pwa"
NOTES = 60


@pytest.fixture
def address(app):
    """Where the application answers, on a loopback port of its own."""
    server = make_server("127.0.0.1", 0, app, threaded=True)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}"
    server.shutdown()
    thread.join()
    server.server_close()


def test_the_tablets_program_keeps_its_promises_against_the_real_server(app, clock, address):
    practice = Practice(app, clock, roles=("clinician",))
    other = practice.tablet("clinician")
    record_id = practice.signed_record(other)
    other.push()
    dentist = practice.people["clinician"]
    facts = {
        "DOSEBOOK_URL": address,
        "DOSEBOOK_CODE": practice.code(),
        "DOSEBOOK_PERSON": dentist,
        "DOSEBOOK_PIN": PIN,
        "DOSEBOOK_RECORD": record_id,
        "DOSEBOOK_NOW_MS": str(int(clock.now().timestamp() * 1000)),
    }
    vitest = PWA / "node_modules" / ".bin" / "vitest"
    done = subprocess.run(
        [vitest, "run", "--config", "tests/live/vitest.config.ts", "tests/live/tablet.live.ts"],
        cwd=PWA,
        env={**os.environ, **facts, "NO_COLOR": "1"},
        capture_output=True,
        text=True,
        timeout=300,
    )
    assert done.returncode == 0, done.stdout + done.stderr

    engine = app.extensions["dosebook"].engine
    with read(engine) as connection:
        entries = readers.entries_after(connection, practice.location_id, 0, limit=1_000)
    notes = [entry for entry in entries if entry["body"]["type"] == "procedure.noted"]
    # Each once, in order, with the characters that two languages write differently.
    assert [entry["payload"]["text"] for entry in notes] == [
        f'note {number} \u00e9 \u2028 \U0001f600 "' for number in range(NOTES)
    ]
    assert [entry["body"]["tablet_seq"] for entry in notes] == list(range(1, NOTES + 1))
    assert verify_log(engine)["ok"]
