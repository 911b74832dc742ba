"""On the group's side: a practice's entries are taken in, each once, on the history they belong to.

The link before a batch names everything that went before, so that it finds the one history that
goes on with it. What is there already is compared and left; where a batch says otherwise than a
history, a further history begins with what both share. So an entry that was acknowledged is never
replaced, and one that comes has always a place.
"""

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager

from api.clock import rfc3339
from api.errors import BadInput, Conflict
from api.events import chain, parse, signing
from api.group import arrival, entries, projecting, words
from api.group.house import House, must_be_theirs
from api.ids import new_id
from api.storage import erased, followed, practices, readers
from api.storage.engine import Connection, IntegrityError, again, narrow, savepoint
from api.sync import judge


def take(house: House, practice_id: str, batch: Mapping) -> dict:
    """Take in a batch: {location_id, after, previous_link, link, entries, writers, head}.

    Returns a receipt {text, signature} of {practice_id, location_id, epoch, position, link, at,
    forked}, after the commit: what it names is on the disk. Raises ``Conflict``
    "position_unknown" where no history has the link before it, "entry_damaged" {position, reason}
    with nothing taken in, "location_of_other", "writer_of_other", "entry_collides".
    """
    previous = bytes.fromhex(batch["previous_link"])
    try:
        rows = list(
            entries.from_wire(
                batch["entries"],
                location_id=batch["location_id"],
                after=batch["after"],
                previous=previous,
            )
        )
    except entries.Damaged as problem:
        raise _damaged(problem) from None
    if rows[-1]["link"].hex() != batch["link"]:
        raise _damaged(entries.Damaged(batch["after"] + 1, "link"))

    def work(connection: Connection) -> dict:
        practices.lock(connection, practice_id, now=house.clock.now())
        return _Taking(house, connection, practice_id, batch, rows, previous).run()

    try:
        history = again(house.engine, work)
    except IntegrityError:
        raise Conflict(
            "entry_collides", "An event or a number of a writer stands in this log already."
        ) from None
    return words.say(
        house.server_key,
        "receipt",
        practice_id=practice_id,
        location_id=batch["location_id"],
        epoch=rows[-1]["epoch"],
        position=rows[-1]["position"],
        link=rows[-1]["link"].hex(),
        forked=history["state"] == followed.FORKED,
        at=rfc3339(house.clock.now()),
    )


def _damaged(problem: entries.Damaged) -> Conflict:
    return Conflict(
        "entry_damaged",
        "An entry is not what its log says of it; nothing from there on was taken in.",
        position=problem.position,
        reason=problem.reason,
    )


def put_in_force(connection: Connection, history: Mapping, projectors: judge.Projectors) -> None:
    """Let a history be the one that is read; those that were before stay, set aside."""
    for other in followed.histories(connection, history["practice_id"], history["of_location"]):
        if other["location_id"] != history["location_id"] and other["state"] == followed.CURRENT:
            followed.note(connection, other["location_id"], state=followed.SET_ASIDE)
            projecting.clear(connection, other["location_id"])
    followed.note(connection, history["location_id"], state=followed.CURRENT)
    with _or_later(connection, history["location_id"]):
        projecting.whole(connection, history["location_id"], projectors)


@contextmanager
def _or_later(connection: Connection, location_id: str) -> Iterator[None]:
    """Let what is derived from a log be made later, where it cannot be made now.

    The log is what must not be lost.
    """
    try:
        with savepoint(connection):
            yield
    except Exception as problem:
        projecting.log_failure(problem)
        followed.note(connection, location_id, unprojected=1)


class _Taking:
    """One batch's way into its history, inside the transaction."""

    def __init__(
        self,
        house: House,
        connection: Connection,
        practice_id: str,
        batch: Mapping,
        rows: list[dict],
        previous: bytes,
    ) -> None:
        self.house, self.connection, self.practice_id = house, connection, practice_id
        self.batch, self.rows, self.previous = batch, rows, previous
        self.now = house.clock.now()
        self.fresh = new_id(self.now, house.random)

    def run(self) -> dict:
        """Return the history that has all of the batch."""
        location_id = self.batch["location_id"]
        must_be_theirs(self.connection, self.practice_id, location_id)
        known = followed.of_practice(self.connection, self.practice_id)
        others = [one["location_id"] for one in known]
        # A writer of another practice has to be seen to be told from one of this.
        keys = self._keys()
        # Whatever goes wrong from here on, it is nobody else's.
        narrow(self.connection, location_id, self.fresh, *others)
        history = self._find()
        rest = self._not_here_yet(history)
        if rest:
            history = self._history_for(history, rest)
            self._check(history, rest, keys)
            followed.append(self.connection, history["location_id"], rest, now=self.now)
            self._project(history, rest)
        self._keep_head(history)
        return history

    def _keys(self) -> dict[str, str]:
        """Keep who writes in this log, and return the key of each: the one that was first said."""
        keys = {}
        for facts in self.batch["writers"]:
            tablet_id, public_key = facts["tablet_id"], facts["public_key"]
            signing.load_public_key(public_key)
            mine = followed.writer(self.connection, tablet_id)
            if mine is not None and (mine["kind"], mine["public_key"]) != (
                followed.WRITER,
                public_key,
            ):
                raise Conflict("writer_of_other", "A writer is known here by another key.")
            keys[tablet_id] = public_key
        return keys

    def _find(self) -> dict:
        """Return the history that goes on with the batch, else one in which nothing stands yet."""
        after, found = self.batch["after"], None
        for history in followed.histories(
            self.connection, self.practice_id, self.batch["location_id"]
        ):
            link = chain.FIRST_LINK
            if after > 0:
                link = readers.link_at(self.connection, history["location_id"], after)
            if link == self.previous:
                shares = self._shared(history)
                if found is None or shares > found[0]:
                    found = (shares, history)
        if found is not None:
            return found[1]
        if after > 0:
            raise Conflict("position_unknown", "No log here goes on from there.")
        return self._begin(self.batch["location_id"], followed.CURRENT, None, chain.FIRST_LINK)

    def _shared(self, history: Mapping) -> int:
        """Return how many of the batch's entries a history has."""
        return len(self.rows) - len(self._not_here_yet(history))

    def _not_here_yet(self, history: Mapping) -> list[dict]:
        here = readers.stored_after(
            self.connection, history["location_id"], self.batch["after"], limit=len(self.rows)
        )
        same = 0
        for stored, row in zip(here, self.rows, strict=False):
            if stored["link"] != row["link"]:
                break
            same += 1
        return self.rows[same:]

    def _history_for(self, history: Mapping, rest: Sequence[Mapping]) -> Mapping:
        """Return where the rest goes: on from the history, or into one that parts from it here."""
        at = rest[0]["position"] - 1
        if at == history["position"]:
            return history
        link = chain.FIRST_LINK
        epoch = rest[0]["epoch"]
        if at > 0:
            [shared] = readers.stored_after(
                self.connection, history["location_id"], at - 1, limit=1
            )
            link, epoch = shared["link"], shared["epoch"]
        explained = at > 0 and arrival.goes_on_from(rest[0]) == (epoch, at, link.hex())
        in_force = explained and history["state"] != followed.FORKED
        shared_part = {"location_id": history["location_id"], "position": at}
        state = followed.CURRENT if in_force else followed.FORKED
        begun = self._begin(self.fresh, state, shared_part, link, epoch=epoch)
        if in_force:
            put_in_force(self.connection, begun, self.house.projectors)
        return begun

    def _begin(self, history_id: str, state: str, shared, link: bytes, epoch=None) -> dict:
        return followed.begin(
            self.connection,
            history_id,
            practice_id=self.practice_id,
            of_location=self.batch["location_id"],
            state=state,
            epoch=epoch or self.rows[0]["epoch"],
            shared=shared,
            link=link,
            now=self.now,
        )

    def _check(self, history: Mapping, rest: Sequence[Mapping], keys: Mapping[str, str]) -> None:
        for facts in self.batch["writers"]:
            followed.put_writer(
                self.connection,
                self.batch["location_id"],
                facts,
                words.to_bytes(facts).decode(),
                rfc3339(self.now),
            )
        try:
            arrival.check(
                rest,
                position=history["position"],
                link=history["link"],
                epoch=history["epoch"] if history["position"] else None,
                keys=keys,
            )
        except entries.Damaged as problem:
            raise _damaged(problem) from None

    def _project(self, history: Mapping, rest: Sequence[Mapping]) -> None:
        if history["state"] != followed.CURRENT:
            # Nobody reads it, but what its practice erased must not lie in it either.
            rest = [row for row in rest if row["type"] == erased.ERASED]
        with _or_later(self.connection, history["location_id"]):
            projecting.some(self.connection, history["location_id"], rest, self.house.projectors)

    def _keep_head(self, history: Mapping) -> None:
        head = self.batch["head"]
        if head is None:
            return
        row = practices.get(self.connection, self.practice_id)
        try:
            said = parse.read_object(head["text"])
        except parse.Unreadable:
            said = {}
        last = self.rows[-1]
        expected = (self.batch["location_id"], last["position"], last["link"].hex())
        found = tuple(said.get(name) for name in ("location_id", "position", "link"))
        signed = signing.verify(row["public_key"], head["text"], head["signature"])
        if not signed or found != expected:
            raise BadInput("head_wrong", "The head is not that of this batch.", field="head")
        followed.put_head(self.connection, history["location_id"], said, head, self.now)
