"""Files of run folders are opened in one place, and no link in them is followed."""

import ast
import os
import threading
from pathlib import Path

import pytest
from made_records import layout, run_folder
from served import served, with_ticket

import optimizer.service
from optimizer.search.lock import sole_writer
from optimizer.service import opening

MODULES = sorted(Path(optimizer.service.__file__).parent.glob("*.py"))
READING = {"open", "read_text", "read_bytes", "read_record", "fdopen"}
OF_NO_RUN = {"opening.py", "offered.py", "tokens.py", "queue.py", "app.py", "api_bench.py", "bench_files.py"}
"""The place itself; modules that open files of the service, of projects, or as they are uploaded."""


@pytest.mark.parametrize("path", [each for each in MODULES if each.name not in OF_NO_RUN], ids=lambda each: each.name)
def test_no_other_module_opens_what_lies_in_a_run_folder(path):
    calls = [each.func for each in ast.walk(ast.parse(path.read_text(encoding="utf-8"))) if isinstance(each, ast.Call)]
    names = [each.attr if isinstance(each, ast.Attribute) else getattr(each, "id", "") for each in calls]
    of_archive = 1 if path.name == "api_files.py" else 0  # a file within the ZIP archive that is being written
    assert len([name for name in names if name in READING]) == of_archive


def test_what_cannot_be_opened_there_is_answered_so(tmp_path, monkeypatch):
    run_folder(tmp_path / "results" / "pipe", [layout()])
    shut = []

    def barred(path):
        shut.append(path.name)
        raise FileNotFoundError(path)

    with served(tmp_path / "results") as client:
        monkeypatch.setattr(opening, "opened", barred)
        for what in ("project", "front", "layouts/t00001", "progress"):
            assert client.get(f"/runs/pipe/{what}").status == 404, what
    assert {"run.json", "pareto.json", "t00001.json"} <= set(shut)


SECRET = b"the key of the shelf lies under the mat"
EVERY_READ = (
    "runs/pipe", "runs/pipe/front", "runs/pipe/progress", "runs/pipe/project", "runs/pipe/report", "runs/pipe/files",
    "runs/pipe/front/figure", "runs/pipe/archive", "runs/pipe/layouts/t00001", "runs/pipe/layouts/t00001/sheet",
    "comparison?of=pipe&of=pipe/t00001", "extensions/low", "extensions/low/record", "extensions/low/page", "runs",
    "extensions", *(f"runs/pipe/files/{name}" for name in ("run.json", "pareto.json", "layouts/t00001.json")),
)  # fmt: skip


LINKED = (
    "pipe", "pipe/run.json", "pipe/pareto.json", "pipe/layouts", "pipe/layouts/t00001.json", "low",
    "low/extension.json", "low/extension.html", "low/ticket.json",
)  # fmt: skip


def rewritten(place, old, new):
    """Every file of a place with other words."""
    for path in [place, *place.rglob("*")]:
        if path.is_file():
            path.write_bytes(path.read_bytes().replace(old, new))


def test_no_link_is_followed_be_it_file_folder_or_run(tmp_path):
    results, moved = tmp_path / "results", tmp_path / "elsewhere" / "moved"
    moved.parent.mkdir()
    run_folder(results / "pipe", [layout()])
    with_ticket(results / "low", title="Lantern Hall pipe to low", state="done")
    for name in ("extension.json", "extension.html"):
        (results / "low" / name).write_bytes(b"Lantern Hall")
    with served(results) as client:
        for name in LINKED:
            (results / name).rename(moved)
            rewritten(moved, b"Lantern Hall", SECRET)
            (results / name).symlink_to(moved)
            for read in EVERY_READ:
                answer = client.get(f"/{read}")
                assert answer.status < 500, (name, read)
                assert SECRET not in answer.body, (name, read)
            (results / name).unlink()
            rewritten(moved, SECRET, b"Lantern Hall")
            moved.rename(results / name)
        rewritten(results, b"Lantern Hall", SECRET)
        plain = {read for read in EVERY_READ if SECRET in client.get(f"/{read}").body}
    assert plain >= {
        "runs/pipe",
        "runs/pipe/report",
        "runs/pipe/layouts/t00001",
        "extensions/low",
        "extensions/low/page",
    }


def test_a_file_is_opened_only_where_no_link_leads(tmp_path):
    (tmp_path / "run" / "layouts").mkdir(parents=True)
    (tmp_path / "run" / "layouts" / "one.json").write_bytes(b"{}")
    (tmp_path / "link").symlink_to(tmp_path / "run")
    (tmp_path / "run" / "folder").symlink_to(tmp_path / "run" / "layouts")
    (tmp_path / "run" / "two.json").symlink_to(tmp_path / "run" / "layouts" / "one.json")
    assert opening.bytes_of(tmp_path / "run" / "layouts" / "one.json") == b"{}"
    for name in ("link/layouts/one.json", "run/folder/one.json", "run/two.json", "run/layouts", "run/none.json"):
        with pytest.raises(FileNotFoundError):
            opening.opened(tmp_path / name)


def test_a_pipe_in_a_run_folder_keeps_nobody_waiting(tmp_path):
    os.mkfifo(tmp_path / "run.json")
    tried = []

    def look():
        with pytest.raises(FileNotFoundError):
            opening.opened(tmp_path / "run.json")
        with pytest.raises(FileNotFoundError):
            opening.emptied(tmp_path / "run.json")
        tried.append(True)

    looking = threading.Thread(target=look, daemon=True)
    looking.start()
    looking.join(timeout=20)
    assert tried


def test_nothing_is_written_through_a_link(tmp_path):
    kept = tmp_path / "kept"
    kept.write_bytes(SECRET)
    for name in ("search.log", "lock"):
        (tmp_path / name).symlink_to(kept)
    with pytest.raises(FileNotFoundError):
        opening.emptied(tmp_path / "search.log")
    with pytest.raises(OSError, match="symbolic links"), sole_writer(tmp_path):
        pass
    assert kept.read_bytes() == SECRET
