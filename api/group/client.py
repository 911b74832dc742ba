"""A practice's requests to its group: signed, answered by the group's key, or failed plainly.

TLS is asked for outside the machine itself. Whatever goes wrong on the way is ``Unreachable`` and
may be tried again; what the group refuses is a ``Refused`` with its code.
"""

import ipaddress
import json
import re
import socket
import ssl
import urllib.error
import urllib.request
from collections.abc import Callable, Mapping
from datetime import datetime, timedelta
from http.client import HTTPException
from urllib.parse import urlsplit

from api.clock import Clock, parse_rfc3339, rfc3339
from api.errors import BadInput, DomainError
from api.events import signing
from api.group import words
from api.settings import API_PREFIX

TIMEOUT_S = 30.0
# A photograph that comes back as text is a third longer than its four mebibytes.
LARGEST_ANSWER = 8 << 20

_CODE = re.compile(r"[a-z0-9_]{1,64}")
_LONGEST_DETAIL = 1000

# (path below the API's prefix, body, headers) -> (status, body). Raises OSError.
Send = Callable[[str, bytes, Mapping[str, str]], tuple[int, bytes]]


class Unreachable(DomainError):
    """The group could not be asked; nothing is known of what it did."""


class Refused(DomainError):
    """The group said no, with a stable code; ``facts`` has its ``problem`` and ``status``."""


class Client:
    """Asks a group for a practice; ``group_key`` is that of every signed answer."""

    def __init__(
        self,
        send: Send,
        clock: Clock,
        key: signing.PrivateKey | None,
        random: Callable[[int], bytes],
        *,
        group_key: str | None,
        practice_id: str | None = None,
    ) -> None:
        self._send, self._clock, self._random = send, clock, random
        # None while a practice that lost everything has not yet its own key again.
        self.key = key
        self.group_key = group_key
        self.practice_id = practice_id
        self._ahead = timedelta(0)

    def identify(self, *, fingerprint: str | None = None) -> str:
        """Let the group prove its key, and learn what time it is there; return its public key.

        The key must be the known one, or at first that of the fingerprint that a person typed.
        Raises ``Refused`` "group_other" for another one.
        """
        nonce = self._random(32).hex()
        answer = self.ask("/group/identity", {"nonce": nonce}, signed=False)
        public_key = self.group_key or str(answer.get("public_key"))
        said = words.read(public_key, "identity", answer.get("said"))
        known = fingerprint is None or words.fingerprint(public_key) == fingerprint
        if said is None or said.get("nonce") != nonce or not known:
            raise Refused("group_other", "The server at this address is another one.")
        self._ahead = _moment(said.get("at")) - self._clock.now()
        self.group_key = public_key
        return public_key

    def said(self, kind: str, answer: Mapping) -> dict:
        """Return what the group says in an answer. Raises ``Refused`` "group_other"."""
        said = words.read(self.group_key or "", kind, answer.get("said"))
        if said is None or said.get("practice_id") != self.practice_id:
            raise Refused("group_other", "The answer is not signed by the group.")
        return said

    def ask(self, path: str, body: Mapping, *, signed: bool = True) -> dict:
        """Send one request and return the answer. Raises ``Unreachable`` and ``Refused``."""
        return self._ask(path, words.to_bytes(body), kind="application/json", signed=signed)

    def hand_in(self, path: str, raw: bytes, *, kind: str) -> dict:
        """Send bytes of another kind, signed as they are; else as :meth:`ask`."""
        return self._ask(path, raw, kind=kind, signed=True)

    def _ask(self, path: str, raw: bytes, *, kind: str, signed: bool) -> dict:
        headers = {"Content-Type": kind}
        if signed:
            at = rfc3339(self._clock.now() + self._ahead)
            text = words.request_text(
                path=API_PREFIX + path, at=at, body=raw, group_key=self.group_key or ""
            )
            headers |= {
                "Dosebook-Practice": self.practice_id or "",
                "Dosebook-At": at,
                "Dosebook-Signature": signing.sign(self.key, text),
            }
        try:
            status, answered = self._send(API_PREFIX + path, raw, headers)
        except (OSError, HTTPException) as problem:
            raise Unreachable(_why(problem), f"The group was not reached: {problem}") from problem
        return _answer(status, answered)


def _answer(status: int, raw: bytes) -> dict:
    try:
        answer = json.loads(raw)
    except ValueError:
        answer = None
    if not isinstance(answer, dict):
        # Cut on its way, or from something that stands between.
        raise Unreachable("group_answer_broken", "The group's answer could not be read.")
    if 200 <= status < 300:
        return answer
    if status >= 500 or status == 429:
        raise Unreachable("group_busy", "The group cannot answer just now.", status=status)
    # Both are written into logs and onto terminals, and whoever answers may be no group of ours.
    code, detail = answer.get("code"), answer.get("detail")
    raise Refused(
        code if isinstance(code, str) and _CODE.fullmatch(code) else "refused",
        _one_line(detail) if isinstance(detail, str) and detail else "The group refused.",
        status=status,
        problem=answer,
    )


def _one_line(text: str) -> str:
    return "".join(sign if sign.isprintable() else " " for sign in text[:_LONGEST_DETAIL])


def _why(problem: Exception) -> str:
    reason = getattr(problem, "reason", problem)
    if isinstance(reason, ssl.SSLError):
        return "group_certificate"
    if isinstance(reason, TimeoutError):
        return "group_timeout"
    if isinstance(reason, socket.gaierror):
        return "group_name_unknown"
    return "group_unreachable"


def _moment(text: object) -> datetime:
    try:
        return parse_rfc3339(str(text))
    except ValueError:
        raise Refused("group_other", "The group does not say what time it is.") from None


def check_address(text: str) -> str:
    """Return an address of a group, without a slash at its end.

    Raises ``BadInput`` where records would go over a network in the clear.
    """
    try:
        parts = urlsplit(text.rstrip("/"))
        usable = parts.scheme in ("http", "https") and parts.hostname and parts.port != 0
    except ValueError:
        usable = False
    if not usable or set(text) & set("@?#") or not text.isprintable() or " " in text:
        raise BadInput(
            "address_unusable",
            f"An address is like https://group.example, not {text!r}",
            field="address",
        )
    if parts.scheme == "http" and not _is_here(parts.hostname):
        raise BadInput("tls_needed", "Records leave this machine by https only.", field="address")
    return text.rstrip("/")


def _is_here(host: str) -> bool:
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


class _NoRedirect(urllib.request.HTTPRedirectHandler):
    def redirect_request(self, *_args, **_kwargs):
        return None


def over_http(address: str, *, timeout_s: float = TIMEOUT_S) -> Send:
    """Return what sends requests to ``address``: certificates checked, no redirect followed."""
    opener = urllib.request.build_opener(_NoRedirect)

    def send(path: str, body: bytes, headers: Mapping[str, str]) -> tuple[int, bytes]:
        asked = urllib.request.Request(
            address + path, data=body, method="POST", headers=dict(headers)
        )
        try:
            with opener.open(asked, timeout=timeout_s) as answer:
                return answer.status, answer.read(LARGEST_ANSWER)
        except urllib.error.HTTPError as refused:
            with refused:
                return refused.code, refused.read(LARGEST_ANSWER)

    return send
