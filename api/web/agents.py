"""Which browser a session is in, in a few words by which its owner knows it again."""

from flask import request

# Asked in this order: later ones call themselves by the names of earlier ones as well.
_BROWSERS = (
    ("Edg/", "Edge"),
    ("Firefox/", "Firefox"),
    ("Chrome/", "Chrome"),
    ("Safari/", "Safari"),
)
_SYSTEMS = (
    ("Android", "Android"),
    ("iPhone", "iPhone"),
    ("iPad", "iPad"),
    ("Windows", "Windows"),
    ("Mac OS X", "macOS"),
    ("CrOS", "ChromeOS"),
    ("Linux", "Linux"),
)


def of_request() -> str | None:
    """Return such as "Firefox, Windows" for the browser that asks, or None where it is unknown.

    A program may claim what it likes: this helps to recognise a session and decides nothing.
    """
    text = request.headers.get("User-Agent", "")
    found = [
        next((name for sign, name in signs if sign in text), None)
        for signs in (_BROWSERS, _SYSTEMS)
    ]
    return ", ".join(name for name in found if name) or None
