"""Ways to reach a server: Flask's test client inside one process, or real HTTP.

A transport is a callable ``(method, path, json, headers) -> (status, json)``. It keeps cookies by
itself, so each desk and each tablet takes one of its own. An answer without JSON comes as None,
or as bytes where it is a file; a body given as bytes is sent as the picture that it is.
"""

import json as json_module
import urllib.error
import urllib.request
from collections.abc import Callable, Mapping
from http.cookiejar import CookieJar, DefaultCookiePolicy
from typing import Any

PICTURE = "image/jpeg"
Transport = Callable[[str, str, Any, Mapping[str, str]], tuple[int, Any]]


def from_test_client(client: Any) -> Transport:
    """Return a transport over a Flask test client."""

    def send(method: str, path: str, json: Any, headers: Mapping[str, str]) -> tuple[int, Any]:
        if isinstance(json, bytes):
            more = {"data": json, "content_type": PICTURE}
        else:
            more = {} if json is None else {"json": json}
        answer = client.open(path, method=method, headers=dict(headers), **more)
        return answer.status_code, _read(answer.headers.get("Content-Type", ""), answer.data)

    return send


def from_url(base_url: str, *, timeout_s: float = 30.0) -> Transport:
    """Return a transport over HTTP to ``base_url``, such as ``http://127.0.0.1:8080``.

    Raises ``OSError`` where the server cannot be reached, as ``urllib`` does.
    """
    # Proxies of the environment would catch loopback addresses too, so none are used.
    opener = urllib.request.build_opener(
        urllib.request.ProxyHandler({}),
        urllib.request.HTTPCookieProcessor(CookieJar(DefaultCookiePolicy())),
    )

    def send(method: str, path: str, json: Any, headers: Mapping[str, str]) -> tuple[int, Any]:
        picture = isinstance(json, bytes)
        data = json if picture or json is None else json_module.dumps(json).encode("utf-8")
        request = urllib.request.Request(
            base_url.rstrip("/") + path, data=data, method=method, headers=dict(headers)
        )
        if data is not None:
            request.add_header("Content-Type", PICTURE if picture else "application/json")
        try:
            with opener.open(request, timeout=timeout_s) as answer:
                return answer.status, _read(answer.headers.get("Content-Type", ""), answer.read())
        except urllib.error.HTTPError as refused:
            with refused:
                kind = refused.headers.get("Content-Type", "")
                return refused.code, _read(kind, refused.read())

    return send


def _read(content_type: str, data: bytes) -> Any:
    if not data:
        # A change that is done and has nothing to say.
        return None
    return json_module.loads(data) if "json" in content_type else data
