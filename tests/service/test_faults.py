"""What goes wrong with one run stays with that run; and a token, once given, is asked for."""

import os
import socket
import subprocess
import sys
import time

import pytest
from failing_disk import FULL, READ_ONLY, failing
from made_records import layout, run_folder
from served import PROJECTS, with_ticket

import optimizer
from optimizer.commands.serve import _with_token
from optimizer.service import launching
from optimizer.service import queue as queue_module
from optimizer.service.queue import Queue
from optimizer.service.settings import Settings
from optimizer.service.shelf import Shelf
from optimizer.service.tickets import new_ticket, read_ticket, write_ticket
from optimizer.service.tokens import digest_of, new_token


@pytest.fixture
def waiting(tmp_path, monkeypatch):
    """Two runs that wait, and a stand-in for searches that notes its starts."""
    started = []

    def launch(folder, ticket):
        (folder / "search.log").open("wb").close()
        child = subprocess.Popen([sys.executable, "-c", "import time; time.sleep(60)"])
        started.append((folder.name, child))
        return child

    monkeypatch.setattr(queue_module, "launch", launch)
    for place, name in enumerate(("first", "second")):
        with_ticket(run_folder(tmp_path / name, [layout()]), state="waiting", order=float(place))
    settings = Settings(results=tmp_path, projects=PROJECTS, running_most=1)
    yield Queue(settings, Shelf(settings)), tmp_path, started
    for _, child in started:
        child.kill()
        child.wait()


def test_a_run_that_cannot_be_started_does_not_hold_up_the_next(waiting):
    queue, results, started = waiting
    (results / "first" / "search.log").mkdir()
    queue.look()
    assert [name for name, _ in started] == ["second"]
    first = queue.shelf.summary("first")
    assert (first.state, first.message) == ("failed", "not started: Is a directory")
    assert queue.shelf.summary("second").state == "starting"


def test_a_search_that_cannot_be_noted_is_ended_and_not_started_again(waiting, monkeypatch):
    queue, _, started = waiting

    def full(folder, ticket):
        if ticket.process is not None:
            raise OSError(28, "No space left on device")
        write_ticket(folder, ticket)

    monkeypatch.setattr(queue_module, "write_ticket", full)
    for _ in range(3):
        queue.look()
    assert [name for name, _ in started] == ["first", "second"]
    assert all(child.poll() is not None for _, child in started)


@pytest.mark.parametrize(("how", "words"), [(READ_ONLY, "Read-only file system"), (FULL, "No space left on device")])
def test_a_run_whose_end_cannot_be_noted_says_why_until_it_can_be(waiting, monkeypatch, how, words):
    queue, results, started = waiting
    queue.look()
    started[0][1].kill()
    started[0][1].wait()
    with failing(monkeypatch, results, 0, how):
        queue.look()
    first = queue.shelf.summary("first")
    assert (first.state, first.message) == (
        "stopped",
        f"Its end cannot be noted: {words}. See to the disk, then go on.",
    )
    assert queue.shelf.summary("second").message == ""
    queue.look()
    first = queue.shelf.summary("first")
    assert (first.state, first.message) == ("failed", "the search ended before it had begun")
    assert queue.shelf.unnoted == {}


def test_a_service_that_died_while_it_started_a_search_starts_it_no_second_time(waiting):
    queue, results, started = waiting
    for name in ("first", "second"):  # noted as started, but not yet by which process
        ticket = read_ticket(results / name)
        write_ticket(results / name, ticket.model_copy(update={"state": "started"}))
    queue.look()
    assert started == []
    assert queue.shelf.summary("first").state == "failed"


@pytest.mark.parametrize(
    "other",
    [
        {"process": 1, "begun": time.time()},  # had begun by then, but is not the one that was started
        {"process": os.getpid(), "begun": time.time() + 100.0},
        {"process": os.getpid(), "begun": None},
        {"host": "elsewhere"},
    ],
)
def test_a_number_that_another_process_has_is_not_taken_for_the_search(tmp_path, other):
    folder = with_ticket(run_folder(tmp_path / "run", [layout()]), state="started", alive=True)
    mine = read_ticket(folder)
    assert mine.running.pid == os.getpid()
    assert mine.host == socket.gethostname()
    assert not mine.model_copy(update=other).alive


def test_a_token_that_was_given_is_asked_for_whatever_it_is_started_with(tmp_path, monkeypatch, capsys):
    monkeypatch.delenv("HOLEWRIGHT_TOKEN", raising=False)
    settings = Settings(results=tmp_path, projects=PROJECTS)
    assert _with_token(settings, False).token_digest is None
    token = new_token(settings.kept)
    assert _with_token(settings, False).token_digest == digest_of(token)
    assert capsys.readouterr().out == ""


def test_a_service_that_goes_by_a_name_asks_for_a_token(tmp_path, monkeypatch, capsys):
    # Behind a proxy it is bound to loopback, and yet others reach it.
    monkeypatch.delenv("HOLEWRIGHT_TOKEN", raising=False)
    settings = _with_token(Settings(results=tmp_path, projects=PROJECTS, names=("shelf.example",)), False)
    shown = capsys.readouterr().out.split()[-1]
    assert settings.token_digest == digest_of(shown)


def test_a_folder_that_the_service_was_started_in_lends_its_searches_no_code(tmp_path, monkeypatch):
    trap = tmp_path / "here"
    (trap / "optimizer").mkdir(parents=True)
    (trap / "optimizer" / "__init__.py").write_text("")
    monkeypatch.chdir(trap)
    monkeypatch.setattr(launching, "COMMAND", "import optimizer; print(optimizer.__file__)")
    folder = run_folder(tmp_path / "run", [layout()])
    assert launching.launch(folder, new_ticket(trials=1)).wait(60) == 0
    assert (folder / launching.LOG).read_text().strip() == optimizer.__file__
