"""Headers on every answer: what a browser may load, keep and guess."""

from flask import Flask, Response, request

from api.web.context import context

_POLICY = (
    "default-src 'none'",
    "script-src 'self'",
    "style-src 'self'",
    "img-src 'self' data: blob:",
    "font-src 'self'",
    "connect-src 'self'",
    "manifest-src 'self'",
    "worker-src 'self'",
    "base-uri 'none'",
    "form-action 'self'",
    "frame-ancestors 'none'",
)
CONTENT_SECURITY_POLICY = "; ".join(_POLICY)

# For a file of somebody else's making: it loads nothing, runs nothing and belongs to no origin.
SANDBOX = "sandbox; default-src 'none'; frame-ancestors 'none'"

# For the page only: the worker loads its library by a plain text, which this would forbid. The one
# policy named is the page's own, for registering the worker.
_PAGE_ONLY = ("require-trusted-types-for 'script'", "trusted-types dosebook-worker")

_ALWAYS = {
    "Content-Security-Policy": CONTENT_SECURITY_POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(self), geolocation=(), microphone=(), screen-wake-lock=(self)",
}

# A year (RFC 6797). Not for names beside this one, which are not ours to speak for.
_STAY_WITH_TLS = "max-age=31536000"


def _apply(response: Response) -> Response:
    for name, value in _ALWAYS.items():
        response.headers.setdefault(name, value)
    if response.mimetype == "text/html":
        response.headers["Content-Security-Policy"] = "; ".join((*_POLICY, *_PAGE_ONLY))
    if context().settings.secure_cookies:
        response.headers["Strict-Transport-Security"] = _STAY_WITH_TLS
    if request.path.startswith("/api/"):
        response.headers["Cache-Control"] = "no-store"
    return response


def install(app: Flask) -> None:
    """Put the headers on every answer of ``app``, refusals included."""
    app.after_request(_apply)
