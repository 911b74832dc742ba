"""Whether what came back from a group holds, and what is said of it where it does not."""

from api.audit import erasures, verify
from api.errors import DomainError
from api.storage import readers
from api.storage.engine import Engine, read

# Of entries without content, as many as a person reads; all are in the error's facts.
MOST_NAMED = 20


def must_hold(engine: Engine) -> None:
    """Raise ``DomainError`` "group_log_broken" or "group_log_lacks" unless every log holds."""
    bad = verify.verify_log(engine)["first_bad"]
    if bad is None:
        return
    if bad["reason"] == "payload_missing":
        raise _lacking(engine, bad["location_id"])
    raise broken(bad["location_id"], bad["position"], bad["reason"])


def _lacking(engine: Engine, location_id: str) -> DomainError:
    """Return why a log is refused that lacks content which nobody ordered to be erased.

    It is refused whole: a record from which something was taken away without a word would be read
    as if it were whole, and nothing in it tells an erasure that was never heard of from a theft.
    """
    with read(engine) as connection:
        ordered = erasures.ordered(connection, location_id)
        rows = readers.stored_after(connection, location_id, 0, limit=2**31 - 1)
    positions = [
        row["position"]
        for row in rows
        if erasures.missing_problem(row, ordered.get(row["event_id"])) == "payload_missing"
    ]
    named = ", ".join(str(each) for each in positions[:MOST_NAMED])
    more = len(positions) - MOST_NAMED
    return DomainError(
        "group_log_lacks",
        f"The group holds these entries of location {location_id} without their content, and no "
        f"erasure in this log says why: {named}{f' and {more} more' if more > 0 else ''}. Nothing "
        "was put in place. Where they were erased after another history of this log had begun, "
        "--erasures FILE names the practice's list of erasures (erasures.jsonl, beside its "
        "backups); or the history that has the order is put in force at the group by "
        "`dosebook group settle LOG`. Else restore from a backup.",
        location_id=location_id,
        positions=positions,
    )


def broken(location_id: str, position: int, reason: str) -> DomainError:
    """Return what says where, and why, a log that came from the group does not hold."""
    return DomainError(
        "group_log_broken",
        f"What the group gave of location {location_id} does not hold at position {position} "
        f"({reason}).",
    )
