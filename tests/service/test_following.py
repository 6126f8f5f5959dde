"""Following a run through breaks of the connection, and by who takes events in slowly or not at all.

Fields of an event stream, and what a browser that comes again says, by WHATWG HTML, sections 9.2.4 and 9.2.6.
"""

import asyncio
import shutil
import socket
from contextlib import ExitStack, closing, contextmanager
from http.client import HTTPConnection

import pytest
from made_records import layout, run_folder
from served import API, PROJECTS, events, served
from shelf import progress

from optimizer.records.files import write_record
from optimizer.service import following
from optimizer.service.following import Following
from optimizer.service.refusals import RefusedError
from optimizer.service.settings import Settings
from optimizer.service.shelf import Shelf

SIGN = b":"
SILENT = 30


@pytest.fixture(autouse=True)
def soon(monkeypatch):
    """Look often, and give a sign of life soon."""
    monkeypatch.setattr(following, "EVERY_SECONDS", 0.02)
    monkeypatch.setattr(following, "SIGN_OF_LIFE_SECONDS", 0.3)


@pytest.fixture
def results(tmp_path):
    run_folder(tmp_path / "results" / "pipe", [layout()])
    return tmp_path / "results"


def noted(results, trials):
    """A search that has so many trials."""
    told = progress(None).model_copy(update={"trials_done": trials, "written": "2026-11-02T10:00:00+00:00"})
    write_record(results / "pipe" / "progress.json", told)


@contextmanager
def lines(client, last=None):
    """Lines of a stream that is asked for anew."""
    with closing(HTTPConnection("127.0.0.1", client.port, timeout=60)) as connection:
        connection.request("GET", f"{API}/runs/pipe/events", headers={"Last-Event-ID": last} if last else {})
        yield connection.getresponse()


def next_event(stream):
    """Id and trials of the next event, past signs of life."""
    name, found = "", []
    for line in stream:
        name = line.decode().partition(":")[2].strip() if line.startswith(b"id:") else name
        found.append(line)
        if not line.strip() and any(each.startswith(b"data:") for each in found):
            ((_, data),) = events(found)
            return name, data["progress"]["trials_done"]
    return None


def test_who_comes_again_gets_what_is_new_and_nothing_twice(results):
    noted(results, 1)
    with served(results) as client:
        with lines(client) as stream:
            first, trials = next_event(stream)
            assert trials == 1
        with lines(client, first) as stream:
            assert stream.readline().startswith(SIGN)  # of life, and no event
            noted(results, 2)
            second, trials = next_event(stream)
            assert trials == 2
        noted(results, 3)
        with lines(client, second) as stream:
            third, trials = next_event(stream)
            assert (trials, len({first, second, third})) == (3, 3)
        with lines(client) as stream:
            assert next_event(stream) == (third, 3)
    with served(results) as again, lines(again, third) as stream:
        assert stream.readline().startswith(SIGN)


def test_files_that_are_written_anew_as_they_were_are_no_event(results):
    noted(results, 1)
    with served(results) as client, lines(client) as stream:
        next_event(stream)
        noted(results, 1)
        assert {stream.readline()[:1] for _ in range(2)} <= {SIGN, b"\n"}


def test_who_takes_events_in_slowly_gets_the_newest_and_the_end(results):
    async def followed():
        shelf = Shelf(Settings(results=results, projects=PROJECTS))
        told = Following(shelf.settings, shelf)
        slow, quick = told.events("pipe"), told.events("pipe")
        await anext(slow)
        for trials in (2, 3):
            noted(results, trials)
            while f'"trials_done":{trials},' not in (await anext(quick)).decode():
                pass
        assert '"trials_done":3,' in (await anext(slow)).decode()
        shutil.move(results / "pipe", results.parent / "pipe")
        while (event := await anext(quick)) != b"event: gone\ndata: {}\n\n":
            assert event.startswith(SIGN)
        shutil.move(results.parent / "pipe", results / "pipe")
        back = told.events("pipe")
        assert (await anext(back)).startswith(b"event: moment")
        assert await anext(slow) == b"event: gone\ndata: {}\n\n"
        for stream in (slow, quick):
            with pytest.raises(StopAsyncIteration):
                await anext(stream)
        await told.close()
        assert [event async for event in back] == []

    asyncio.run(followed())


def test_of_many_who_come_at_once_no_more_follow_than_there_is_room_for(results, monkeypatch):
    async def come():
        shelf = Shelf(Settings(results=results, projects=PROJECTS, followers_most=2))
        told = Following(shelf.settings, shelf)
        for _ in range(2):
            told.check("pipe")
        with pytest.raises(RefusedError, match="2 follow runs here already"):
            told.check("pipe")
        first = told.events("pipe")
        await anext(first)
        with pytest.raises(RefusedError):
            told.check("pipe")
        monkeypatch.setattr(following, "COMING_SECONDS", 0.0)  # the other has left before it began
        told.check("pipe")
        await first.aclose()
        await told.close()

    asyncio.run(come())


def test_who_never_reads_keeps_nobody_else_waiting(results):
    noted(results, 0)
    with served(results) as client, ExitStack() as kept:
        for _ in range(SILENT):
            silent = kept.enter_context(closing(socket.create_connection(("127.0.0.1", client.port), timeout=60)))
            silent.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 1)
            silent.sendall(f"GET {API}/runs/pipe/events HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n".encode())
        with lines(client) as stream:
            next_event(stream)
            for trials in range(1, 20):
                noted(results, trials)
                assert next_event(stream)[1] == trials
