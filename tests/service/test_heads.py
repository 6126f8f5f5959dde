"""What the head of a request may hold, and how soon one that holds more is refused.

Rules: RFC 9110 (414, 431), RFC 9112 (a request's head; 9.6: the answer before the connection closes), RFC 6585 (431),
RFC 6265 (cookies), RFC 9457 (problem details).
"""

import json
import socket
import time
from contextlib import closing

import pytest
from served import served
from shelf import PIPE

from optimizer.service.refusals import HEADERS
from optimizer.service.tokens import digest_of

TOKEN = "a token of the Lantern Hall shelf"
SO_MANY_PLAIN = 50
"""So many plain requests' processor time is soon: some 0.1 s, where a field read in vain again and again takes many."""


@pytest.fixture(scope="module")
def client(tmp_path_factory):
    with served(tmp_path_factory.mktemp("shelf") / "results", token_digest=digest_of(TOKEN)) as client:
        yield client


def answer(client, raw):
    """Status, header fields and body that bytes as they are bring about."""
    with closing(socket.create_connection(("127.0.0.1", client.port), timeout=60)) as connection:
        connection.sendall(raw)
        came = b""
        while part := connection.recv(65_536):
            came += part
    head, _, body = came.partition(b"\r\n\r\n")
    first, *fields = head.decode("latin-1").split("\r\n")
    pairs = (field.split(": ", 1) for field in fields)
    return int(first.split()[1]), {name.lower(): value for name, value in pairs}, body


def request(path="/", **fields):
    """A request with a Host, closed after its answer."""
    given = {"host": "127.0.0.1", "connection": "close", **fields}
    lines = "".join(f"{name.replace('_', '-')}: {value}\r\n" for name, value in given.items())
    return f"GET {path} HTTP/1.1\r\n{lines}\r\n".encode("latin-1")


def soon(client, raw, plain):
    """Whether a request costs no more than `SO_MANY_PLAIN` plain ones, by the shortest of three each, one after the
    other: processor time of the service's thread, too, whatever else the tests' process does meanwhile."""
    spent = []
    for _ in range(3):
        for one in (raw, plain):
            begun = time.process_time()
            answer(client, one)
            spent.append(time.process_time() - begun)
    return min(spent[::2]) < SO_MANY_PLAIN * min(spent[1::2])


TOO_LARGE = {
    "a field": (431, request(cookie="a" * 9000)),
    "fields together": (431, request(**{f"x{number}": "a" * 900 for number in range(30)})),
    "many fields": (431, request(**{f"x{number}": "a" for number in range(200)})),
    "a head in one piece": (431, request(**{f"x{number}": "a" * 7000 for number in range(30)})),
    "a head without an end": (431, b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nx: " + b"a" * 300_000),
    "an address": (414, request("/" + "a" * 9000)),
    "no host": (400, b"GET / HTTP/1.1\r\n\r\n"),
    "two hosts": (400, b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nHost: 127.0.0.1\r\n\r\n"),
    "no request": (400, b"\x16\x03\x01\r\n\r\n"),
    "another coding": (501, b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nTransfer-Encoding: gzip\r\n\r\n"),
    "both lengths": (400, b"POST /api/v1/session HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: 4\r\n"
                          b"Transfer-Encoding: chunked\r\n\r\n0\r\n\r\n"),
    "another protocol": (505, b"GET / HTTP/2.0\r\nHost: 127.0.0.1\r\n\r\n"),
    "a broken chunk": (400, b"POST /api/v1/session HTTP/1.1\r\nHost: 127.0.0.1\r\n"
                            b"Transfer-Encoding: chunked\r\n\r\nxyz\r\n"),
}  # fmt: skip


@pytest.mark.parametrize("what", TOO_LARGE)
def test_what_is_no_request_or_too_large_is_told_as_any_refusal(client, what):
    status, raw = TOO_LARGE[what]
    came, fields, body = answer(client, raw)
    problem = json.loads(body)
    assert came == problem["status"] == status
    assert problem["detail"]
    assert problem["title"] != "refused"
    assert fields["content-type"] == "application/problem+json"
    assert fields["connection"] == "close"
    assert {name: fields[name] for name in HEADERS} == HEADERS
    assert soon(client, raw, request())


def test_what_a_browser_and_a_proxy_send_passes(client):
    ranges = ", ".join(f"192.0.2.{number}" for number in range(100))
    fields = {f"x{number}": "a" * 200 for number in range(40)}
    found = answer(client, request("/?" + "a" * 2000, cookie="a=" + "b" * 4000, x_forwarded_for=ranges, **fields))
    assert found[0] == 200


@pytest.mark.parametrize("path", ["/", "/api/v1/", "/static/style.css", "/api/v1/session"])
@pytest.mark.parametrize(
    ("name", "value"),
    [("cookie", 'a="' + '\\"' * 4000 + '"'), ("cookie", 'holewright="' + "\\1" * 4000), ("cookie", ";" * 8000),
     ("cookie", "holewright=;" * 600), ("range", "bytes=" + ",".join(f"{n}-{n}" for n in range(800))),
     ("if_none_match", '",' * 4000), ("accept", "*/*," * 2000), ("content_type", ";" * 8000), ("host", ":" * 8000),
     ("host", "[" * 8000), ("authorization", "Bearer " + "a" * 8000), ("x_forwarded_for", "," * 8000),
     ("x_forwarded_for", "[" * 8000), ("if_modified_since", "0 " * 4000), ("origin", ":" * 8000)],
)  # fmt: skip
def test_no_header_field_takes_long_to_read(client, path, name, value):
    raw = request(path, **{name: value})
    assert answer(client, raw)[0] in (200, 401, 403, 405, 421)
    assert soon(client, raw, request(path))


def test_a_session_is_found_among_other_cookies(client):
    cookie = client.post("/session", {"token": TOKEN}).headers["set-cookie"].split(";")[0]
    assert client.get("/runs", cookie=f'a="x\\"; b=1;{cookie};c').status == 200
    assert client.get("/runs", cookie=f"a{cookie}").status == 401


@pytest.mark.parametrize(
    ("target", "status"),
    [("http://127.0.0.1/static/app.js", 200), ("HTTP://localhost:80?a=1", 200), ("http://elsewhere.example/", 421)],
)
def test_a_target_may_name_its_host_and_that_one_counts(client, target, status):
    # RFC 9112, 3.2.2: a server must take such targets, and the host in them in place of the field's.
    assert answer(client, request(target))[0] == status


@pytest.mark.parametrize(("path", "version", "status"), [("/" + 9000 * "a", b"1.1", 414), ("/", b"2.0", 505)])
def test_the_head_alone_of_a_refusal_is_whole(client, path, version, status, caplog):
    # RFC 9110, 9.3.2: the fields that GET would be answered, and no content.
    asked = request(path).replace(b"HTTP/1.1", b"HTTP/" + version)
    (got, fields, told), (head, same, none) = (answer(client, each) for each in (asked, b"HEAD" + asked[3:]))
    assert (head, none) == (got, b"") == (status, b"")
    assert same["content-length"] == fields["content-length"] == str(len(told))
    assert caplog.messages == []  # a fault in answering closes the connection, too


def test_ranges_are_not_served_and_that_is_said(client):
    # RFC 9110, 14.2: a server may ignore Range; 14.3: Accept-Ranges: none.
    for wanted in ("bytes=0-5", "bytes=9999999-", "bytes=x"):
        found = client.ask("GET", "/static/style.css", range=wanted)
        assert (found.status, found.headers["accept-ranges"]) == (200, "none")


def test_a_body_that_needs_no_token_is_small(client):
    many = {f"k{number}": 1 for number in range(60_000)}
    for path in ("/api/v1/session", "/", "/static/app.js"):
        found = client.ask("POST", path, many)
        assert (found.status, "10000 bytes" in found.json["detail"]) == (413, True)


def test_no_more_is_told_than_anybody_mends(client):
    many = {"project": "", **{f"k{number}": 1 for number in range(60_000)}}
    found = client.post("/projects/check", many, authorization=f"Bearer {TOKEN}")
    assert (found.status, len(found.json["problems"])) == (422, 101)
    assert found.json["problems"][-1]["message"] == "59900 more problems; mend these first"


def test_of_a_project_with_many_things_to_mend_all_are_counted(client):
    asked = {"project": PIPE + "".join(f"[t{number}]\n" for number in range(150))}
    found = client.post("/projects/check", asked, authorization=f"Bearer {TOKEN}").json
    assert found["detail"] == "the project has 150 things to mend"
    assert (len(found["problems"]), found["problems"][-1]["message"]) == (101, "50 more problems; mend these first")
