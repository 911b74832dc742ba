"""The built pages, from the same origin as the interface they talk to."""

import mimetypes
import re
from pathlib import Path

from flask import Blueprint, Flask, Response, abort, request, send_from_directory
from werkzeug.routing import BaseConverter

from api.web import auth
from api.web.context import context

# The builder puts a hash of the content into such names: what they name never changes.
_HASHED = re.compile(r"^assets/.+-[A-Za-z0-9_-]{8,}\.[a-z0-9]+$")
# What the build packed beside a file, the smallest first.
_PACKED = (("br", ".br"), ("gzip", ".gz"))
_NOT_BUILT = (
    "The pages are not built yet. Run `npm ci` and `npm run build` in the folder pwa, "
    "then load this page again.\n"
)


class _PageConverter(BaseConverter):
    """Any path that is not the interface's, so that an unknown route under /api stays unknown."""

    regex = r"(?!api(?:/|$)).+"
    part_isolating = False
    weight = 300


@auth.rule(auth.ANYONE)
def get_index() -> Response:
    """Send the page."""
    return get_page("index.html")


@auth.rule(auth.ANYONE)
def get_page(path: str) -> Response:
    """Send a built file; an address without a file's ending is a screen of the one page."""
    if any(part.startswith(".") for part in path.split("/")):
        abort(404)
    folder = Path(context().settings.static_dir)
    if not (folder / "index.html").is_file():
        missing = Response(_NOT_BUILT, status=503, content_type="text/plain; charset=utf-8")
        missing.headers["Cache-Control"] = "no-store"
        return missing
    if "." not in path.rsplit("/", 1)[-1]:
        path = "index.html"
    response = _send(folder, path)
    if _HASHED.match(path):
        response.headers["Cache-Control"] = "public, max-age=31536000, immutable"
    else:
        # The page and the service worker decide which version runs: ask each time.
        response.headers["Cache-Control"] = "no-cache"
    return response


def _send(folder: Path, path: str) -> Response:
    for encoding, ending in _PACKED:
        if request.accept_encodings[encoding] > 0 and (folder / (path + ending)).is_file():
            kind = mimetypes.guess_type(path)[0]
            response = send_from_directory(folder, path + ending, etag=True, mimetype=kind)
            response.headers["Content-Encoding"] = encoding
            # The name is the file's on disk, which nobody asked for.
            response.headers.pop("Content-Disposition", None)
            break
    else:
        response = send_from_directory(folder, path, etag=True)
    response.headers["Vary"] = "Accept-Encoding"
    return response


def install(app: Flask) -> None:
    """Serve the built pages from ``app``."""
    app.url_map.converters["page"] = _PageConverter
    pages = Blueprint("pwa", __name__)
    # Not by a default of the other route, which would send /index.html on to /: the worker keeps
    # /index.html, and a browser does not take a page that was kept with a redirect.
    pages.add_url_rule("/", "index", get_index, methods=["GET"])
    pages.add_url_rule("/<page:path>", "page", get_page, methods=["GET"])
    app.register_blueprint(pages)
