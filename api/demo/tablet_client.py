"""A tablet in Python: its key, its outbox, push and pull, over any transport.

It keeps to the promises of the tablet's own program, but holds everything in memory: for the demo,
tests and measurements, not for a chair.
"""

import json
import os
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from api.clock import Clock
from api.demo.transport import Transport
from api.dose.evaluate import ENGINE_VERSION
from api.errors import DomainError
from api.events import build, chain, signing
from api.ids import new_id
from api.settings import API_PREFIX, PROTOCOL_VERSION

APP_BUILD = "python-client"
BATCH_EVENTS = 50
BATCH_BYTES = 256 * 1024
# What the server has kept, in whatever way; only these let an event leave the outbox.
SETTLED = frozenset({"applied", "duplicate", "conflict", "quarantined"})


class Refused(DomainError):
    """The server answered with a problem: ``facts`` carries its ``status`` and the ``problem``."""


def ask(
    transport: Transport, method: str, path: str, json: Any = None, headers: Mapping | None = None
) -> Any:
    """Send one request below the API's prefix and return the answer; raise ``Refused`` else."""
    status, answer = transport(method, API_PREFIX + path, json, headers or {})
    if 200 <= status < 300:
        return answer
    problem = answer if isinstance(answer, dict) else {}
    raise Refused(
        problem.get("code", "refused"),
        f"{method} {path}: {status} {problem.get('detail') or problem.get('title') or ''}".strip(),
        status=status,
        problem=problem,
    )


@dataclass
class Event:
    """One event of this tablet: the item on the wire, and what the server said to it."""

    item: dict
    result: dict | None = None

    @property
    def settled(self) -> bool:
        return self.result is not None and self.result["outcome"] in SETTLED

    def for_fold(self) -> dict:
        """Return the event in the shape that the fold of a record takes."""
        return {
            "body": json.loads(self.item["body"]),
            "payload": json.loads(self.item["payload"]),
            "body_hash": chain.sha256(self.item["body"]).hex(),
        }


class TabletClient:
    """A tablet that has a key, and after :meth:`enrol` a place in a location."""

    def __init__(
        self,
        transport: Transport,
        clock: Clock,
        *,
        label: str,
        random: Callable[[int], bytes] = os.urandom,
        engine_version: str = ENGINE_VERSION,
    ) -> None:
        self.transport = transport
        self.label = label
        self.identity: dict | None = None
        self.person: dict | None = None
        self.outbox: list[Event] = []
        self.documents: dict[tuple[str, str], dict] = {}
        self.position = 0
        self._clock = clock
        self._random = random
        self._engine_version = engine_version
        self._key = signing.new_private_key()
        self._token: str | None = None
        self._person_token: str | None = None
        self._cursors: dict[str, str] = {}
        self._link = chain.FIRST_LINK

    # Who this is

    def enrol(self, code: str) -> dict:
        """Use a one-time code to become a tablet of its location; keep and return who we are."""
        self.identity = ask(
            self.transport,
            "POST",
            "/tablet/enrol",
            {
                "code": code,
                "public_key": signing.public_key_text(self._key),
                "label": self.label,
            },
        )
        return self.identity

    def enrol_again(self, code: str) -> dict:
        """Go on under another key: what waits keeps its number and its texts, signed anew."""
        before = {
            "certificate": self.identity["certificate"],
            "next_seq": len(self.outbox) - len(self.waiting()) + 1,
        }
        key = signing.new_private_key()
        body = {"code": code, "public_key": signing.public_key_text(key), "label": self.label}
        self.identity = ask(self.transport, "POST", "/tablet/enrol", {**body, "before": before})
        self._key, self._token, self._person_token = key, None, None
        for event in self.waiting():
            event.item = {**event.item, "signature": signing.sign(key, event.item["body"])}
        return self.identity

    def prove(self) -> None:
        """Sign the server's nonce and keep the token that the signature earns.

        A server that has forgotten this tablet is shown the certificate that it gave it.
        """
        try:
            self._prove({})
        except Refused as refused:
            if refused.code != "tablet_unproven":
                raise
            self._prove({"certificate": self.identity["certificate"]})

    def _prove(self, shown: Mapping) -> None:
        who = {"tablet_id": self.identity["tablet_id"], **shown}
        nonce = ask(self.transport, "POST", "/tablet/challenge", who)["nonce"]
        proof = {"nonce": nonce, "signature": signing.sign(self._key, nonce)}
        said = {"label": self.label} if shown else {}
        self._token = ask(self.transport, "POST", "/tablet/token", {**who, **proof, **said})[
            "token"
        ]

    def sign_in(self, person_id: str, pin: str) -> dict:
        """Unlock the tablet for a person; later events are theirs."""
        answer = self.ask("POST", "/session/pin", {"person_id": person_id, "pin": pin})
        self._person_token = answer["person_token"]
        self.person = answer["person"]
        return self.person

    def lock(self) -> None:
        """Forget who is signed in; the outbox stays."""
        self.person = None
        self._person_token = None

    def ask(self, method: str, path: str, json: Any = None) -> Any:
        """Send a request as this tablet; a token that has run out is renewed once."""
        if self._token is None:
            self.prove()
        try:
            return ask(self.transport, method, path, json, self._headers())
        except Refused as refused:
            if refused.code != "not_signed_in":
                raise
        self.prove()
        return ask(self.transport, method, path, json, self._headers())

    def _headers(self) -> dict[str, str]:
        headers = {"Authorization": f"Bearer {self._token}"}
        if self._person_token is not None:
            headers["Dosebook-Person"] = self._person_token
        return headers

    # What happened

    def new_id(self) -> str:
        """Return an id for a thing that begins now."""
        return new_id(self._clock.now(), self._random)

    def now(self) -> datetime:
        """Return the present moment in the location's zone."""
        return self._clock.now().astimezone(ZoneInfo(self.identity["zone"]))

    def record(
        self,
        type: str,
        entity_id: str,
        payload: Mapping,
        *,
        actor_id: str | None = None,
        base_version: int | None = None,
        corrects: str | None = None,
        occurred_at: datetime | None = None,
    ) -> Event:
        """Make an event, sign it and put it into the outbox. Raises ``BadInput`` as build does."""
        item = build.build_item(
            self._key,
            event_id=self.new_id(),
            tablet_id=self.identity["tablet_id"],
            tablet_seq=len(self.outbox) + 1,
            location_id=self.identity["location_id"],
            actor_id=actor_id or (self.person or {}).get("person_id"),
            type=type,
            entity_id=entity_id,
            payload=payload,
            occurred_at=occurred_at or self.now(),
            zone=self.identity["zone"],
            app_build=APP_BUILD,
            engine_version=self._engine_version,
            base_version=base_version,
            corrects=corrects,
            clock_offset_ms=0,
            random=self._random,
        )
        event = Event(item)
        self.outbox.append(event)
        return event

    def events_of(self, record_id: str) -> list[dict]:
        """Return this tablet's events about one record, as the fold takes them."""
        folded = [event.for_fold() for event in self.outbox]
        return [event for event in folded if event["body"]["entity_id"] == record_id]

    # To and from the server

    def waiting(self) -> list[Event]:
        """Return the events that the server has not confirmed, in order."""
        return [event for event in self.outbox if not event.settled]

    def push(self) -> list[dict]:
        """Send what waits until nothing does, or until the server stops; return the results."""
        results: list[dict] = []
        while batch := self._next_batch():
            answer = self.ask(
                "POST",
                "/sync/push",
                {
                    "protocol": PROTOCOL_VERSION,
                    "epoch": self.identity["epoch"],
                    "items": [event.item for event in batch],
                    "waiting": len(self.waiting()),
                },
            )
            for event, result in zip(batch, answer["results"], strict=True):
                if result["event_id"] != event.item["event_id"]:
                    raise Refused("results_out_of_order", "results do not answer the items")
                event.result = result
            results += answer["results"]
            if not all(event.settled for event in batch):
                break
        return results

    def _next_batch(self) -> list[Event]:
        batch: list[Event] = []
        size = 0
        for event in self.waiting()[:BATCH_EVENTS]:
            size += len(json.dumps(event.item).encode("utf-8")) + 2
            if batch and size > BATCH_BYTES - 1024:
                break
            batch.append(event)
        return batch

    def pull(self, feed: str = "house", *, limit: int = 200) -> list[dict]:
        """Read all pages of a feed, keep the documents, and follow the log's links.

        Raises ``Refused`` with code ``log_broken`` where the links do not lead from what this
        tablet saw before to the head that the server signs.
        """
        changed: list[dict] = []
        more = True
        while more:
            query = f"?feed={feed}&limit={limit}"
            if feed in self._cursors:
                query += f"&cursor={self._cursors[feed]}"
            page = self.ask("GET", "/sync/pull" + query)
            if feed == "house":
                self._follow(page)
            for document in page["documents"]:
                self.documents[document["kind"], document["doc_id"]] = document["body"]
            changed += page["documents"]
            self._cursors[feed] = page["next_cursor"]
            more = page["more"]
        return changed

    def _follow(self, page: Mapping) -> None:
        if page["previous_link"] != self._link.hex():
            raise Refused("log_broken", "the log before the cursor is not what it was")
        for entry in page["entries"]:
            if entry["position"] != self.position + 1:
                raise Refused("log_broken", f"no entry at position {self.position + 1}")
            self._link = chain.link(
                previous=self._link,
                header_hash=bytes.fromhex(entry["header_hash"]),
                body_hash=bytes.fromhex(entry["body_hash"]),
            )
            self.position = entry["position"]
        head = page["head"]
        if not signing.verify(self.identity["server_public_key"], head["text"], head["signature"]):
            raise Refused("log_broken", "the head is not signed by this tablet's server")
        said = json.loads(head["text"])
        if said["position"] == self.position and said["link"] != self._link.hex():
            raise Refused("log_broken", f"another head at position {self.position}")
