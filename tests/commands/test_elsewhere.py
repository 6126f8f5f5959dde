"""On systems that lack what Linux has, and where streams or names are not in UTF-8: stand-ins for Windows and macOS.

What a stand-in can show: no code asks for locks, limits, signals or folders that only Linux and its like know.
"""

import errno
import fcntl
import io
import json
import os
import subprocess
import sys
import threading
import time
from functools import partial
from pathlib import Path
from types import SimpleNamespace

import pytest
from byte_locks import WINDOWS
from made_records import layout, run_folder
from places import KIT, ROOT
from shelf import PIPE

from optimizer.commands import serve
from optimizer.entry import main, write_any_name
from optimizer.handoff import folder
from optimizer.records import files, locks
from optimizer.records.bench_book import BenchBook
from optimizer.records.book_entry import ENTRY, Entry
from optimizer.records.files import write_record
from optimizer.records.locks import LockError
from optimizer.search import own_process
from optimizer.search.lock import Holder, sole_writer

ELSEWHERE = os.pathsep.join([str(KIT / "elsewhere"), str(KIT), str(ROOT)])


@pytest.fixture(scope="module")
def there(tmp_path_factory):
    """Exit codes and words of a maker's way, on a system without Linux's own, in a folder with a blank and umlauts, to
    a terminal that writes neither flats nor Chinese."""
    place = tmp_path_factory.mktemp("Über den Dächern")
    name = "Lantern Hall Practice Pipe"
    (place / "Flöte 1.toml").write_text(PIPE.replace(name, f"{name} in B♭ für 木"), encoding="utf-8")
    taken = run_folder(place / "taken", [layout()], project_text=PIPE)
    held = locks.file_to_lock(taken / "lock")
    os.write(held, Holder(process=7, host="reading-room").model_dump_json().encode())
    fcntl.lockf(held, fcntl.LOCK_EX | fcntl.LOCK_NB, 1, locks.FAR)
    lines = (
        "check|Flöte 1.toml", "search|Flöte 1.toml|--trials|3|--workers|1|--seed|1|--results|Läufe hier|--no-report",
        "show|taken", "report|taken", "resume|taken", "serve|--projects|.",
    )  # fmt: skip
    said = {"PYTHONPATH": ELSEWHERE, "PYTHONIOENCODING": "cp1252", "PYTHONWARNDEFAULTENCODING": "1"}
    process = subprocess.run(
        [sys.executable, str(KIT / "said_elsewhere.py"), "codes.json", *lines],
        cwd=place, env=os.environ | said, capture_output=True,
    )  # fmt: skip
    os.close(held)
    assert not process.returncode, process.stderr.decode("cp1252")
    codes = json.loads((place / "codes.json").read_text(encoding="utf-8"))
    words = process.stdout.decode("cp1252").split("<<< ")[1:]
    return place, dict(zip(lines, zip(codes, words, strict=True), strict=True)), process.stderr.decode("cp1252")


def test_a_maker_gets_from_project_to_layout(there):
    place, said, _ = there
    assert [code for code, _ in said.values()] == [0, 0, 0, 0, 2, 2]
    [run] = (place / "Läufe hier").iterdir()
    assert json.loads((run / "pareto.json").read_text(encoding="utf-8"))["layouts"]


def test_names_are_written_as_like_them_as_the_terminal_can(there):
    _, said, _ = there
    words = [text for _, text in said.values()]
    assert all("Practice Pipe in Bb für ?" in text for text in words[:2])


def test_what_is_to_be_typed_next_can_be_typed_as_it_stands(there):
    _, said, _ = there
    assert "holewright show 'Läufe hier/" in [text for _, text in said.values()][1]


def test_the_service_says_where_it_runs(there):
    assert serve.ELSEWHERE in there[2]


def test_no_text_is_read_or_written_in_an_encoding_of_the_systems_choice(there):
    # Python says where one is (PEP 597).
    assert not [line for line in there[2].splitlines() if "EncodingWarning" in line and str(ROOT / "optimizer") in line]


def test_a_run_that_another_process_writes_is_told(there):
    assert "taken is being written by process 7 on reading-room" in there[2]


@pytest.fixture
def on_bytes(monkeypatch):
    """Locks as Windows has them: on bytes of files, and none on folders."""
    monkeypatch.setitem(sys.modules, "msvcrt", WINDOWS)
    monkeypatch.setitem(sys.modules, "fcntl", None)
    monkeypatch.setattr(locks, "LOCKS_FOLDERS", False)
    monkeypatch.setattr(folder, "LOCKS_FOLDERS", False)


@pytest.mark.usefixtures("on_bytes")
def test_a_book_and_a_folder_are_written_where_folders_cannot_be_locked(tmp_path):
    book = BenchBook(tmp_path)
    for title in ("first", "second"):
        with book.desk() as made:
            write_record(made / ENTRY, Entry(kind="fit", layout="t00000", title=title, written="2026-11-28"))
            book.add(made)
    assert [book.told(name).title for name in book.names()] == ["first", "second"]
    with folder.whole_folder(tmp_path / "tables") as part:
        (part / "parts.csv").write_text("", encoding="utf-8")
    assert [path.name for path in (tmp_path / "tables").iterdir()] == ["parts.csv"]


@pytest.mark.usefixtures("on_bytes")
def test_a_lock_that_is_waited_for_comes_when_its_holder_ends(tmp_path):
    path = tmp_path / "lock"
    holding = f"""if True:
        import fcntl, os, sys
        held = os.open({str(path)!r}, os.O_RDWR | os.O_CREAT)
        fcntl.lockf(held, fcntl.LOCK_EX, 1, {locks.FAR})
        print(flush=True)
        sys.stdin.read()
    """
    other = subprocess.Popen([sys.executable, "-c", holding], stdin=subprocess.PIPE, stdout=subprocess.PIPE)
    other.stdout.readline()
    mine = locks.file_to_lock(path)
    with pytest.raises(BlockingIOError):
        locks.lock(mine, "a book")
    waited = threading.Thread(target=locks.lock, args=(mine, "a book", True))
    waited.start()
    waited.join(3 * locks.AGAIN_SECONDS)
    assert waited.is_alive()
    other.communicate()
    waited.join()
    os.close(mine)


@pytest.mark.usefixtures("on_bytes")
def test_a_lock_that_another_holds_for_ever_is_waited_for_no_longer_than_told(tmp_path, monkeypatch):
    monkeypatch.setattr(locks, "WAIT_SECONDS", 3 * locks.AGAIN_SECONDS)
    monkeypatch.setattr(WINDOWS, "locking", refusing(errno.EACCES))
    mine = locks.file_to_lock(tmp_path / "lock")
    with pytest.raises(LockError, match="another program has been writing to the book"):
        locks.lock(mine, "the book", wait=True)
    os.close(mine)


@pytest.mark.parametrize("wait", [False, True])
@pytest.mark.usefixtures("on_bytes")
def test_a_drive_that_locks_nothing_is_told_at_once(wait, tmp_path, monkeypatch):
    # Microsoft's reference of _locking: EACCES for a byte that is locked already, EINVAL for what cannot be.
    monkeypatch.setattr(WINDOWS, "locking", refusing(errno.EINVAL))
    mine, begun = locks.file_to_lock(tmp_path / "lock"), time.monotonic()
    with pytest.raises(LockError, match=r"the book lies on a drive that locks no files \(Invalid argument\)"):
        locks.lock(mine, "the book", wait=wait)
    assert time.monotonic() - begun < locks.WAIT_SECONDS / 2
    os.close(mine)


def refusing(number):
    """A system that locks nothing, with this error."""

    def locking(*_):
        raise OSError(number, os.strerror(number))

    return locking


def test_a_search_on_a_shared_drive_without_locks_is_told(tmp_path, monkeypatch):
    # flock(2): ENOLCK, as from a file server that locks nothing.
    monkeypatch.setattr(fcntl, "flock", refusing(errno.ENOLCK))
    with pytest.raises(LockError, match="lies on a drive that locks no files"), sole_writer(tmp_path):
        pass


def test_a_worker_of_windows_is_handed_the_pipe_alone(monkeypatch):
    # Python's documentation of subprocess: STARTUPINFO.lpAttributeList, handle_list; such handles must be inheritable.
    monkeypatch.setattr(sys, "platform", "win32")
    monkeypatch.setattr(os, "set_handle_inheritable", lambda handle, on: handed.append((handle, on)), raising=False)
    monkeypatch.setattr(subprocess, "STARTUPINFO", SimpleNamespace, raising=False)
    monkeypatch.setattr(subprocess, "CREATE_NEW_PROCESS_GROUP", 0x200, raising=False)
    handed = []
    begun = own_process._apart(52)
    assert handed == [(52, True)]
    assert begun.keys() == {"startupinfo", "creationflags"}
    assert begun["startupinfo"].lpAttributeList == {"handle_list": [52]}


def test_a_worker_of_windows_sees_its_driver_go(monkeypatch):
    # Windows gives a process no other parent, so that the driver is looked for by its own number.
    import psutil

    assert psutil, "it looks at the system when it is loaded"
    monkeypatch.setattr(sys, "platform", "win32")
    driver = subprocess.Popen([sys.executable, "-c", "input()"], stdin=subprocess.PIPE, stderr=subprocess.DEVNULL)
    lives = own_process._looked_for(driver.pid)
    assert lives()
    driver.communicate()
    assert not lives()
    assert not own_process._looked_for(driver.pid)()


def test_a_file_that_a_reader_has_open_is_moved_over_when_it_is_closed(tmp_path, monkeypatch):
    # Windows refuses to move a file over one that is open, or to remove it, with "access is denied".
    refused = iter([True, True, False])
    moved = Path.replace

    def replace(path, target):
        if next(refused):
            raise PermissionError(13, "Access is denied")
        return moved(path, target)

    monkeypatch.setattr(Path, "replace", replace)
    monkeypatch.setattr(files, "OPEN_SECONDS", 60.0)
    files.write_text(tmp_path / "front.json", "{}")
    assert [path.read_text(encoding="utf-8") for path in tmp_path.iterdir()] == ["{}"]


def test_a_finished_folder_is_moved_when_nobody_has_anything_in_it_open(tmp_path, monkeypatch):
    # Windows refuses to rename a folder in which a file is open, as one that looks for viruses has it at once.
    refused, moved = iter([True, True, False, True, False]), Path.rename

    def rename(path, target):
        if next(refused):
            raise PermissionError(13, "Access is denied")
        return moved(path, target)

    monkeypatch.setattr(Path, "rename", rename)
    monkeypatch.setattr(files, "OPEN_SECONDS", 60.0)
    with folder.whole_folder(tmp_path / "tables") as part:
        (part / "parts.csv").write_text("", encoding="utf-8")
    book = BenchBook(tmp_path / "run")
    (tmp_path / "run").mkdir()
    with book.desk() as made:
        write_record(made / ENTRY, Entry(kind="fit", layout="t00000", title="first", written="2026-11-28"))
        book.add(made)
    assert (tmp_path / "tables" / "parts.csv").exists()
    assert book.names() == ["001"]


def test_a_folder_that_refuses_is_told_at_once_where_open_files_are_in_nobodys_way(tmp_path):
    with pytest.raises(PermissionError):
        files.once_free(partial(_refuse, "Permission denied"))


def _refuse(why):
    raise PermissionError(13, why)


@pytest.mark.parametrize(
    ("encoding", "written"), [("cp1252", "B\u266d für ½ …"), ("ascii", "Bb fur 1/2 ..."), ("utf-8", "B♭ für ½ …")]
)
def test_what_an_encoding_has_not_is_written_by_what_is_like_it(monkeypatch, encoding, written):
    stream = io.TextIOWrapper(io.BytesIO(), encoding)
    monkeypatch.setattr(sys, "stdout", stream)
    write_any_name()
    print("B♭ für ½ …", end="", flush=True)
    assert stream.buffer.getvalue().decode(encoding) == written.replace("\u266d", "b" if encoding == "cp1252" else "♭")


def test_a_name_in_no_letters_is_told(capsys, monkeypatch):
    # What Python makes of a name in Latin-1 where names are in UTF-8 (PEP 383).
    monkeypatch.setattr(sys, "argv", ["holewright", "check", os.fsdecode(b"Fl\xf6te.toml")])
    assert main() == 2
    assert "letters that this system cannot read" in capsys.readouterr().err
