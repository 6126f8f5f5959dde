"""Work in processes apart: given up, cut off, in want of files, and by more than are served."""

import asyncio
import errno
import os
import threading
import time
from concurrent.futures import ThreadPoolExecutor

import psutil
import pytest

from optimizer.service.book import Book
from optimizer.service.guard import Guard
from optimizer.service.guesses import Guesses
from optimizer.service.refusals import RefusedError
from optimizer.service.settings import Settings
from optimizer.service.shelf import Shelf
from optimizer.service.workshop import NICE, Bench, _outcome

HEADERS = [(b"host", b"localhost"), (b"content-type", b"application/json")]


def no_room(_name):
    raise OSError(28, "No space left on device")


def gone(process):
    """Whether a process ends within some seconds."""
    try:
        psutil.Process(process).wait(20)
    except psutil.NoSuchProcess:
        return True
    return True


@pytest.mark.parametrize("to_its_end", [False, True])
def test_what_is_given_up_is_ended_or_where_that_costs_more_done(to_its_end):
    async def given_up():
        bench = Bench(60.0, 2_000_000_000, to_its_end=to_its_end)
        try:
            first = await bench.do(os.getpid)
            long = asyncio.create_task(bench.do(time.sleep, 0.2 if to_its_end else 60.0))
            waits = asyncio.create_task(bench.do(os.getpid))
            await asyncio.sleep(0.05)
            waits.cancel()
            long.cancel()
            await asyncio.wait([long, waits])
            return first, await bench.do(os.getpid), bench._queued
        finally:
            bench.close()

    first, second, queued = asyncio.run(given_up())
    assert (first == second) is to_its_end
    assert to_its_end or gone(first)
    assert queued == 0


@pytest.mark.skipif(not hasattr(os, "nice"), reason="this system has no nice")
def test_work_stands_back_behind_the_service():
    bench = Bench(60.0, 2_000_000_000)
    try:
        assert asyncio.run(bench.do(os.nice, 0)) == min(os.nice(0) + NICE, 19)
    finally:
        bench.close()


def test_work_waits_for_no_thread_of_others():
    async def beside():
        loop, free = asyncio.get_running_loop(), threading.Event()
        loop.set_default_executor(ThreadPoolExecutor(1))
        held = loop.run_in_executor(None, free.wait, 60.0)
        bench = Bench(20.0, 2_000_000_000)
        try:
            return await bench.do(os.getpid)
        finally:
            free.set()
            await held
            bench.close()

    assert asyncio.run(beside()) != os.getpid()


def test_where_there_is_no_room_that_is_said_and_nobody_waits_for_a_process_to_go():
    async def cut_off():
        bench = Bench(60.0, 2_000_000_000)
        await bench.do(os.getpid)
        with pytest.raises(RefusedError, match="No space left on device") as refused:
            await bench.do(no_room, "")
        bench.seconds = 0.1
        with pytest.raises(RefusedError) as late:
            await bench.do(time.sleep, 60.0)
        begun = time.monotonic()
        bench.close()
        return refused.value.status, late.value.status, time.monotonic() - begun

    no_files, late, spent = asyncio.run(cut_off())
    assert (no_files, late) == (503, 504)
    assert spent < 1.0


@pytest.mark.parametrize(
    ("error", "status"),
    [
        (MemoryError(), 413),
        (SystemError("<function _find_and_load> returned NULL without setting an exception"), 413),
        (ImportError("_odepack.so: failed to map segment from shared object"), 413),  # as glibc's loader says it
        (ImportError("No module named 'x'"), None),
        (FileNotFoundError(), 404),
        (OSError(errno.ENOMEM, "Cannot allocate memory"), 413),  # as mmap and fork say it (POSIX.1)
        (OSError(errno.ENOSPC, "No space left on device"), 503),
    ],
)
def test_want_of_memory_is_told_wherever_it_shows(error, status):
    def work():
        raise error

    assert getattr(_outcome(work, ()), "status", None) == status


def test_only_so_many_wait_for_their_turn_at_an_entry(tmp_path):
    async def many():
        settings = Settings(results=tmp_path, projects=tmp_path)
        book, free = Book(settings, Shelf(settings)), asyncio.Event()

        async def one():
            async with book.turn("run", "001"):
                await free.wait()

        tasks = [asyncio.create_task(one()) for _ in range(25)]
        await asyncio.sleep(0)
        free.set()
        return await asyncio.gather(*tasks, return_exceptions=True)

    found = asyncio.run(many())
    assert [type(each) for each in found] == [type(None)] * 20 + [RefusedError] * 5


def test_work_is_given_up_once_nobody_waits_for_it_and_all_else_goes_on(tmp_path):
    class Slow(Bench):
        async def _answered(self, sent):
            await asyncio.sleep(60.0)

    async def left():
        told, messages = [], [{"type": "http.request", "body": b"{}"}, {"type": "http.disconnect"}]

        async def app(_scope, receive, _send):
            await receive()
            try:
                await Slow(60.0, 1).do(os.getpid)
            except RefusedError as refusal:
                await asyncio.sleep(0.01)
                told.append(refusal.detail)

        async def receive():
            return messages.pop(0)

        guard = Guard(app, Settings(results=tmp_path, projects=tmp_path), Guesses(None))
        scope = {"type": "http", "method": "POST", "path": "/api/v1/x", "headers": HEADERS}
        await asyncio.wait_for(guard(scope, receive, told.append), 10.0)
        return told

    assert asyncio.run(left()) == ["nobody waits for this any more"]
