"""200,000 events: the server's memory and handles stay flat, and the log verifies within bounds.

What is looked for grows with the number of events; how fast the machine is does not matter. The
bounds are this project's own choice: 100 bytes for each event would be 20 MB in the whole run,
where the events themselves are some 1,500 bytes each and a leak of any one of them is seen.
"""

import gc
import itertools
import json
import os
import pty
import re
import subprocess
import sys
import termios
import threading
from pathlib import Path
from statistics import linear_regression

import pytest
from sqlalchemy import make_url

from api.storage.engine import EVERYWHERE, open_engine, write
from tests.faults.served import DOSEBOOK, Served, full_batches, push, served
from tests.postgresql import OWNER

EVENTS, WARM_UP = 200_000, 40_000
GROWTH_BYTES_EACH = 100
BATCH, SAMPLE_EVERY = 50, 4_000
# An event kept as it came is a dictionary with five texts; collecting garbage moves some hundreds.
BLOCKS_EACH = 2
VERIFY_GROWTH_BYTES = 48 * 1024 * 1024


def measure(house: Served, events: int, warm_up: int) -> dict:
    """Push so many events; return what the serving process had after warming up and at the end."""
    tablet, worker = house.tablet(), house.worker()

    def now() -> tuple[int, int]:
        return worker.memory_info().rss, worker.num_fds()

    batches, samples = full_batches(tablet), {0: now()}
    for done in range(BATCH, events + 1, BATCH):
        push(tablet, next(batches))
        if done in (warm_up, events) or done % SAMPLE_EVERY == 0:
            samples[done] = now()
    warm = {done: sample for done, sample in samples.items() if done >= warm_up}
    return {
        "rss_mb": {done: round(rss / 2**20, 1) for done, (rss, _) in samples.items()},
        "handles": {done: fds for done, (_, fds) in samples.items()},
        # The slope of a straight line through all samples: no single one decides.
        "bytes_each": linear_regression(list(warm), [rss for rss, _ in warm.values()]).slope,
        "more_handles": samples[events][1] - samples[warm_up][1],
    }


@pytest.fixture(scope="module", params=["sqlite", "postgresql"])
def filled(request, postgresql_server, tmp_path_factory):
    """A server that has taken 200,000 events from one tablet, and what it had meanwhile."""
    folder = tmp_path_factory.mktemp("filled")
    with served(request.param, folder, postgresql_server) as house:
        yield house, measure(house, EVENTS, WARM_UP)


@pytest.mark.long
def test_memory_and_handles_stay_flat(filled):
    _, found = filled
    print(json.dumps(found))
    assert found["bytes_each"] < GROWTH_BYTES_EACH
    # A connection or two of the pool may open late.
    assert found["more_handles"] <= 4


@pytest.mark.long
def test_the_same_measure_catches_a_server_that_keeps_requests(tmp_path):
    with served("sqlite", tmp_path, None, application="tests.faults.leaking:application") as house:
        # As much as would be seen beside what the allocator gives back meanwhile.
        found = measure(house, EVENTS // 5, WARM_UP // 5)
    assert found["bytes_each"] > GROWTH_BYTES_EACH
    assert found["more_handles"] > 100


def blocks_each(app_client, tablet, batches: int) -> float:
    """Return how many blocks of memory stay for each event pushed."""
    made = list(itertools.islice(full_batches(tablet), 2 * batches))
    for items in made[:batches]:
        push(tablet, items)
    gc.collect()
    before = sys.getallocatedblocks()
    for items in made[batches:]:
        push(tablet, items)
    gc.collect()
    return (sys.getallocatedblocks() - before) / (batches * BATCH)


@pytest.fixture
def pushing(app, clock, client):
    """A tablet of a practice in this process, with somebody signed in without a PIN's cost."""
    from tests.web.practice import Practice

    practice = Practice(app, clock, roles=("clinician",))
    tablet = practice.tablet()
    tablet.person = {"person_id": practice.people["clinician"]}
    return tablet


def test_nothing_stays_of_an_event_that_was_taken(app, pushing):
    """The short form, in one process, by the blocks of memory that are in use afterwards."""
    assert blocks_each(app, pushing, 6) < BLOCKS_EACH


def test_the_short_form_catches_what_is_kept_of_each(app, pushing, monkeypatch):
    from api.sync import push as push_module

    kept: list[object] = []
    real = push_module.push

    def keeping(*arguments, **more):
        kept.extend(json.loads(json.dumps(more["request"]["items"])))
        return real(*arguments, **more)

    monkeypatch.setattr(push_module, "push", keeping)
    assert blocks_each(app, pushing, 6) > BLOCKS_EACH


def verify(house: Served, *, on_terminal: bool = False) -> tuple[int, str, int]:
    """Run ``dosebook log verify``; return (exit code, what it said, most memory it had [bytes])."""
    command = [DOSEBOOK, "log", "verify"]
    if not on_terminal:
        run = subprocess.Popen(
            command,
            env=house.environment,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
        )
        said, peak = _until_over(run, run.stdout.fileno())
        return run.wait(), said, peak
    ours, theirs = pty.openpty()
    # A new one has no width, and a bar without room is not drawn.
    termios.tcsetwinsize(theirs, (24, 100))
    run = subprocess.Popen(command, env=house.environment, stdout=theirs, stderr=theirs)
    os.close(theirs)
    said, peak = _until_over(run, ours)
    os.close(ours)
    return run.wait(), said, peak


def _until_over(run: subprocess.Popen, file: int) -> tuple[str, int]:
    """Read what a program writes, and the highest mark of its memory as long as it runs."""
    peak, said = 0, b""
    over = threading.Event()

    def watch() -> None:
        nonlocal peak
        while not over.is_set():
            try:
                told = Path(f"/proc/{run.pid}/status").read_text()
            except OSError:
                return
            mark = re.search(r"VmHWM:\s+(\d+) kB", told)
            peak = max(peak, int(mark[1]) * 1024 if mark else 0)
            over.wait(0.05)

    watching = threading.Thread(target=watch)
    watching.start()
    while True:
        try:
            part = os.read(file, 65536)
        except OSError:
            break
        if not part:
            break
        said += part
    over.set()
    watching.join()
    return said.decode(), peak


def spoil(house: Served, position: int) -> None:
    """Change one letter of one payload, as whoever owns the tables could."""
    url = make_url(house.settings.database_url)
    postgresql = url.get_backend_name() == "postgresql"
    if postgresql:
        url = url.set(username=OWNER)
    owner = open_engine(url.render_as_string(hide_password=False), reach=EVERYWHERE, as_owner=True)
    with write(owner) as connection:
        if postgresql:
            connection.exec_driver_sql("ALTER TABLE payload DISABLE TRIGGER USER")
        else:
            connection.exec_driver_sql("DROP TRIGGER payload_no_update")
        changed = connection.exec_driver_sql(
            "UPDATE payload SET payload = replace(payload, 'note', 'nute') WHERE event_id ="
            f" (SELECT event_id FROM event WHERE position = {position:d})"
        )
        assert changed.rowcount == 1
    owner.dispose()


@pytest.mark.long
def test_a_log_of_200_000_verifies_and_names_the_first_fault(filled, tmp_path):
    house, _ = filled
    with served("sqlite", tmp_path, None) as small:
        _, _, few = verify(small)
    code, said, peak = verify(house)
    entries = int(re.search(r"(\d+) entries hold", said)[1])
    print(f"verify: {entries} entries, {peak / 2**20:.0f} MB at most, {few / 2**20:.0f} MB on few")
    assert code == 0
    assert entries > EVENTS
    assert peak - few < VERIFY_GROWTH_BYTES
    # A bar for people: it says how many of how many, and moves.
    code, said, _ = verify(house, on_terminal=True)
    shown = [int(each) for each in re.findall(r"(\d+)/\d+ ", said)]
    assert code == 0
    assert len(set(shown)) > 3
    assert shown == sorted(shown)
    assert f"{entries}/{entries}" in said
    spoil(house, 150_001)
    code, said, _ = verify(house)
    assert code == 1
    assert "position 150001 does not hold (payload_hash)" in said


@pytest.mark.long
def test_the_same_bound_catches_a_verify_that_holds_the_log_in_memory(filled):
    house, _ = filled
    greedy = (
        "import sys; from api.settings import Settings; from api.storage import readers;"
        "from api.storage.engine import EVERYWHERE, open_engine, read;"
        "engine = open_engine(Settings.from_env().database_url, reach=EVERYWHERE);\n"
        "with read(engine) as connection:\n"
        "    readers.stored_after(connection, sys.argv[1], 0, limit=10**6)\n"
    )
    run = subprocess.Popen(
        [sys.executable, "-c", greedy, house.practice.location_id],
        env=house.environment,
        stdout=subprocess.PIPE,
    )
    _, peak = _until_over(run, run.stdout.fileno())
    assert run.wait() == 0
    assert peak > 3 * VERIFY_GROWTH_BYTES
