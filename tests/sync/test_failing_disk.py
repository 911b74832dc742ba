"""A database that fails: nothing acknowledged is lost, and it goes on when it can."""

from api.audit.verify import verify_log
from api.storage.engine import DBAPIError, write
from tests.sync.test_push import log, outcomes


def test_one_event_that_the_database_refuses_is_asked_for_again(world):
    tablet = world.tablet()
    items = [tablet.make(entity_id=entity_id) for entity_id in ("a", "cursed", "b")]
    with write(world.engine) as connection:
        connection.exec_driver_sql(
            "CREATE TRIGGER curse BEFORE INSERT ON event WHEN NEW.entity_id = 'cursed'"
            " BEGIN SELECT RAISE(ABORT, 'cursed'); END"
        )
    assert outcomes(tablet.push(*items)) == ["applied", "retry", "retry"]
    assert len(log(world)) == 2
    with write(world.engine) as connection:
        connection.exec_driver_sql("DROP TRIGGER curse")
    assert outcomes(tablet.push(*items)) == ["duplicate", "applied", "applied"]


def causes(problem):
    """Return the messages of an error and of those that it came from."""
    found = []
    while problem is not None:
        found.append(str(problem))
        problem = problem.__cause__ or problem.__context__
    return " ".join(found)


class Patient:
    """A tablet that holds for saved what the server said it has, and sends the rest again."""

    def __init__(self, writer):
        self.writer = writer
        self.saved, self.waiting = [], []

    def record(self, payload):
        self.waiting.append(self.writer.make(payload=payload))

    def send(self):
        """Send what waits; return what went wrong with it on the server, if anything did."""
        try:
            results = self.writer.push(*self.waiting)
        except DBAPIError as problem:
            self.refused()
            return problem
        assert set(outcomes(results)) <= {"applied"}
        self.take_for_saved()
        return None

    def refused(self):
        """Keep what waits."""

    def take_for_saved(self):
        self.saved += [item["event_id"] for item in self.waiting]
        self.waiting = []


class Hasty(Patient):
    """The known-bad one: it takes a refusal for a yes."""

    def refused(self):
        self.take_for_saved()


def lost(world, tablet):
    """Fill the file and make room again; return what the tablet took for saved and is not there."""
    with world.engine.connect() as connection:
        pages = connection.exec_driver_sql("PRAGMA page_count").scalar()
        connection.exec_driver_sql(f"PRAGMA max_page_count = {pages + 40}")
    acknowledged, refusal = [], None
    for _ in range(100):
        tablet.record({"text": "x" * 8000})
        refusal = tablet.send()
        if refusal is not None:
            break
        acknowledged = list(tablet.saved)
    # A full disk makes SQLite undo the whole transaction by itself, savepoints included.
    assert "database or disk is full" in causes(refusal)
    assert acknowledged
    assert [row["event_id"] for row in log(world)[1:]] == acknowledged
    with world.engine.connect() as connection:
        connection.exec_driver_sql("PRAGMA max_page_count = 1000000")
    assert tablet.waiting == [] or tablet.send() is None
    assert verify_log(world.engine)["first_bad"] is None
    there = [row["event_id"] for row in log(world)[1:]]
    assert len(there) == len(set(there))
    return [event_id for event_id in tablet.saved if event_id not in there]


def test_a_full_disk_acknowledges_nothing_that_is_not_there(world):
    tablet = Patient(world.tablet())
    assert lost(world, tablet) == []
    assert tablet.waiting == []


def test_the_same_full_disk_catches_a_tablet_that_believes_a_refusal(world):
    assert len(lost(world, Hasty(world.tablet()))) == 1
