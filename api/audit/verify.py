"""Check the whole log: every text against its hash, every link, every signature, every column.

Whoever can write to the database can also compute the whole chain anew; that is found only by
comparing with heads that somebody else remembers, which is what tablets do. What they told of
with their pulls is read with the log; heads kept elsewhere can be passed in.
"""

import hashlib
import json
from collections.abc import Callable, Iterable, Mapping

from api.audit import erasures
from api.events import chain, parse, signing
from api.storage import (
    accounts,
    attachments,
    certificates,
    event_store,
    followed,
    readers,
    tablet_states,
    witnesses,
)
from api.storage.engine import Connection, Engine, read

PAGE = 500
# Put aside before the payload's hash was looked at, or because of it.
_HASH_LEFT_OPEN = ("payload_hash", "too_large", "unknown_version")
Progress = Callable[[int, int], None]


def verify_log(
    engine: Engine,
    *,
    progress: Progress | None = None,
    heads: Iterable[Mapping] = (),
    server_public_key: str | None = None,
) -> dict:
    """Check the logs of all locations.

    ``progress(done, total)`` is called now and then. ``heads`` are {text, signature} as pulled
    by tablets; with ``server_public_key`` their signatures are checked too.

    Returns {ok, entries, first_bad, locations}. ``first_bad`` is None or {location_id, position,
    reason, event_id}, for "remembered_head" with {tablet_id, agreed_position} as well: whose head
    it is (None for one passed in), and the last position at which one agreed, so that what was
    changed stands after that and no later than ``position``. Each of ``locations`` is {location_id,
    epoch, position, link, entries, erased, first_bad}; ``erased`` are {position, by_position} of
    entries whose content is gone because the log says so, with ``by_location`` where, at a group,
    another history of the same log does. Reasons: "position", "header",
    "header_hash", "body_hash", "body", "columns",
    "payload_missing" (and nobody ordered that), "erasure_undone" (it was ordered, and the content
    is there), "payload_hash", "signature", "tablet_unknown", "sequence", "link",
    "counter", "remembered_head", "head_signature", "epoch" (another one begins without an entry
    that says from where the log goes on), "attachment" and "certificate" (the bytes kept are not
    those that the entry names; that they are not here yet is no damage).
    """
    with read(engine) as connection:
        rows = readers.locations(connection)
        total = sum(row["position"] for row in rows)
        remembered = list(heads)
        reports, done = [], 0
        for row in rows:
            checked = _Location(connection, row, remembered, server_public_key)
            for count in checked.run():
                done += count
                if progress is not None:
                    progress(done, max(total, done))
            reports.append(checked.report())
    first_bad = next((each["first_bad"] for each in reports if each["first_bad"]), None)
    return {
        "ok": first_bad is None,
        "entries": done,
        "first_bad": first_bad,
        "locations": reports,
    }


class _Location:
    def __init__(
        self,
        connection: Connection,
        row: Mapping,
        heads: list[Mapping],
        server_public_key: str | None,
    ) -> None:
        self.connection = connection
        self.row = row
        self.location_id = row["location_id"]
        # A further history of a practice's log is kept under another id than its entries name.
        self.named_id = followed.known_as(connection, self.location_id)
        self.link = chain.FIRST_LINK
        self.position = 0
        self.count = 0
        self.epoch: str | None = None
        self.bad: dict | None = None
        self.next_seq: dict[str, int] = {}
        self.keys: dict[str, str | None] = {}
        self.earlier: dict[str, list[str]] = {}
        self.heads = self._own_heads(heads, server_public_key)
        self.told: dict[int, list[dict]] = {}
        self.agreed = 0
        self.ordered = erasures.ordered(connection, self.location_id)
        self.erased: list[dict] = []

    def report(self) -> dict:
        return {
            "location_id": self.location_id,
            "epoch": self.row["epoch"],
            "position": self.row["position"],
            "link": self.row["link"].hex(),
            "entries": self.count,
            "erased": self.erased,
            "first_bad": self.bad,
        }

    def run(self) -> Iterable[int]:
        """Check entry after entry up to the first bad one; yield how many each page had."""
        while self.bad is None:
            page = readers.stored_after(
                self.connection, self.location_id, self.position, limit=PAGE
            )
            self.told = {}
            upto = page[-1]["position"] if page else self.position
            for one in witnesses.between(
                self.connection, self.location_id, after=self.position, upto=upto
            ):
                self.told.setdefault(one["position"], []).append(one)
            for found in page:
                stored = {**found, "location_id": self.named_id}
                self.count += 1
                reason = self._problem(stored)
                if reason is not None:
                    self._found(self.position + 1, reason, stored["event_id"])
                    break
                self.position = stored["position"]
                self.link = stored["link"]
                if not self._as_remembered(stored):
                    break
            yield len(page)
            if len(page) < PAGE:
                break
        self._check_end()

    def _check_end(self) -> None:
        if self.bad is not None:
            return
        if (self.row["position"], self.row["link"]) != (self.position, self.link):
            self._found(min(self.position, self.row["position"]) + 1, "counter", None)
            return
        if self.epoch not in (None, self.row["epoch"]):
            self._found(self.position + 1, "epoch", None)
            return
        told = witnesses.beyond(self.connection, self.location_id, self.position, self.row["epoch"])
        if told is not None or any(position > self.position for position in self.heads):
            self._found_by_head(self.position + 1, None, (told or {}).get("tablet_id"))

    def _found(self, position: int, reason: str, event_id: str | None) -> None:
        self.bad = {
            "location_id": self.location_id,
            "position": position,
            "reason": reason,
            "event_id": event_id,
        }

    def _found_by_head(self, position: int, event_id: str | None, tablet_id: str | None) -> None:
        self._found(position, "remembered_head", event_id)
        self.bad |= {"tablet_id": tablet_id, "agreed_position": self.agreed}

    def _own_heads(self, heads: list[Mapping], key: str | None) -> dict[int, set[str]]:
        found: dict[int, set[str]] = {}
        for head in heads:
            try:
                said = parse.read_object(head["text"])
            except parse.Unreadable:
                said = {}
            if key is not None and not signing.verify(key, head["text"], head["signature"]):
                self._found(int(said.get("position") or 0), "head_signature", None)
                continue
            if said.get("location_id") == self.named_id and said["epoch"] == self.row["epoch"]:
                found.setdefault(said["position"], set()).add(said["link"])
        return found

    def _as_remembered(self, stored: Mapping) -> bool:
        """Compare with every head that somebody remembers of this position."""
        told = [one for one in self.told.get(self.position, ()) if one["epoch"] == stored["epoch"]]
        other = next((one for one in told if one["link"] != self.link), None)
        if other is not None or self.heads.get(self.position, set()) - {self.link.hex()}:
            self._found_by_head(self.position, stored["event_id"], (other or {}).get("tablet_id"))
            return False
        if told or self.position in self.heads:
            self.agreed = self.position
        return True

    def _problem(self, stored: Mapping) -> str | None:
        if stored["position"] != self.position + 1:
            return "position"
        header_hash, body_hash = chain.sha256(stored["header"]), chain.sha256(stored["body"])
        if header_hash != stored["header_hash"]:
            return "header_hash"
        if body_hash != stored["body_hash"]:
            return "body_hash"
        return (
            self._link_problem(stored)
            or self._header_problem(stored)
            or self._epoch_problem(stored)
            or self._body_problem(stored)
            or self._signature_problem(stored)
            or self._attachment_problem(stored)
            or self._certificate_problem(stored)
        )

    def _link_problem(self, stored: Mapping) -> str | None:
        computed = chain.link(
            previous=self.link,
            header_hash=stored["header_hash"],
            body_hash=stored["body_hash"],
        )
        return None if computed == stored["link"] else "link"

    def _header_problem(self, stored: Mapping) -> str | None:
        names = ("epoch", "location_id", "position", "received_at", "verdict", "reason")
        expected = {name: stored[name] for name in names} | {"signature": stored["signature"]}
        try:
            return None if json.loads(stored["header"]) == expected else "header"
        except ValueError:
            return "header"

    def _epoch_problem(self, stored: Mapping) -> str | None:
        """Let another epoch begin only with an entry that says what it goes on from."""
        before, self.epoch = self.epoch, stored["epoch"]
        if before in (None, stored["epoch"]):
            return None
        if stored["type"] != "log.restored":
            return "epoch"
        try:
            said = json.loads(stored["payload"] or "")
            goes_on_from = (said["old_epoch"], said["position"], said["link"])
        except (ValueError, KeyError, TypeError):
            return "epoch"
        return None if goes_on_from == (before, self.position, self.link.hex()) else "epoch"

    def _body_problem(self, stored: Mapping) -> str | None:
        order = self.ordered.get(stored["event_id"])
        wrong = erasures.missing_problem(stored, order)
        if wrong is not None:
            return wrong
        try:
            body = parse.read_object(stored["body"])
        except parse.Unreadable:
            # Kept because it could not be read; its text, hash and link have been checked.
            return None if stored["verdict"] == readers.QUARANTINED else "body"
        if stored["verdict"] == readers.QUARANTINED and stored["type"] is None:
            return None
        columns = event_store.index_columns(body)
        if any(stored[name] != value for name, value in columns.items()):
            return "columns"
        if stored["payload"] is None:
            places = {"position": stored["position"], "by_position": order["by_position"]}
            if "by_location" in order:
                places["by_location"] = order["by_location"]
            self.erased.append(places)
        elif not _payload_fits(stored, body):
            return "payload_hash"
        if stored["verdict"] == readers.QUARANTINED:
            return None
        named = ("event_id", "tablet_seq", "location_id")
        if any(stored[name] != body.get(name) for name in named):
            return "columns"
        self._meet(stored["tablet_id"])
        writers = (stored["tablet_id"], *self.earlier[stored["tablet_id"]])
        return None if body.get("tablet_id") in writers else "columns"

    def _signature_problem(self, stored: Mapping) -> str | None:
        tablet_id = stored["tablet_id"]
        self._meet(tablet_id)
        key = self.keys[tablet_id]
        if key is None:
            return "tablet_unknown"
        # What one writer made stands in the order it was made in, and nothing of it is missing.
        if stored["tablet_seq"] != self._expected_seq(tablet_id, stored["tablet_seq"]):
            return "sequence"
        self.next_seq[tablet_id] = stored["tablet_seq"] + 1
        return None if signing.verify(key, stored["body"], stored["signature"]) else "signature"

    def _meet(self, tablet_id: str) -> None:
        if tablet_id in self.keys:
            return
        row = accounts.tablet_by_id(self.connection, tablet_id) or {}
        self.keys[tablet_id] = row.get("public_key")
        self.next_seq[tablet_id] = row.get("first_seq", 1)
        self.earlier[tablet_id] = tablet_states.earlier(self.connection, row.get("replaces"))

    def _expected_seq(self, tablet_id: str, found: int) -> int:
        """Return the next number of a writer, past what came under its earlier enrolments."""
        expected = self.next_seq[tablet_id]
        while expected < found and readers.has_entry_of(
            self.connection, self.location_id, self.earlier[tablet_id], expected
        ):
            expected += 1
        return expected

    def _attachment_problem(self, stored: Mapping) -> str | None:
        if stored["type"] != "attachment.added":
            return None
        # Of what was put aside the content may be of any form, and what was erased has none.
        named = (readers.as_entry(stored)["payload"] or {}).get("sha256")
        if not isinstance(named, str) or len(named) != 64 or not named.isalnum():
            return None
        kept = attachments.get(self.connection, self.location_id, named)
        if kept is None or hashlib.sha256(kept["content"]).hexdigest() == named:
            return None
        return "attachment"

    def _certificate_problem(self, stored: Mapping) -> str | None:
        if stored["type"] not in certificates.NAMED_BY:
            return None
        for named in certificates.hashes_in(readers.as_entry(stored)["payload"]):
            kept = certificates.get(self.connection, self.location_id, named)
            if kept is not None and hashlib.sha256(kept["content"]).hexdigest() != named:
                return "certificate"
        return None


def _payload_fits(stored: Mapping, body: dict) -> bool:
    found = chain.payload_hash(salt=stored["salt"], payload=stored["payload"])
    return found == body.get("payload_hash") or _hash_left_open(stored, body)


def _hash_left_open(stored: Mapping, body: dict) -> bool:
    if stored["reason"] == "schema":
        # A body that is right in itself had its payload's hash compared; then the payload is at
        # fault, and must still be the one that came.
        return bool(parse.body_problems(body))
    return stored["reason"] in _HASH_LEFT_OPEN
