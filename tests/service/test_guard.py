"""Who may ask the service, how much and how slowly; and what every answer carries.

Rules: RFC 9110 (Host, 401, 405, 408, 413, 421), RFC 9112 (chunks), RFC 9457 (problem details), Fetch Metadata.
"""

import socket
import threading
import time
from contextlib import closing
from tempfile import SpooledTemporaryFile

import pytest
from made_records import layout, run_folder
from served import served

from optimizer.service import guard
from optimizer.service.guard import IN_MEMORY_BYTES
from optimizer.service.refusals import HEADERS
from optimizer.service.tokens import digest_of

TOKEN = "a token of the Lantern Hall shelf"


@pytest.fixture(scope="module")
def results(tmp_path_factory):
    folder = tmp_path_factory.mktemp("shelf") / "results"
    run_folder(folder / "pipe-1", [layout()])
    return folder


@pytest.fixture(scope="module")
def client(results):
    with served(results, body_seconds=0.5, body_bytes_most=10_000, names=("shelf.example",)) as client:
        yield client


@pytest.fixture(scope="module")
def locked(tmp_path_factory):
    folder = tmp_path_factory.mktemp("locked") / "results"
    run_folder(folder / "pipe-1", [layout()])
    with served(folder, token_digest=digest_of(TOKEN)) as client:
        yield client


def told(client, raw):
    """What comes back for bytes as they are."""
    with closing(socket.create_connection(("127.0.0.1", client.port), timeout=10)) as connection:
        connection.sendall(raw)
        parts = []
        while part := connection.recv(65_536):
            parts.append(part)
        return b"".join(parts)


def is_problem(answer, status):
    """Whether an answer is problem details of that status."""
    found = answer.json
    assert answer.status == found["status"] == status
    assert answer.headers["content-type"] == "application/problem+json"
    assert found["type"] == "about:blank"
    assert found["title"]
    return found["detail"]


@pytest.mark.parametrize("host", ["127.0.0.1", "localhost:8750", "LOCALHOST", "[::1]:80", "192.0.2.7:8750", "[::1]",
                                  "shelf.example", "Shelf.Example:443"])  # fmt: skip
def test_it_answers_to_its_names_and_to_plain_addresses(client, host):
    assert client.get("/", host=host).status == 200


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1.evil.example", "localhost.evil.example:8750", "", ":80",
                                  "127.0.0.1@evil.example", "evil.example:127.0.0.1", "shelf.example.", "127.1", "[",
                                  "user@127.0.0.1", "user@shelf.example", "user:word@localhost:80", "127.0.0.1:x",
                                  "127.0.0.1:80@evil.example", "localhost:80:80", "[127.0.0.1", "localhost/x",
                                  "[shelf.example]", "localhost:800000", "local host", "127.0.0.1,evil.example",
                                  "x" * 5000])  # fmt: skip
def test_a_name_that_was_rebound_to_it_is_refused(client, host):
    assert "--name" in is_problem(client.get("/runs", host=host), 421)
    assert client.ask("GET", "/", host=host).status == client.ask("GET", "/static/none", host=host).status == 421


@pytest.mark.parametrize(
    "headers",
    [{"origin": "http://evil.example"}, {"origin": "null"}, {"origin": ""}, {"origin": "http://127.0.0.1"},
     {"sec_fetch_site": "cross-site"}, {"sec_fetch_site": "same-site"}, {"sec_fetch_site": "odd"}],
)  # fmt: skip
@pytest.mark.parametrize(
    ("method", "path"), [("POST", "/api/v1/session"), ("DELETE", "/api/v1/runs/pipe-1"), ("POST", "/api/v1/runs")]
)
def test_a_page_of_another_site_changes_nothing(client, method, path, headers):
    assert "another site" in is_problem(client.ask(method, path, {"token": ""}, **headers), 403)
    assert client.get("/runs/pipe-1").status == 200


def test_its_own_page_and_programs_may_change_things(client):
    own = f"127.0.0.1:{client.port}"
    for headers in ({}, {"origin": f"http://{own}"}, {"sec_fetch_site": "same-origin"}, {"sec_fetch_site": "none"}):
        assert client.post("/session", {"token": ""}, **headers).status == 204
    assert client.post("/session", {"token": ""}, host="shelf.example", origin="https://shelf.example").status == 204


def test_a_body_that_says_it_is_too_large_is_refused_before_it_comes(client):
    head = f"POST /api/v1/session HTTP/1.1\r\nHost: 127.0.0.1:{client.port}\r\nContent-Length: 10001\r\n\r\n"
    begun = time.monotonic()
    assert told(client, head.encode()).startswith(b"HTTP/1.1 413 ")
    assert time.monotonic() - begun < 5


def test_a_body_in_chunks_that_grows_too_large_is_refused(client):
    answer = client.post("/session", iter([b"x" * 6000] * 2), content_type="application/json")
    assert "10000 bytes" in is_problem(answer, 413)
    assert answer.headers["connection"] == "close"
    assert client.post("/session", iter([b'{"token"', b':""}']), content_type="application/json").status == 204


@pytest.mark.parametrize("headers", [{}, {"origin": "http://evil.example"}])
def test_the_answer_reaches_one_who_is_still_sending(client, headers):
    for _ in range(5):
        assert client.post("/session", b"x" * 8_000_000, **headers).status in (403, 413)


def test_a_large_body_waits_for_the_disk_in_a_thread_of_its_own(tmp_path, monkeypatch):
    """So that nobody else waits for it; what is small goes without a thread."""
    seen = []

    class Watched(SpooledTemporaryFile):
        def write(self, part):
            seen.append((self.tell() + len(part) > IN_MEMORY_BYTES, threading.current_thread().name))
            return super().write(part)

    monkeypatch.setattr(guard, "SpooledTemporaryFile", Watched)
    run_folder(tmp_path / "pipe-1", [layout()])
    with served(tmp_path) as client:
        sent = client.post("/runs/pipe-1/layouts/t00001/book?name=x.csv", b"x" * (2 * IN_MEMORY_BYTES))
    assert is_problem(sent, 422)
    threads = [{name for large, name in seen if large is which} for which in (False, True)]
    assert all(threads)
    assert not threads[0] & threads[1]


def test_a_body_that_does_not_come_is_not_waited_for(client):
    head = f"POST /api/v1/session HTTP/1.1\r\nHost: 127.0.0.1:{client.port}\r\nContent-Length: 9\r\n\r\n{{"
    begun = time.monotonic()
    assert told(client, head.encode()).startswith(b"HTTP/1.1 408 ")
    assert 0.4 < time.monotonic() - begun < 5


@pytest.mark.parametrize(
    "body",
    [b"", b"{", b"[" * 9000, b"\xff\xfe", b'{"token":1e999}', b'{"token":' + b"9" * 6000 + b"}", b"nil",
     b'{"token":"\\ud800"}', b'{"\\ud800":1}', b'{"token":NaN}',
     b'{"token":"a","a":1}', b'{"token":"' + b"a" * 201 + b'"}', b'"token"', b"\0"],
)  # fmt: skip
def test_what_is_no_request_is_told_so(client, body):
    answer = client.post("/session", body, content_type="application/json")
    assert is_problem(answer, answer.status)
    assert answer.status in (400, 422)


@pytest.mark.parametrize(
    ("method", "path", "status"),
    [("GET", "/", 200), ("GET", "/api/v1/", 200), ("GET", "/api/v1/openapi.json", 200), ("GET", "/static/none.js", 404),
     ("GET", "/api/v1/runs/none", 404), ("PUT", "/api/v1/runs", 405), ("GET", "/api/v1", 307),
     ("POST", "/api/v1/runs", 422)],
)  # fmt: skip
def test_every_answer_carries_the_headers_of_a_closed_house(client, method, path, status):
    answer = client.ask(method, path)
    assert answer.status == status
    assert {name: answer.headers[name] for name in HEADERS} == HEADERS
    assert "default-src 'none'" in answer.headers["content-security-policy"]
    assert "unsafe" not in answer.headers["content-security-policy"]
    if status == 405:
        assert answer.headers["allow"]


def test_a_fault_says_nothing_of_its_inside_and_carries_the_headers_too(results, monkeypatch, capfd):
    monkeypatch.setattr("optimizer.service.queue.Queue.removed", lambda _: 1 // 0)
    with served(results.parent / "other") as client:
        answer = client.get("/removed")
        assert is_problem(answer, 500) == "a fault of the service; its log says more"
        assert {name: answer.headers[name] for name in HEADERS} == HEADERS
    assert "ZeroDivisionError" in capfd.readouterr().err


# tokens


@pytest.mark.parametrize(
    "headers",
    [{}, {"authorization": "Bearer"}, {"authorization": "Bearer "}, {"authorization": TOKEN},
     {"authorization": f"Bearer {TOKEN}x"}, {"authorization": "Bearer \xe9"}, {"authorization": f"Basic {TOKEN}"},
     {"cookie": f"holewright={TOKEN}"}, {"cookie": f"holewright={digest_of(TOKEN)}"}, {"cookie": 'holewright="'},
     {"cookie": "\xff=\xfe; holewright=\xe9"}, {"cookie": "a" * 5000}],
)  # fmt: skip
@pytest.mark.parametrize("path", ["/", "/runs", "/openapi.json", "/none", "/runs/pipe-1/archive"])
def test_without_the_token_the_api_is_closed(locked, path, headers):
    answer = locked.get(path, **headers)
    assert is_problem(answer, 401)
    assert answer.headers["www-authenticate"] == "Bearer"


def test_with_the_token_it_opens(locked):
    for kind in ("Bearer", "bearer"):
        assert locked.get("/runs", authorization=f"{kind} {TOKEN}").status == 200


def test_the_page_is_open_so_that_the_token_can_be_given_there(locked):
    assert locked.ask("GET", "/").status == 200


def test_a_browser_exchanges_the_token_for_a_cookie_that_is_not_the_token(locked):
    assert "not the token" in is_problem(locked.post("/session", {"token": TOKEN[:-1]}), 403)
    answer = locked.post("/session", {"token": TOKEN})
    assert answer.status == 204
    cookie, *marks = answer.headers["set-cookie"].split("; ")
    assert {mark.lower() for mark in marks} >= {"httponly", "samesite=strict"}
    assert TOKEN not in cookie
    assert digest_of(TOKEN) not in cookie
    assert locked.get("/runs", cookie=f"other=1; {cookie}").status == 200
    assert locked.get("/runs", cookie=cookie[:-1]).status == 401


def test_over_tls_the_cookie_stays_there(locked):
    answer = locked.post("/session", {"token": TOKEN}, x_forwarded_proto="https")
    assert "secure" in answer.headers["set-cookie"].lower()
