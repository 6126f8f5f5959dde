"""Files of run folders are opened in one place."""

import ast
from pathlib import Path

import pytest
from made_records import layout, run_folder
from served import served

import optimizer.service
from optimizer.service import opening

MODULES = sorted(Path(optimizer.service.__file__).parent.glob("*.py"))
READING = {"open", "read_text", "read_bytes", "read_record", "fdopen"}
OF_NO_RUN = {"opening.py", "offered.py", "tokens.py", "launching.py", "queue.py", "app.py"}
"""The place itself; modules that open files of the service, of projects, or a search's log to write and tell of."""


@pytest.mark.parametrize("path", [each for each in MODULES if each.name not in OF_NO_RUN], ids=lambda each: each.name)
def test_no_other_module_opens_what_lies_in_a_run_folder(path):
    calls = [each.func for each in ast.walk(ast.parse(path.read_text(encoding="utf-8"))) if isinstance(each, ast.Call)]
    names = [each.attr if isinstance(each, ast.Attribute) else getattr(each, "id", "") for each in calls]
    of_archive = 1 if path.name == "api_runs.py" else 0  # a file within the ZIP archive that is being written
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
