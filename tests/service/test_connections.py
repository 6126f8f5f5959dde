"""Connections: how soon they answer, how long those are waited for that say nothing, and who gives way to whom.

Rules: RFC 896 (small parts held back until what went before is acknowledged), RFC 1122 (4.2.3.2: acknowledgements may
come late), RFC 9110 (408, 503), RFC 4291 (2.5.4: a network of 64 bits).
"""

import socket
import time
from contextlib import ExitStack, closing, contextmanager, suppress
from http.client import HTTPConnection

import pytest
from made_records import layout, run_folder
from served import served

from optimizer.service.addresses import counted_as

MOST, SILENT_MOST = 12, 5


@pytest.fixture(scope="module")
def client(tmp_path_factory):
    with served(tmp_path_factory.mktemp("shelf") / "results") as client:
        yield client


def test_an_answer_on_a_kept_connection_does_not_wait_for_an_acknowledgement(client):
    # Linux acknowledges at once on a young connection, then after 40 ms at the least.
    spent = []
    with closing(HTTPConnection("127.0.0.1", client.port, timeout=60)) as connection:
        for _ in range(30):
            begun = time.monotonic()
            connection.request("GET", "/api/v1/")
            connection.getresponse().read()
            spent.append(time.monotonic() - begun)
    assert min(spent[10:]) < 0.038


@pytest.fixture(scope="module")
def small(tmp_path_factory):
    """A service that takes few connections and waits for none long, but for bodies."""
    given = {"connections_most": MOST, "head_seconds": 1.0, "followers_most": MOST + 1}
    with served(tmp_path_factory.mktemp("small") / "results", **given) as client:
        yield client


@pytest.fixture(scope="module")
def fair(tmp_path_factory):
    """A service that grants an address few connections on which nothing is said, and waits for all."""
    given = {"silent_most": SILENT_MOST, "head_seconds": 60.0}
    with served(tmp_path_factory.mktemp("fair") / "results", **given) as client:
        yield client


@contextmanager
def connected(client, count, says=b""):
    """So many connections that all say the same."""
    with ExitStack() as stack:
        found = [
            stack.enter_context(socket.create_connection(("127.0.0.1", client.port), timeout=30)) for _ in range(count)
        ]
        for each in found:
            each.sendall(says)
        yield found


def closed(connection, seconds=0.5):
    """Whether the service closes a connection within so long."""
    connection.settimeout(seconds)
    try:
        while connection.recv(65_536):
            pass
    except TimeoutError:
        return False
    except ConnectionResetError:
        return True
    return True


HEAD = b"GET /api/v1/ HTTP/1.1\r\nHost: 127.0.0.1\r\n"
UPLOAD = b"POST /api/v1/session HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: 9\r\n\r\n{"


def answered(connection):
    """Read a connection's first answer, an object of JSON, or to its end."""
    came = b""
    with suppress(ConnectionResetError):
        while not came.endswith(b"}") and (part := connection.recv(65_536)):
            came += part


@pytest.mark.parametrize("says", [b"", HEAD, UPLOAD, HEAD + b"\r\n", HEAD + b"\r\n" + HEAD])
def test_those_who_say_nothing_shut_nobody_out(small, says):
    with connected(small, 3 * MOST, says) as found:
        if says.startswith(HEAD + b"\r\n"):  # one whose answer is on its way does say something
            for each in found:
                answered(each)
        assert [small.get("/").status for _ in range(3)] == [200, 200, 200]


def test_a_head_that_does_not_come_is_told_so_and_not_waited_for(small):
    with connected(small, 1, HEAD) as (connection,):
        came, begun = b"", time.monotonic()
        while part := connection.recv(65_536):
            came += part
        assert came.startswith(b"HTTP/1.1 408 Request Timeout\r\n")
        assert b"did not arrive within 1 s" in came
        assert 0.9 < time.monotonic() - begun < 15


def lasts(connection, seconds):
    """How long a connection takes single bytes."""
    begun = time.monotonic()
    with suppress(OSError):
        while time.monotonic() < begun + seconds:
            connection.sendall(b"x")
            time.sleep(0.05)
    return time.monotonic() - begun


REFUSED = b"PUT /api/v1/session HTTP/1.1\r\nHost: evil.example\r\nContent-Length: 5000\r\n\r\n"


@pytest.mark.parametrize("first", [b"", HEAD + b"\r\n", REFUSED], ids=["the first", "the next", "after a refusal"])
def test_a_head_that_trickles_is_not_waited_for_either(small, first):
    with connected(small, 1, first) as (connection,):
        assert lasts(connection, 20) < 15


def test_silence_beyond_its_share_is_an_addresses_own_loss(fair):
    with connected(fair, 2 * SILENT_MOST) as found:
        assert all(closed(each, 30) for each in found[:SILENT_MOST])
        time.sleep(0.5)
        assert not any(closed(each, 0.01) for each in found[SILENT_MOST:])
        found[-1].settimeout(30)
        found[-1].sendall(HEAD + b"\r\n")
        assert found[-1].recv(65_536).startswith(b"HTTP/1.1 200 ")


def test_full_of_those_who_are_answered_it_says_so(tmp_path):
    with served(tmp_path / "results", connections_most=3) as client:
        run_folder(tmp_path / "results" / "pipe", [layout()])
        follow = b"GET /api/v1/runs/pipe/events HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n"
        with connected(client, 3, follow) as found:
            assert all(each.recv(65_536).startswith(b"HTTP/1.1 200 ") for each in found)
            answer = client.get("/")
            assert (answer.status, answer.json["title"]) == (503, "busy")
            assert answer.headers["connection"] == "close"
            assert not any(map(closed, found))
        deadline = time.monotonic() + 20
        while client.get("/").status != 200:
            assert time.monotonic() < deadline


@pytest.mark.parametrize(
    ("host", "counted"),
    [("192.0.2.7", "192.0.2.7"), ("::ffff:192.0.2.7", "192.0.2.7"), ("2001:db8:1:2:3:4:5:6", "2001:db8:1:2::/64"),
     ("2001:db8:1:2:ffff::", "2001:db8:1:2::/64"), ("::1", "::/64"), ("", ""), ("x" * 500, "x" * 64)],
)  # fmt: skip
def test_an_address_counts_as_itself_or_its_network(host, counted):
    assert counted_as(host) == counted
