"""The known-bad server: it keeps every request and forgets to close a file each time."""

import io
import os

from api.wsgi import application as ours

_kept: list[object] = []


def application(environ, start_response):
    """Serve as ours does, with every request's body kept and a handle left open."""
    body = environ["wsgi.input"].read(int(environ.get("CONTENT_LENGTH") or 0))
    _kept.append(body)
    if environ["PATH_INFO"].endswith("/push"):
        _kept.append(os.open("/dev/null", os.O_RDONLY))
    return ours({**environ, "wsgi.input": io.BytesIO(body)}, start_response)
