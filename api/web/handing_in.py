"""What routes share that take a file: all of it, and from a tablet that may still hand in."""

from flask import request

from api.clock import parse_rfc3339
from api.errors import BadInput, NotAllowed
from api.sync.push import REVOKED_MAY_PUSH
from api.web import auth
from api.web.context import context


def whole_body(*, limit_bytes: int, code: str) -> bytes:
    """Return the body; raise ``BadInput`` with ``code`` where less came than was stated."""
    # One byte more than is allowed, so that what is too long is seen and not cut.
    content = request.stream.read(limit_bytes + 1)
    if len(content) != (request.content_length or 0):
        raise BadInput(code, "Not all of the file arrived.")
    return content


def check_revoked(tablet: auth.Caller) -> None:
    """Refuse what comes from a tablet after it may hand nothing in any more."""
    revoked_at = tablet.tablet["revoked_at"]
    now = context().clock.now()
    if revoked_at is not None and now - parse_rfc3339(revoked_at) > REVOKED_MAY_PUSH:
        raise NotAllowed("tablet_revoked", "This tablet was revoked.")
