"""Both transports answer alike: status and JSON, bytes for files, cookies kept by each one."""

import threading

import pytest
from flask import Flask, jsonify, request
from werkzeug.serving import make_server

from api.demo.tablet_client import Refused, ask
from api.demo.transport import from_test_client, from_url


def application() -> Flask:
    app = Flask("echo")

    @app.post("/api/v1/echo")
    def echo():
        answer = jsonify({"json": request.json, "header": request.headers.get("Dosebook-Person")})
        answer.set_cookie("seen", "yes")
        return answer, 201

    @app.get("/api/v1/seen")
    def seen():
        return jsonify({"seen": request.cookies.get("seen")})

    @app.get("/api/v1/file")
    def file():
        return b"\x00\x01", {"Content-Type": "application/pdf"}

    @app.delete("/api/v1/nothing")
    def nothing():
        return "", 204

    @app.get("/api/v1/refused")
    def refused():
        problem = {"code": "pin_wrong", "detail": "The PIN is wrong.", "attempts_left": 3}
        return jsonify(problem), 401, {"Content-Type": "application/problem+json"}

    return app


@pytest.fixture(params=["test client", "http"])
def new_transport(request):
    app = application()
    if request.param == "test client":
        yield lambda: from_test_client(app.test_client())
        return
    server = make_server("127.0.0.1", 0, app, threaded=True)
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    yield lambda: from_url(f"http://127.0.0.1:{server.server_port}")
    server.shutdown()
    thread.join()
    server.server_close()


def test_json_and_headers_go_there_and_come_back(new_transport):
    status, answer = new_transport()(
        "POST", "/api/v1/echo", {"a": "µ"}, {"Dosebook-Person": "token"}
    )
    assert (status, answer) == (201, {"json": {"a": "µ"}, "header": "token"})


def test_each_transport_keeps_its_own_cookies(new_transport):
    one, other = new_transport(), new_transport()
    one("POST", "/api/v1/echo", {}, {})
    assert one("GET", "/api/v1/seen", None, {}) == (200, {"seen": "yes"})
    assert other("GET", "/api/v1/seen", None, {}) == (200, {"seen": None})


def test_files_are_bytes_and_nothing_is_none(new_transport):
    send = new_transport()
    assert send("GET", "/api/v1/file", None, {}) == (200, b"\x00\x01")
    assert send("DELETE", "/api/v1/nothing", None, {}) == (204, None)


def test_a_problem_is_raised_with_its_code_and_facts(new_transport):
    with pytest.raises(Refused) as refused:
        ask(new_transport(), "GET", "/refused")
    assert refused.value.code == "pin_wrong"
    assert refused.value.facts["status"] == 401
    assert refused.value.facts["problem"]["attempts_left"] == 3
