"""For which name passkeys are made: the configured origin's, or localhost."""

from urllib.parse import urlsplit

from flask import request

from api.people.passkeys import RelyingParty
from api.web.context import context

LOCAL = "localhost"


def here() -> RelyingParty | None:
    """Return for whom passkeys are made at the address in use, or None where they cannot be.

    A browser takes a name only, never an IP address, and only over TLS or on this machine. The
    Host header alone does not choose the name: it is the configured one or localhost.
    """
    origin = context().settings.origin
    if origin is not None:
        parts = urlsplit(origin)
        return (
            RelyingParty(domain=parts.hostname or "", origin=origin)
            if request.host == parts.netloc
            else None
        )
    if request.host.partition(":")[0] != LOCAL:
        return None
    scheme = "https" if context().settings.secure_cookies else "http"
    return RelyingParty(domain=LOCAL, origin=f"{scheme}://{request.host}")
