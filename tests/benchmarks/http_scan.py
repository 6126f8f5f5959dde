"""The service's HTTP as others see it: what curl and plain sockets are answered, against RFC 9110 and RFC 9112.

    python tests/benchmarks/http_scan.py [--all] [--linter PROGRAM]

A row for each rule: section, what was asked, what came, whether that keeps to it; without --all those that do not.
linter : a program that is given an address and prints notes on its answers, such as redbot of that package's; told are
its notes on caching and validation. It ends with 1 where a rule is not kept. curl must be there. A service with three
runs is started for it.
"""

import argparse
import email.utils
import socket
import subprocess
import sys
import tempfile
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import NamedTuple

sys.path[:0] = [str(Path(__file__).parents[1] / "kit"), str(Path(__file__).parents[2])]

from fuzzed import shelf
from served import served

API = "/api/v1"
FRONT, FILE, STATIC = f"{API}/runs/0/front", f"{API}/runs/0/files/run.json", "/static/app.js"
CHECK = f"{API}/projects/check"
LINTED = ("/", STATIC, FRONT, FILE, f"{API}/runs", f"{API}/runs/0/archive", f"{API}/nothing")


class Answer(NamedTuple):
    """A final answer; before: statuses of what came before it."""

    status: int
    fields: dict[str, str]
    body: bytes
    before: tuple[int, ...] = ()


class Rule(NamedTuple):
    """A rule: its section, what is asked, and whether an answer keeps to it."""

    section: str
    asked: str
    answer: Callable[[], list[Answer]]
    kept: Callable[..., bool]


def read(data: bytes) -> list[Answer]:
    """The answers in what came over a connection, those of 1xx with the one after them."""
    found, before = list[Answer](), ()
    while data.startswith(b"HTTP/"):
        head, _, data = data.partition(b"\r\n\r\n")
        first, *lines = head.decode("latin-1").split("\r\n")
        status = int(first.split()[1])
        if status < 200:
            before += (status,)
            continue
        fields = {name.lower(): value.strip() for name, _, value in (line.partition(":") for line in lines)}
        length = len(data)
        if fields.get("transfer-encoding") == "chunked":
            length = data.find(b"0\r\n\r\n") + 5
        elif "content-length" in fields and data[: int(fields["content-length"])] and not data.startswith(b"HTTP/"):
            length = int(fields["content-length"])
        elif data.startswith(b"HTTP/"):
            length = 0
        found.append(Answer(status, fields, data[:length], before))
        data, before = data[length:], ()
    return found


class Asker:
    """Asks one service, by curl or by bytes on a socket."""

    def __init__(self, port: int) -> None:
        self.port = port

    def curl(self, path: str, *options: str, body: bytes = b"") -> Callable[[], list[Answer]]:
        """What curl is answered; body : what `-d @-` sends."""
        command = ["curl", "-sS", "-i", "--raw", "--path-as-is", "--max-time", "30", *options]
        command.append(f"http://127.0.0.1:{self.port}{path}")
        return lambda: read(subprocess.run(command, input=body, capture_output=True, check=False).stdout)

    def bytes(self, *parts: bytes) -> Callable[[], list[Answer]]:
        """What some bytes are answered until the service closes, or says nothing more."""

        def asked() -> list[Answer]:
            found = b""
            with closing(socket.create_connection(("127.0.0.1", self.port), timeout=8)) as line:
                line.sendall(b"".join(parts))
                try:
                    while part := line.recv(65_536):
                        found += part
                except (TimeoutError, ConnectionResetError):
                    pass
            return read(found)

        return asked


def status(*wanted: int) -> Callable[[list[Answer]], bool]:
    """Whether the one answer has one of these statuses."""
    return lambda found: len(found) == 1 and found[0].status in wanted


def _dated(found: list[Answer]) -> bool:
    return all(email.utils.parsedate_to_datetime(each.fields.get("date", "")) for each in found)


def rules(ask: Asker, tag: str, changed: str) -> list[Rule]:
    """Every rule; tag, changed: of the front, and of a script."""
    curl, sent, host = ask.curl, ask.bytes, b"Host: 127.0.0.1\r\n"
    close = host + b"Connection: close\r\n"
    get = b"GET " + FRONT.encode() + b" HTTP/1.1\r\n"
    kept = b"POST " + CHECK.encode() + b" HTTP/1.1\r\n" + host + b"Content-Type: application/json\r\n"
    post = kept + b"Connection: close\r\n"
    json = ("-H", "Content-Type: application/json")
    large = "x" * 9000
    return [
        *(Rule("9110 9.3.2", f"HEAD {path}", curl(path, "-I"), lambda found: status(200)(found) and not found[0].body)
          for path in (FRONT, FILE, STATIC, "/")),
        Rule("9110 9.3.7", "OPTIONS of an address", curl(FRONT, "-X", "OPTIONS"), lambda found: status(200, 204)(found)
             and found[0].fields.get("allow") == "GET, HEAD, OPTIONS"),
        Rule("9110 9.3.7", "OPTIONS *", sent(b"OPTIONS * HTTP/1.1\r\n", close, b"\r\n"), status(200, 204)),
        *(Rule("9110 15.5.6", f"{method} of the front", curl(FRONT, "-X", method),
               lambda found: status(501)(found) or (status(405)(found) and "GET" in found[0].fields.get("allow", "")))
          for method in ("PUT", "DELETE", "TRACE", "BREW")),
        Rule("9110 13.1.2", "If-None-Match of the tag", curl(FRONT, "-H", f"If-None-Match: {tag}"), _not_modified),
        Rule("9110 13.1.2", "If-None-Match of the weak tag among others",
             curl(FRONT, "-H", f'If-None-Match: "a", W/{tag}'), _not_modified),
        Rule("9110 13.1.2", "If-None-Match: *", curl(FRONT, "-H", "If-None-Match: *"), _not_modified),
        Rule("9110 13.1.2", "If-None-Match of another", curl(FRONT, "-H", 'If-None-Match: "a"'), status(200)),
        Rule("9110 13.1.1", "If-Match of the tag", curl(FRONT, "-H", f"If-Match: {tag}"), status(200)),
        Rule("9110 13.1.1", "If-Match of another", curl(FRONT, "-H", 'If-Match: "a"'), status(412)),
        Rule("9110 13.1.1", "If-Match of another, a script", curl(STATIC, "-H", 'If-Match: "a"'), status(412)),
        Rule("9110 13.1.3", "If-Modified-Since of a script", curl(STATIC, "-H", f"If-Modified-Since: {changed}"),
             _not_modified),
        Rule("9110 13.1.3", "If-None-Match before If-Modified-Since",
             curl(STATIC, "-H", f"If-Modified-Since: {changed}", "-H", 'If-None-Match: "a"'), status(200)),
        Rule("9110 13.1.4", "If-Unmodified-Since 1994 of a script",
             curl(STATIC, "-H", "If-Unmodified-Since: Sat, 29 Oct 1994 19:43:31 GMT"), status(412)),
        *(Rule("9110 8.8.3", f"a validator of {path}", curl(path), lambda found: status(200)(found)
               and "etag" in found[0].fields) for path in ("/", STATIC, FRONT, FILE)),
        Rule("9110 14.2", "a range of a file", curl(FILE, "-H", "Range: bytes=0-9"), lambda found:
             status(200)(found) or (status(206)(found) and "content-range" in found[0].fields)),
        Rule("9110 14.2", "a range beyond a file", curl(FILE, "-H", "Range: bytes=99999999-"), status(200, 416)),
        Rule("9110 14.2", "a range that is none", curl(FILE, "-H", "Range: lines=1"), status(200)),
        Rule("9110 15.5.16", "a project as plain text", curl(CHECK, "-H", "Content-Type: text/plain", "-d", "{}"),
             status(415)),
        Rule("9110 15.5.16", "JSON in gzip", curl(CHECK, *json, "-H", "Content-Encoding: gzip", "-d", "{}"),
             status(415)),
        Rule("9110 12.5.1", "Accept: text/html of JSON", curl(FRONT, "-H", "Accept: text/html"), status(200, 406)),
        Rule("9110 6.6.1", "a date in every answer", curl(f"{API}/nothing"), _dated),
        Rule("9110 10.1.1", "Expect: 100-continue", curl(CHECK, *json, "-H", "Expect: 100-continue", "-d", "{}"),
             lambda found: status(422)(found) and found[0].before == (100,)),
        Rule("9110 10.1.1", "Expect: 100-continue of too much",
             sent(post, b"Expect: 100-continue\r\nContent-Length: 2000000\r\n\r\n"),
             lambda found: status(413)(found) and not found[0].before),
        Rule("9110 15.5.14", "a body of 1.1 MB", curl(CHECK, *json, "-d", "@-", body=b"x" * 1_100_000), status(413)),
        Rule("9110 15.5.15", "an address of 9 kB", curl(f"{FRONT}?{large}"), status(414)),
        Rule("6585 5", "a field of 9 kB", curl(FRONT, "-H", f"X-A: {large}"), status(431)),
        Rule("9111 5.2", "private to who asks", curl(FRONT), lambda found:
             "private" in found[0].fields.get("cache-control", "")),
        Rule("9110 7.2", "no Host", sent(get, b"\r\n"), status(400)),
        Rule("9110 7.2", "two Hosts", sent(get, host, host, b"\r\n"), status(400)),
        Rule("9110 7.4", "a Host of others", curl(FRONT, "-H", "Host: elsewhere.example"), status(421)),
        Rule("9112 3.2.2", "an address in absolute form", sent(
            b"GET http://127.0.0.1" + FRONT.encode() + b" HTTP/1.1\r\n", close, b"\r\n"), status(200)),
        Rule("9112 2.5", "HTTP/1.0", curl(FILE, "-0"), lambda found: status(200)(found)
             and "transfer-encoding" not in found[0].fields),
        Rule("9112 2.5", "HTTP/1.7", sent(b"GET / HTTP/1.7\r\n", close, b"\r\n"), status(200, 505)),
        Rule("9112 2.5", "HTTP/2.0 on the first line", sent(b"GET / HTTP/2.0\r\n", host, b"\r\n"), status(400, 505)),
        Rule("9112 9.3.2", "two at once", sent(get, host, b"\r\n", get, close, b"\r\n"), lambda found:
             [each.status for each in found] == [200, 200]),
        Rule("9112 9.6", "Connection: close", sent(get, close, b"\r\n"), lambda found: status(200)(found)
             and found[0].fields.get("connection", "").lower() == "close"),
        Rule("9112 6.1", "both lengths", sent(
            kept, b"Content-Length: 4\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n"),
             lambda found: status(400)(found) or (status(422)(found) and found[0].fields.get("connection") == "close")),
        Rule("9112 6.3", "two lengths", sent(post, b"Content-Length: 2\r\nContent-Length: 3\r\n\r\n{}"), status(400)),
        *(Rule("9112 6.3", f"length {wrong!r}", sent(post, b"Content-Length: " + wrong + b"\r\n\r\n{}"), status(400))
          for wrong in (b"-2", b"+2", b"0x2", b"2 2")),
        Rule("9112 6.1", "gzip, chunked", sent(post, b"Transfer-Encoding: gzip, chunked\r\n\r\n0\r\n\r\n"),
             status(400, 501)),
        *(Rule("9112 7.1", f"chunks {wrong!r}", sent(post, b"Transfer-Encoding: chunked\r\n\r\n", wrong), status(400))
          for wrong in (b"zz\r\n{}\r\n0\r\n\r\n", b"-2\r\n{}\r\n0\r\n\r\n", b"2\r\n{}xx0\r\n\r\n")),
        Rule("9112 7.1", "chunks with an extension and a trailer", sent(
            post, b"Transfer-Encoding: chunked\r\n\r\n2;a=b\r\n{}\r\n0\r\nX-A: 1\r\n\r\n"), status(422)),
        Rule("9112 5.1", "a blank before the colon", sent(get, host, b"X-A : 1\r\n\r\n"), status(400)),
        Rule("9112 5.2", "a folded field", sent(get, close, b"X-A: 1\r\n 2\r\n\r\n"), status(200, 400)),
        Rule("9110 5.5", "NUL in a field", sent(get, host, b"X-A: \0\r\n\r\n"), status(400)),
        Rule("9112 3", "no version", sent(b"GET /\r\n\r\n"), status(400)),
        Rule("9110 7.8", "an upgrade to h2c", sent(get, close, b"Upgrade: h2c\r\n\r\n"), status(200)),
    ]  # fmt: skip


def _not_modified(found: list[Answer]) -> bool:
    """Whether nothing but a 304 came, with the fields that a 200 would have (RFC 9110, section 15.4.5)."""
    return status(304)(found) and not found[0].body and {"etag", "date", "cache-control"} <= found[0].fields.keys()


def main() -> int:
    """The table; the exit code."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--all", action="store_true")
    parser.add_argument("--linter")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as place, served(shelf(Path(place))) as client:
        ask = Asker(client.port)
        tag, changed = ask.curl(FRONT)()[0].fields["etag"], ask.curl(STATIC)()[0].fields["last-modified"]
        broken, known = 0, rules(ask, tag, changed)
        for rule in known:
            found = rule.answer()
            kept = rule.kept(found)
            broken += not kept
            if options.all or not kept:
                came = " ".join("+".join(map(str, (*each.before, each.status))) for each in found) or "nothing"
                print(f"{rule.section:12} {rule.asked:44} {came:10} {'' if kept else 'NOT KEPT'}", flush=True)
        print(f"{len(known)} rules, {broken} not kept")
        for path in LINTED if options.linter else ():
            command = [options.linter, f"http://127.0.0.1:{client.port}{path}"]
            said = subprocess.run(command, capture_output=True, text=True, check=False).stdout
            notes = said.partition("* Caching:")[2].splitlines()
            print(path, *(line.strip() for line in notes if line.strip()), sep="\n    ")
    return 1 if broken else 0


if __name__ == "__main__":
    sys.exit(main())
