"""The service on a free port of this machine, in a thread, and plain HTTP to it: what counts is what is on the wire.

What a service works out in processes of its own is worked out in threads here, which need not load anything first,
unless a test asks for processes.
"""

import asyncio
import http.client
import json
import os
import pickle
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import ExitStack, closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from unittest.mock import patch

import psutil
from places import CONFIGS
from processes import PATIENCE

from optimizer.records.files import write_record
from optimizer.search.run_folder import now
from optimizer.service import app, sittings, workshop
from optimizer.service.serving import listening, server_of
from optimizer.service.settings import Settings
from optimizer.service.sittings import Sitting
from optimizer.service.tickets import NAME, Ticket

PROJECTS = CONFIGS
API = "/api/v1"


@dataclass
class Answer:
    """What came back."""

    status: int
    headers: http.client.HTTPMessage
    body: bytes

    @property
    def json(self) -> Any:
        """The body, read."""
        return json.loads(self.body)

    @property
    def text(self) -> str:
        """The body as words."""
        return self.body.decode()


@dataclass
class Client:
    """Asks a service on this machine; every request on a connection of its own."""

    port: int
    headers: dict[str, str]
    seconds: float = PATIENCE

    def ask(self, method: str, path: str, body: Any = None, **headers: str | None) -> Answer:
        """Send a request as it stands; a body of bytes goes as it is, an iterator in chunks, anything else as JSON.

        headers : underscores stand for hyphens; None leaves one out
        """
        given = {**self.headers, **{name.replace("_", "-"): value for name, value in headers.items()}}
        if isinstance(body, dict | list):
            body = json.dumps(body).encode()
            given.setdefault("content-type", "application/json")
        with closing(http.client.HTTPConnection("127.0.0.1", self.port, timeout=self.seconds)) as connection:
            connection.request(method, path, body, {name: value for name, value in given.items() if value is not None})
            answer = connection.getresponse()
            return Answer(answer.status, answer.headers, answer.read())

    def get(self, path: str, **headers: str | None) -> Answer:
        """GET below the API."""
        return self.ask("GET", API + path, **headers)

    def post(self, path: str, body: Any = None, **headers: str | None) -> Answer:
        """POST below the API."""
        return self.ask("POST", API + path, body, **headers)

    @contextmanager
    def following(self, path: str) -> Iterator[Iterator[tuple[str, Any]]]:
        """Name and data of the server-sent events at a path."""
        with closing(http.client.HTTPConnection("127.0.0.1", self.port, timeout=self.seconds)) as connection:
            connection.request("GET", API + path, headers=self.headers)
            answer = connection.getresponse()
            assert answer.status == 200, answer.read()
            yield events(answer)


def events(stream: Any) -> Iterator[tuple[str, Any]]:
    """Name and data of server-sent events, by the rules of WHATWG HTML, section 9.2.6, for what is used here."""
    name, data = "message", []
    for line in stream:
        field, _, value = line.decode().rstrip("\n").partition(":")
        if field == "event":
            name = value.strip()
        elif field == "data":
            data.append(value.removeprefix(" "))
        elif not line.strip():
            if data:
                yield name, json.loads("\n".join(data))
            name, data = "message", []


class Here(workshop.Bench):
    """A bench whose work is done in a thread, sent and answered as between two processes; nothing bounds its memory."""

    def _ready(self) -> Any:
        return self

    def exchange(self, sent: Any) -> Any:
        """What comes back for what is sent."""
        return asyncio.get_running_loop().run_in_executor(None, self._exchanged, sent)

    @staticmethod
    def _exchanged(sent: Any) -> Any:
        work, given = pickle.loads(pickle.dumps(sent))
        return pickle.loads(pickle.dumps(workshop._outcome(work, given)))


class SittingHere(Here, Sitting):
    """The place of one who moves holes, in a thread."""


@contextmanager
def served(results: Path, apart: bool = False, **changes: Any) -> Iterator[Client]:
    """A service that starts no search by itself (`running_most` 0), unless told otherwise.

    apart : whether it works in processes of its own, which can be ended and have so much memory
    """
    with ExitStack() as stack:
        stack.enter_context(patch.object(app, "Bench", workshop.Bench if apart else Here))
        stack.enter_context(patch.object(sittings, "Sitting", Sitting if apart else SittingHere))
        yield stack.enter_context(_served(results, changes))


@contextmanager
def _served(results: Path, changes: dict[str, Any]) -> Iterator[Client]:
    given = {"results": results, "projects": PROJECTS, "port": 0, "running_most": 0, "waiting_most": 3, **changes}
    results.mkdir(parents=True, exist_ok=True)
    settings = Settings(**given)
    with listening(settings) as taken:
        made = app.make_app(settings)
        server = server_of(made, settings, grace_seconds=1)
        thread = threading.Thread(target=server.run, args=([taken],), daemon=True)
        thread.start()
        deadline = time.monotonic() + 60
        while not server.started and thread.is_alive() and time.monotonic() < deadline:
            time.sleep(0.01)
        assert server.started, "the service did not begin"
        try:
            yield Client(taken.getsockname()[1], {})
        finally:
            server.should_exit = True
            thread.join(timeout=20)
            assert not thread.is_alive(), "the service did not end"
            for search in made.state.parts.queue._children:
                search.wait(timeout=60)


def with_ticket(folder: Path, **values: Any) -> Path:
    """The run folder with a ticket in it; `alive`: of this very process."""
    if values.pop("alive", False):
        values |= {"process": os.getpid(), "begun": psutil.Process().create_time(), "host": socket.gethostname()}
    write_record(folder / NAME, Ticket.model_validate({"asked": now(), "order": time.time(), **values}))
    return folder


def being_written(folder: Path, process: int | None = None, host: str | None = None) -> Path:
    """The run folder as a search holds it."""
    note = {"process": process or os.getpid(), "host": host or socket.gethostname()}
    (folder / "lock").write_text(json.dumps(note))
    return folder
