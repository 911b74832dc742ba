"""The application as a server that is late on purpose, so that a story that does not wait is found.

`STORY_LATE_S=1 python -m pytest tests/story` lets every answer of the interface take up to one
second more, part of it before the server does what it was asked and the rest before it says so.
`STORY_LATE_WHAT` narrows it to a row of ``WHICH``; `STORY_LATE_SEED` is the seed of the chances.
Nothing of this is part of the program: `serving.py` starts it in place of the program's own server.
"""

import os
import random
import time

from api.wsgi import application as punctual

LATE_S = float(os.environ.get("STORY_LATE_S", "0"))
# What is late, by the method and the beginning of the path that are asked for.
WHICH = {
    "answers": ("", "/api/"),
    "reads": ("GET", "/api/"),
    "writes": ("POST", "/api/"),
    "pulls": ("GET", "/api/v1/sync/pull"),
    "parts": ("GET", "/assets/"),
}
METHOD, PATH = WHICH[os.environ.get("STORY_LATE_WHAT", "answers")]
# That the server stands is asked before a story begins, and again and again.
NEVER_LATE = "/api/v1/health"
chance = random.Random(os.environ.get("STORY_LATE_SEED", "1"))


def application(environ, start_response):
    """Answer as the program does, and later."""
    path = environ["PATH_INFO"]
    late = environ["REQUEST_METHOD"].startswith(METHOD) and path.startswith(PATH)
    before, after = (chance.uniform(0, LATE_S / 2) for _ in range(2))
    if not late or path == NEVER_LATE:
        return punctual(environ, start_response)
    time.sleep(before)
    answer = punctual(environ, start_response)
    time.sleep(after)
    return answer
