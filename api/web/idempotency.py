"""The header under which a desk sends a command, so that sending twice does one thing."""

import re

from flask import request

from api.errors import BadInput

KEY_HEADER = "Idempotency-Key"
PARAMETER = {"in": "header", "name": KEY_HEADER, "required": True, "schema": {"type": "string"}}
_KEY = re.compile(r"^[!-~]{8,200}$")


def key() -> str:
    """Return the key of this request. Raises ``BadInput`` without a usable one."""
    found = request.headers.get(KEY_HEADER, "")
    if not _KEY.match(found):
        raise BadInput(
            "idempotency_key_needed",
            f"The header {KEY_HEADER} must carry 8 to 200 visible ASCII characters.",
            field=KEY_HEADER,
        )
    return found
