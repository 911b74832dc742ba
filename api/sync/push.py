"""Push: a tablet's events into the log, each exactly once, each with a result.

One transaction for each request; what happens in it to the events is in ``intake``.
"""

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime, timedelta
from functools import partial

from api.clock import Clock, parse_rfc3339, rfc3339
from api.errors import Conflict, DomainError, NotAllowed
from api.storage import access, accounts, readers, tablet_states
from api.storage.engine import Connection, Engine, again
from api.sync import judge, protocol
from api.sync.ahead import Ahead
from api.sync.intake import Intake, is_lost

REVOKED_MAY_PUSH = timedelta(days=90)
REVOKED_MOST_EVENTS = 500
_TAKEN = (protocol.APPLIED, protocol.DUPLICATE, protocol.CONFLICT, protocol.QUARANTINED)
_ALARMING = (protocol.FORK, protocol.ID_REUSE)


def push(
    engine: Engine,
    clock: Clock,
    *,
    tablet: Mapping,
    request: object,
    projectors: judge.Projectors,
    authorise: judge.Authorise = judge.permit_all,
) -> dict:
    """Take a batch of events of ``tablet``: its row as it was read before, or its ``tablet_id``.

    Returns {results, server_time}: one result for each item in the same order, with outcome
    "applied" {position}, "duplicate" {position, verdict}, "conflict" {position, reason, current},
    "quarantined" {position, reason}, "gap" {expected_seq}, "id_reuse", "fork" or "retry". It
    returns after the commit: what it says is applied is on the disk.

    Raises ``BadInput`` (see ``protocol.read_push``), ``Conflict`` "epoch_changed" when the log
    was restored meanwhile, ``NotAllowed`` when the tablet is unknown or revoked for too long.
    """
    batch = protocol.read_push(request)
    # Before the transaction, which on SQLite keeps every other writer waiting.
    ahead = Ahead(
        batch.items, tablet.get("public_key"), received_at=clock.now(), projectors=projectors
    )

    def take(connection: Connection, *, unseen: bool = False) -> list[dict]:
        row = accounts.lock_tablet(connection, tablet["tablet_id"], now=clock.now())
        if row is None or row["kind"] != accounts.TABLET:
            raise NotAllowed("tablet_unknown", "this tablet is not enrolled here")
        epoch = readers.location_row(connection, row["location_id"])["epoch"]
        if batch.epoch != epoch:
            raise Conflict("epoch_changed", "the log was restored; compare heads", epoch=epoch)
        # What it sends again, because an answer was lost, is not counted a second time.
        new = sum(item.tablet_seq >= row["next_seq"] for item in batch.items)
        _check_revoked(row, clock.now(), new)
        row["earlier"] = tablet_states.earlier(connection, row["replaces"])
        intake = Intake(connection, row, ahead, projectors, authorise)
        results = intake.take_unseen(batch.items) if unseen else intake.take(batch.items)
        accounts.advance_tablet(
            connection,
            row["tablet_id"],
            next_seq=intake.next_seq,
            pushed_after_revoked=intake.revoked_count,
            waiting=_left(batch.waiting, results),
        )
        _note_fork(connection, row, results, clock.now())
        return results

    try:
        results = again(engine, partial(take, unseen=True), unwaited=True)
    except DomainError:
        raise
    except Exception as problem:
        if is_lost(problem):
            raise
        results = again(engine, take)
    return {"results": results, "server_time": rfc3339(clock.now().astimezone(UTC))}


def _check_revoked(row: Mapping, now: datetime, count: int) -> None:
    too_many = row["pushed_after_revoked"] + count > REVOKED_MOST_EVENTS
    if row["revoked_at"] is not None:
        too_late = now - parse_rfc3339(row["revoked_at"]) > REVOKED_MAY_PUSH
        if too_late or too_many:
            raise NotAllowed("tablet_revoked", "this tablet was revoked")
    elif row["unconfirmed"] and too_many:
        raise NotAllowed("tablet_unconfirmed", "an administrator has to confirm this tablet")


def _left(waiting: int | None, results: Sequence[Mapping]) -> int | None:
    """Return how many entries a tablet still has after these, for the administrator to see."""
    taken = sum(each["outcome"] in _TAKEN for each in results)
    return None if waiting is None else max(0, waiting - taken)


def _note_fork(
    connection: Connection, row: Mapping, results: Sequence[Mapping], now: datetime
) -> None:
    """Keep for the administrator that there are two of a tablet."""
    forked = next((each for each in results if each["outcome"] in _ALARMING), None)
    if forked is None or not tablet_states.note_fork(connection, row["tablet_id"], now=now):
        return
    access.note(
        connection,
        location_id=row["location_id"],
        at=now,
        action="refused",
        tablet_id=row["tablet_id"],
        subject_kind="tablet",
        subject_id=row["tablet_id"],
        detail={"outcome": forked["outcome"], "reason": forked.get("reason")},
    )
