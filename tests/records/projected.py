"""A log in a list, projected into a migrated database."""

from api.records import lists, project
from api.records.order import content_hash
from api.storage import documents, jobs, readers, record_index
from tests.records import fold_vectors as vectors

LOCATION = "loc"
WHO = {"location_id": LOCATION, "actor_id": "front"}


class Log:
    """Hands the events of the vectors to the projector, one by one, as the log would."""

    def __init__(self, connection, clock, monkeypatch):
        self.connection = connection
        self.now = clock.now()
        self.entries = []
        # The log itself has its own tests; here its reader is a list.
        monkeypatch.setattr(
            readers, "entries_of_records", lambda *_, **__: {"rec": list(self.entries)}
        )

    def enter(self, event, *, received_at="2026-11-25T09:10:00.000+00:00"):
        entry = {
            **event,
            "position": len(self.entries) + 1,
            "received_at": received_at,
            "verdict": "applied",
            "location_id": LOCATION,
            "event_id": event["body"]["event_id"],
        }
        self.entries.append(entry)
        project.project(self.connection, entry)

    def enter_all(self, *names, **more):
        for name in names:
            self.enter(vectors.event(name), **more)

    def sign(self, name="sign", **changes):
        event = vectors.event(name)
        covered = content_hash(self.entries)
        payload = {**event["payload"], "content_hash": covered, **changes}
        self.enter({**event, "payload": payload})

    @property
    def record(self):
        return documents.get(self.connection, LOCATION, "record", "rec")

    @property
    def codes(self):
        return [one["code"] for one in self.record["flags"]]

    def jobs(self):
        return sorted(
            (job["kind"], job["version"])
            for job in jobs.of_record(self.connection, LOCATION, "rec")
        )


def search(log, **wanted):
    """Search the records that ``log`` has projected."""
    return lists.search(log.connection, **WHO, now=log.now, wanted=record_index.Wanted(**wanted))
