"""Where everybody asks every route about any id."""

import re

from tests.web import matrix

ABSENT = "01a13a56-59a0-7f0a-a9df-058e3e00028f"
NONSENSE = "%F0%9F%A6%B7..%5C%00'"
# Bodies of routes that name what they are about in the body: ID stands for it.
BODIES = {
    "POST /api/v1/commands/<type>": (
        "record_id",
        {"entity_id": "ID", "payload": {"how": "pdf", "note": None}},
    ),
    "POST /api/v1/records/release": (
        "record_id",
        {"record_ids": ["ID"], "to": "an insurer", "reason": "asked in writing"},
    ),
    "POST /api/v1/session/pin": ("person_id", {"person_id": "ID", "pin": "000000"}),
    "POST /api/v1/tablet/challenge": ("tablet_id", {"tablet_id": "ID"}),
}


class Door:
    """Where everybody asks; whatever a request changed is put back before the next one."""

    def __init__(self, app, place):
        self.app = app
        self.callers = list(matrix.callers(place))
        self._moment = matrix.moment_of(place.practice.house)
        self._changed = False

    def back(self):
        """Put everything back as it stood at the start."""
        self._moment.back()

    def ask(self, caller, name, address, method, ids, value=None):
        """Ask as ``caller``; ``value`` stands for every id where it is given, and is nobody's."""
        if self._changed:
            self.back()
        self._changed = method != "GET"
        about, body = BODIES.get(name, (None, {}))
        path = re.sub(
            r"<(?:\w+:)?(\w+)>",
            lambda named: ids[named[1]] if value is None or named[1] == "type" else value,
            address,
        )
        said = {None: ids.get(about), ABSENT: ABSENT}.get(value, "nonsense \u0000")
        more = {} if method == "GET" else {"json": _with(body, said)}
        headers = {**caller.headers, "Idempotency-Key": "a key of this test"}
        # The client's own jar would put aside the cookie that the caller brings.
        client = self.app.test_client(use_cookies=False)
        return client.open(path, method=method, headers=headers, **more)


def _with(body, said):
    """Put ``said`` in the place of every ID."""
    if isinstance(body, dict):
        return {name: _with(each, said) for name, each in body.items()}
    if isinstance(body, list):
        return [_with(each, said) for each in body]
    return said if body == "ID" else body
