"""A batch's way into the log: what is new is judged and appended, what is not is compared.

Nearly every batch is what its tablet wrote next, all of it new: that is put in first, and only if
the database knows better is it looked into. The whole batch is then tried together; only if that
fails too is each event tried by itself, so that one that cannot be projected does not hold up the
others for ever.
"""

import logging
import traceback
from collections import Counter
from collections.abc import Mapping, Sequence

from api.events import catalogue
from api.storage import access, event_store
from api.storage.engine import (
    Connection,
    DataError,
    DBAPIError,
    IntegrityError,
    savepoint,
)
from api.sync import judge, protocol
from api.sync.ahead import Ahead
from api.sync.protocol import Item

LOG = logging.getLogger("dosebook.sync")


class Intake:
    """One request's way into the log, inside its transaction.

    ``next_seq`` and ``revoked_count`` are the tablet's as they stand after ``take``.
    """

    def __init__(
        self,
        connection: Connection,
        tablet: Mapping,
        ahead: Ahead,
        projectors: judge.Projectors,
        authorise: judge.Authorise,
    ) -> None:
        self.ahead = ahead
        self.connection = connection
        self.tablet = tablet
        self.project = judge.project_with(projectors, ahead.foreseen)
        self.authorise = authorise
        self.next_seq = tablet["next_seq"]
        self.revoked_count = tablet["pushed_after_revoked"]

    def take(self, items: Sequence[Item]) -> list[dict]:
        """Return a result for each item."""
        results = self._attempt(items)
        return self._one_by_one(items) if results is None else results

    def take_unseen(self, items: Sequence[Item]) -> list[dict]:
        """Do as :meth:`take` does, without looking first whether the log has any of it.

        Whatever is raised but what :func:`is_lost`, here or by the end of the transaction, says
        that this came to nothing: the database refused a key that it has, or anything else went
        wrong. The caller undoes the transaction and takes the batch anew.
        """
        if [item.tablet_seq for item in items] != [
            *range(self.next_seq, self.next_seq + len(items))
        ]:
            # It sends again what may have come before.
            return self.take(items)
        return self._taken(_Run(self, items, project=True, all_new=True))

    def _attempt(self, items: Sequence[Item], *, project: bool = True) -> list[dict] | None:
        """Take ``items`` together; None, with nothing done, when anything went wrong."""
        try:
            with savepoint(self.connection):
                run = _Run(self, items, project=project)
        except Exception as problem:
            if is_lost(problem):
                raise
            # Where it went wrong, but not the message, which may quote a payload.
            LOG.error(
                "%d event(s) could not be taken: %s\n%s",
                len(items),
                type(problem).__name__,
                "".join(traceback.format_tb(problem.__traceback__)),
            )
            return None
        return self._taken(run)

    def _taken(self, run: "_Run") -> list[dict]:
        self.next_seq = run.next_seq
        if self.tablet["revoked_at"] is not None or self.tablet["unconfirmed"]:
            self.revoked_count += run.appended_count
        return run.results()

    def _one_by_one(self, items: Sequence[Item]) -> list[dict]:
        results: list[dict] = []
        for index, item in enumerate(items):
            # What cannot be projected is kept aside: refusing it would leave it at the head of
            # the tablet's queue, with everything written after it stuck behind.
            outcome = self._attempt([item]) or self._attempt([item], project=False)
            if outcome is None:
                results.extend(_result(each, protocol.RETRY) for each in items[index:])
                break
            results.extend(outcome)
            if outcome[0]["outcome"] in (protocol.FORK, protocol.ID_REUSE):
                results.extend(_result(each, protocol.RETRY) for each in items[index + 1 :])
                break
        return results


class _Run:
    """Items taken together: what is new is judged and appended, what is not is compared."""

    def __init__(
        self, intake: Intake, items: Sequence[Item], *, project: bool, all_new: bool = False
    ) -> None:
        self.intake = intake
        self.connection = intake.connection
        self.tablet = intake.tablet
        self.next_seq = intake.next_seq
        self.can_project = project
        self.appended_count = 0
        self.touched: Counter[tuple] = Counter()
        self.types: dict[tuple, set[str]] = {}
        self.waiting: list[event_store.NewEntry] = []
        self.by_id: dict[str, dict] = {}
        self.by_seq: dict[int, dict] = {}
        if not all_new:
            self._look_up(items)
        stopped = False
        self._decided = []
        for item in items:
            decided = (item, protocol.RETRY, {}) if stopped else self._decide(item)
            stopped = stopped or decided[1] in (protocol.FORK, protocol.ID_REUSE)
            self._decided.append(decided)
        self._flush()
        self._note_access()

    def results(self) -> list[dict]:
        """Return the results, with the positions that are known by now."""
        return [_result(item, outcome, facts) for item, outcome, facts in self._decided]

    def _look_up(self, items: Sequence[Item]) -> None:
        for stored in event_store.find_stored(
            self.connection,
            self.tablet["location_id"],
            self.tablet["tablet_id"],
            event_ids=[item.event_id for item in items],
            seqs=[item.tablet_seq for item in items],
        ):
            self._remember(stored)

    def _remember(self, stored: dict) -> None:
        self.by_id[stored["event_id"]] = stored
        if stored["tablet_id"] == self.tablet["tablet_id"]:
            self.by_seq[stored["tablet_seq"]] = stored

    def _decide(self, item: Item) -> tuple[Item, str, dict]:
        stored = self.by_id.get(item.event_id)
        if stored is not None:
            if not self._is_same(item, stored):
                return item, protocol.ID_REUSE, {}
            if stored["tablet_id"] != self.tablet["tablet_id"]:
                # It came under the earlier enrolment after all: its number is taken by it.
                self.next_seq = max(self.next_seq, item.tablet_seq + 1)
            return item, protocol.DUPLICATE, stored
        if item.tablet_seq in self.by_seq or item.tablet_seq < self.next_seq:
            return item, protocol.FORK, {"reason": "seq_reused"}
        if item.tablet_seq > self.next_seq:
            return item, protocol.GAP, {"expected_seq": self.next_seq}
        if not self.intake.ahead.is_signed(item, self.tablet["public_key"]):
            return item, protocol.FORK, {"reason": "signature"}
        return self._accept(item)

    def _accept(self, item: Item) -> tuple[Item, str, dict]:
        parsed = self.intake.ahead.parsed(item)
        house = judge.depends_on_house(parsed)
        if house:
            self._flush()
            event_store.lock_log(self.connection, self.tablet["location_id"])
        if self.can_project:
            judged = judge.judge(
                self.connection,
                item,
                parsed,
                tablet=self.tablet,
                authorise=self.intake.authorise,
            )
        else:
            judged = judge.Judged(protocol.QUARANTINED, "not_projectable")
        entry = judge.new_entry(item, parsed, judged, tablet_id=self.tablet["tablet_id"])
        self.waiting.append(entry)
        self.next_seq += 1
        stored = {
            "event_id": item.event_id,
            "tablet_id": self.tablet["tablet_id"],
            "tablet_seq": item.tablet_seq,
            "body": item.body,
            "salt": item.salt,
            "payload": item.payload,
            "verdict": judged.verdict,
            "reason": judged.reason,
            "current": judged.current,
        }
        self._remember(stored)
        if house:
            # The next verdict may depend on what this event changed: rights, a version.
            self._flush()
        return item, judged.verdict, stored

    def _is_same(self, item: Item, stored: Mapping) -> bool:
        if stored["tablet_id"] not in (self.tablet["tablet_id"], *self.tablet["earlier"]):
            return False
        mine = (item.tablet_seq, item.body)
        theirs = (stored["tablet_seq"], stored["body"])
        # An erased payload is compared no more; the body holds its hash.
        erased = stored["payload"] is None
        same_payload = (item.payload, item.salt) == (stored["payload"], stored["salt"])
        return mine == theirs and (erased or same_payload)

    def _flush(self) -> None:
        appended = event_store.append(
            self.connection,
            self.tablet["location_id"],
            self.waiting,
            received_at=self.intake.ahead.received_at,
            project=self.intake.project,
        )
        self.waiting = []
        self.appended_count += len(appended)
        for entry in appended:
            self.by_id[entry["event_id"]]["position"] = entry["position"]
            if entry["verdict"] != protocol.QUARANTINED:
                body = entry["body"]
                kind = catalogue.EVENT_TYPES[body["type"]].subject
                about = (body["actor_id"], kind, body["entity_id"])
                self.touched[about] += 1
                self.types.setdefault(about, set()).add(body["type"])

    def _note_access(self) -> None:
        access.note_changes(
            self.connection,
            location_id=self.tablet["location_id"],
            at=self.intake.ahead.received_at,
            tablet_id=self.tablet["tablet_id"],
            changes=[
                (*about, {"events": count, "types": sorted(self.types[about])})
                for about, count in self.touched.items()
            ],
        )


_FACTS = {
    protocol.APPLIED: ("position",),
    protocol.DUPLICATE: ("position", "verdict", "reason"),
    protocol.CONFLICT: ("position", "reason", "current"),
    protocol.QUARANTINED: ("position", "reason"),
    protocol.GAP: ("expected_seq",),
    protocol.FORK: ("reason",),
}


def _result(item: Item, outcome: str, facts: Mapping | None = None) -> dict:
    result = {"event_id": item.event_id, "tablet_seq": item.tablet_seq, "outcome": outcome}
    for name in _FACTS.get(outcome, ()):
        if name == "reason" and (facts or {}).get(name) is None:
            continue
        result[name] = (facts or {})[name]
    return result


def is_lost(problem: Exception) -> bool:
    """Say whether the database itself failed, so that trying on would only make it worse."""
    refused = (IntegrityError, DataError)
    return isinstance(problem, DBAPIError) and not isinstance(problem, refused)
