"""Check a record's proof: with SHA-256 and the server's public key, without any database. Pure.

What it shows: each of the entries stands in the log as it came, in this order, nothing of it
changed since; who wrote it (its tablet's key, certified by the server); and that the server itself
signed where they stand. What it cannot show: that nothing else about the record stands in the log
between the entries, and that the server's key was not used to write a whole log anew. The first is
in the content hash that the signature covers, the second in what tablets and backups remember.
"""

import hashlib
import json
from collections.abc import Callable, Mapping
from typing import Any

from api.errors import BadInput
from api.events import chain, parse, signing
from api.records import order

KIND = "dosebook-proof-1"
Problem = tuple[int | None, str]


class _Broken(Exception):
    """Something does not hold, at a position where it has one."""

    def __init__(self, position: int | None, reason: str) -> None:
        super().__init__(reason)
        self.position, self.reason = position, reason


def read_proof(text: str) -> dict[str, Any]:
    """Return the proof that a file's text holds. Raises ``BadInput`` proof_unreadable."""
    try:
        proof = parse.read_object(text)
    except parse.Unreadable as problem:
        raise BadInput("proof_unreadable", f"This is no proof of a record: {problem}.") from None
    if proof.get("kind") != KIND:
        raise BadInput("proof_unreadable", f"This is no proof of a record: no {KIND}.")
    return proof


def fingerprint(public_key: str) -> str:
    """Return the SHA-256 of a public key's DER form [hex]. Raises ``BadInput``."""
    signing.load_public_key(public_key)
    return hashlib.sha256(signing.from_base64url(public_key)).hexdigest()


def check(
    proof: Mapping, *, server_key: str | None = None, paper: bytes | None = None
) -> dict[str, Any]:
    """Check a proof from :func:`read_proof` or :func:`api.audit.proof.prove`.

    ``server_key`` is the key that the reader trusts; without it the one in the proof is used, and
    the proof is worth what its ``fingerprint`` is when compared. ``paper`` are the bytes of a PDF
    or text that is said to be one of the record's.

    Returns {holds, position, reason, record_id, location_id, entries, runs, signed, certified,
    payloads, content_hashes, heads, papers, paper, erased, fingerprint, key_given}. ``erased`` are
    {position, by_position, at, by, basis, citation, ...} of entries whose content the server says
    was erased, by which entry of the log. ``position`` and
    ``reason`` are of the first thing that does not hold, else None. Reasons: "server_key",
    "head_signature", "head", "position", "header_hash", "header", "body_hash", "body",
    "payload_hash", "link", "writer", "signature", "papers", "paper", "erased". Raises
    ``BadInput`` proof_unreadable where parts of a proof are missing.
    """
    checking = _Checking(proof, server_key)
    try:
        return checking.run(paper)
    except (KeyError, TypeError, ValueError, AttributeError) as problem:
        raise BadInput(
            "proof_unreadable", f"This is no whole proof: {type(problem).__name__} {problem}."
        ) from None


class _Checking:
    def __init__(self, proof: Mapping, server_key: str | None) -> None:
        self.proof = proof
        self.given = server_key
        self.key = server_key or proof.get("server_public_key")
        self.record_id, self.location_id = proof.get("record_id"), proof.get("location_id")
        self.events: list[dict] = []
        self.signed = self.certified = self.payloads = 0
        self.heads: list[dict] = []
        self.content: list[dict] = []
        self.papers: list[dict] = []
        self.paper: dict | None = None
        self.erased: list[dict] = []

    def run(self, paper: bytes | None) -> dict[str, Any]:
        if not isinstance(self.key, str):
            raise KeyError("server_public_key")
        known = fingerprint(self.key)
        problem: Problem = (None, "")
        try:
            if self.proof["server_public_key"] != self.key:
                raise _Broken(None, "server_key")
            self.writers = {each["tablet_id"]: each for each in self.proof["writers"]}
            if not self.proof["runs"]:
                raise KeyError("runs")
            after = 0
            for run in self.proof["runs"]:
                after = self._run(run, after)
            self._content()
            self._papers(paper)
            self._erased()
        except _Broken as broken:
            problem = (broken.position, broken.reason)
        return {
            "holds": not problem[1],
            "position": problem[0],
            "reason": problem[1] or None,
            "record_id": self.record_id,
            "location_id": self.location_id,
            "entries": [
                {
                    "position": each["position"],
                    "event_id": each["body"]["event_id"],
                    "type": each["body"]["type"],
                    "occurred_at": each["body"]["occurred_at"],
                    "received_at": each["received_at"],
                    "link": each["link"],
                }
                for each in self.events
            ],
            "runs": len(self.proof["runs"]),
            "signed": self.signed,
            "certified": self.certified,
            "payloads": self.payloads,
            "content_hashes": self.content,
            "heads": self.heads,
            "papers": self.papers,
            "paper": self.paper,
            "erased": self.erased,
            "fingerprint": known,
            "key_given": self.given is not None,
        }

    def _run(self, run: Mapping, after: int) -> int:
        """Work out every link of a run up to its signed head; return its last position."""
        text, signature = run["head"]["text"], run["head"]["signature"]
        start = run["after"]["position"]
        if not signing.verify(self.key, text, signature):
            raise _Broken(None, "head_signature")
        head = parse.read_object(text)
        if head["location_id"] != self.location_id or start < after:
            raise _Broken(head["position"], "head")
        position, link = start, bytes.fromhex(run["after"]["link"])
        if position == 0 and link != chain.FIRST_LINK:
            raise _Broken(1, "link")
        for entry in run["entries"]:
            if entry["position"] != position + 1:
                raise _Broken(position + 1, "position")
            position += 1
            own = self._own(entry) if "header" in entry else None
            link = chain.link(
                previous=link,
                header_hash=bytes.fromhex(entry["header_hash"]),
                body_hash=bytes.fromhex(entry["body_hash"]),
            )
            if own is not None:
                if entry["link"] != link.hex():
                    raise _Broken(position, "link")
                self.events.append({**own, "link": link.hex()})
        if (head["position"], head["link"]) != (position, link.hex()):
            raise _Broken(position, "head")
        self.heads.append(head)
        return position

    def _own(self, entry: Mapping) -> dict[str, Any]:
        """Check one of the record's own entries, apart from its link."""
        position = entry["position"]

        def holds(so: bool, reason: str) -> None:
            if not so:
                raise _Broken(position, reason)

        holds(chain.sha256(entry["header"]).hex() == entry["header_hash"], "header_hash")
        holds(chain.sha256(entry["body"]).hex() == entry["body_hash"], "body_hash")
        header, body = parse.read_object(entry["header"]), parse.read_object(entry["body"])
        named = (header["position"], header["location_id"])
        holds(named == (position, self.location_id) and header["verdict"] == "applied", "header")
        named = (body["entity_id"], body["location_id"])
        holds(named == (self.record_id, self.location_id), "body")
        payload = None
        if "payload" in entry:
            salt = bytes.fromhex(entry["salt"])
            found = chain.payload_hash(salt=salt, payload=entry["payload"])
            holds(found == body["payload_hash"], "payload_hash")
            payload = json.loads(entry["payload"])
            self.payloads += 1
        key = self._writer(entry["tablet_id"], holds)
        holds(signing.verify(key, entry["body"], header["signature"]), "signature")
        self.signed += 1
        return {
            "position": position,
            "received_at": header["received_at"],
            "body": body,
            "payload": payload,
            "body_hash": entry["body_hash"],
        }

    def _writer(self, tablet_id: str, holds: Callable[[bool, str], None]) -> str:
        """Return a writer's key, certified by the server as far as the proof carries that."""
        writer = self.writers.get(tablet_id) or {}
        key, certificate = writer.get("public_key"), writer.get("certificate")
        holds(isinstance(key, str), "writer")
        if key == self.key:
            # The desk writer: the server itself.
            self.certified += 1
        elif certificate is not None:
            text, signature = certificate["text"], certificate["signature"]
            holds(signing.verify(self.key, text, signature), "writer")
            said = parse.read_object(text)
            named = (said["tablet_id"], said["location_id"], said["public_key"])
            holds(named == (tablet_id, self.location_id, key), "writer")
            self.certified += 1
        return key

    def _content(self) -> None:
        """Work out what each signature covers, and whether it says so where its payload is here."""
        for each in self.events:
            body = each["body"]
            if body["type"] != order.SIGNED:
                continue
            covered = order.content_hash(self.events, before=body["event_id"])
            said = (each["payload"] or {}).get("content_hash")
            # One that covers other entries was flagged in the record and is no damage to the log.
            self.content.append(
                {
                    "position": each["position"],
                    "content_hash": covered,
                    "as_signed": None if each["payload"] is None else said == covered,
                }
            )

    def _papers(self, paper: bytes | None) -> None:
        said = self.proof["papers"]
        if not signing.verify(self.key, said["text"], said["signature"]):
            raise _Broken(None, "papers")
        papers = parse.read_object(said["text"])
        if (papers["record_id"], papers["location_id"]) != (self.record_id, self.location_id):
            raise _Broken(None, "papers")
        self.papers = papers["papers"]
        if paper is None:
            return
        digest = hashlib.sha256(paper).hexdigest()
        self.paper = next((one for one in self.papers if one["sha256"] == digest), None)
        if self.paper is None:
            raise _Broken(None, "paper")

    def _erased(self) -> None:
        said = self.proof.get("erased")
        if said is None:
            return
        if not signing.verify(self.key, said["text"], said["signature"]):
            raise _Broken(None, "erased")
        found = parse.read_object(said["text"])
        if (found["record_id"], found["location_id"]) != (self.record_id, self.location_id):
            raise _Broken(None, "erased")
        own = {each["position"] for each in self.events}
        # By nobody's word is not erased: it is missing.
        for one in found["entries"]:
            if one["position"] not in own or "by_position" not in one:
                raise _Broken(one["position"], "erased")
        self.erased = found["entries"]
