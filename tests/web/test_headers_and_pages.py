"""Headers on every answer, limits on every request, and the built pages."""

import gzip

import pytest

from api.settings import API_PREFIX
from tests.web.practice import SETTINGS


@pytest.fixture
def built(settings):
    """Build a page, a worker and a hashed file by hand."""
    folder = settings.static_dir
    (folder / "assets").mkdir(parents=True)
    (folder / "index.html").write_text("<!doctype html><title>Dosebook</title>")
    (folder / "sw.js").write_text("// worker")
    (folder / "assets" / "index-B3kf9_Qx.js").write_text("// hashed")
    (folder / ".built").write_text("digest")
    return folder


PLACES = [
    ("GET", "/", 503),
    ("GET", f"{API_PREFIX}/health", 200),
    ("GET", f"{API_PREFIX}/records", 401),
    ("GET", f"{API_PREFIX}/nothing", 404),
    ("PUT", f"{API_PREFIX}/health", 405),
    ("OPTIONS", f"{API_PREFIX}/dose", 405),
]


@pytest.mark.parametrize(("method", "path", "status"), PLACES)
def test_every_answer_carries_the_headers(client, method, path, status):
    answer = client.open(path, method=method)
    assert answer.status_code == status
    policy = dict(
        part.split(" ", 1) for part in answer.headers["Content-Security-Policy"].split("; ")
    )
    assert policy["default-src"] == "'none'"
    assert policy["script-src"] == policy["style-src"] == "'self'"
    assert policy["frame-ancestors"] == policy["base-uri"] == "'none'"
    assert "unsafe" not in answer.headers["Content-Security-Policy"]
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert answer.headers["Referrer-Policy"] == "no-referrer"
    assert answer.headers["Cache-Control"] == "no-store"
    assert "Clear-Site-Data" not in answer.headers
    assert "Access-Control-Allow-Origin" not in answer.headers


@pytest.mark.parametrize("method", ["GET", "POST", "PUT", "PATCH", "DELETE"])
@pytest.mark.parametrize("path", ["/api", "/api/", "/api/v1", "/api/v2/x", "/api/v1/nothing"])
def test_an_unknown_address_of_the_interface_is_a_problem(client, built, method, path):
    answer = client.open(path, method=method)
    assert (answer.status_code, answer.json["code"]) == (404, "not_found")
    assert answer.content_type == "application/problem+json"


def test_a_wrong_method_says_which_are_right(client):
    answer = client.delete(f"{API_PREFIX}/dose")
    assert (answer.status_code, answer.json["code"]) == (405, "method_not_allowed")
    assert answer.headers["Allow"] == "POST"


def test_a_body_above_the_limit_is_refused_unread(client):
    answer = client.post(
        f"{API_PREFIX}/dose", data=b" " * (1 << 20) + b"{}", content_type="application/json"
    )
    assert (answer.status_code, answer.json["code"]) == (413, "too_large")


def test_a_body_of_unstated_length_is_refused(client):
    answer = client.post(
        f"{API_PREFIX}/dose",
        data=b"{}",
        content_type="application/json",
        headers={"Transfer-Encoding": "chunked"},
        environ_overrides={"CONTENT_LENGTH": ""},
    )
    assert (answer.status_code, answer.json["code"]) == (411, "length_required")


def test_a_body_at_the_limit_is_read(client):
    room = (1 << 20) - 200
    answer = client.post(
        f"{API_PREFIX}/dose", data=b" " * room + b"{", content_type="application/json"
    )
    assert answer.status_code == 400


def test_without_built_pages_it_says_what_to_build(client):
    answer = client.get("/")
    assert (answer.status_code, answer.mimetype) == (503, "text/plain")
    assert "npm run build" in answer.text
    # The interface does not need the pages.
    assert client.post(f"{API_PREFIX}/dose", json=SETTINGS).status_code == 200


def test_pages_are_asked_for_again_and_hashed_files_are_not(client, built):
    for path in ("/", "/index.html", "/desk/queue", "/sw.js"):
        answer = client.get(path)
        assert answer.status_code == 200, path
        assert answer.headers["Cache-Control"] == "no-cache", path
    hashed = client.get("/assets/index-B3kf9_Qx.js")
    assert hashed.headers["Cache-Control"] == "public, max-age=31536000, immutable"
    assert hashed.mimetype == "text/javascript"
    assert client.get("/sw.js").mimetype == "text/javascript"


def test_a_packed_file_goes_to_whoever_reads_its_packing(client, built):
    name = "assets/index-B3kf9_Qx.js"
    (built / f"{name}.gz").write_bytes(gzip.compress(b"// hashed"))
    (built / f"{name}.br").write_bytes(b"not looked into here")
    told = {}
    for asked in ("", "gzip", "gzip, br", "gzip;q=0", "zstd"):
        answer = client.get(f"/{name}", headers={"Accept-Encoding": asked})
        assert (answer.status_code, answer.mimetype) == (200, "text/javascript"), asked
        assert answer.headers["Vary"] == "Accept-Encoding", asked
        told[asked] = answer.headers.get("Content-Encoding")
        if told[asked] == "gzip":
            assert gzip.decompress(answer.data) == b"// hashed"
        if told[asked] is None:
            assert answer.data == b"// hashed"
    assert told == {"": None, "gzip": "gzip", "gzip, br": "br", "gzip;q=0": None, "zstd": None}


def test_a_screen_s_address_gives_the_page(client, built):
    assert "<title>Dosebook</title>" in client.get("/desk/queue").text


def test_trusted_types_are_asked_of_the_page_and_not_of_the_worker(client, built):
    page = client.get("/").headers["Content-Security-Policy"]
    assert "require-trusted-types-for 'script'" in page
    assert "unsafe" not in page
    assert "trusted-types" not in client.get("/sw.js").headers["Content-Security-Policy"]


def test_an_unchanged_page_is_not_sent_again(client, built):
    tag = client.get("/").headers["ETag"]
    assert client.get("/", headers={"If-None-Match": tag}).status_code == 304


@pytest.mark.parametrize(
    "path",
    [
        "/missing.js",
        "/.built",
        "/assets/.hidden/x.js",
        "/..%2f..%2fdosebook.sqlite3",
        "/%2e%2e/dosebook.sqlite3",
        "/assets/..%5c..%5cserver_key.pem",
        "/server_key.pem",
    ],
)
def test_only_built_files_are_served(client, built, path):
    answer = client.get(path)
    assert answer.status_code == 404
    assert answer.content_type == "application/problem+json"
