"""Changes come from our own pages: Origin and Sec-Fetch-Site, beside the SameSite cookie."""

from urllib.parse import urlsplit

from flask import request

from api.errors import NotAllowed
from api.web.context import context

SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})


def check(*, must_be_stated: bool) -> None:
    """Refuse a change that another site's page sends.

    A browser states the origin on every change; programs need not. ``must_be_stated`` is for
    requests that a cookie speaks for: those come from browsers only, and what does not say where
    it comes from is refused. Raises ``NotAllowed``.
    """
    if request.method in SAFE_METHODS:
        return
    site = request.headers.get("Sec-Fetch-Site")
    origin = request.headers.get("Origin")
    foreign = (site is not None and site != "same-origin") or (
        origin is not None and not _is_ours(origin)
    )
    if foreign or (must_be_stated and origin is None and site is None):
        raise NotAllowed("foreign_origin", "Changes are taken from this server's own pages only.")


def _is_ours(origin: str) -> bool:
    try:
        parts = urlsplit(origin)
    except ValueError:
        return False
    # Behind a proxy that ends TLS the scheme we see is not the browser's; the host is.
    schemes = {"https"} if context().settings.secure_cookies else {"http", "https"}
    return parts.scheme in schemes and parts.netloc == request.host
