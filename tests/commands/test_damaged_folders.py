"""Nothing that lies in a run folder brings a traceback: every kind of file, damaged in many ways, through every command
that reads it, is refused in a sentence or read for what it still says.

`HOLEWRIGHT_DAMAGES=1` tries every command on every broken file, and five times as many damaged entries.
"""

import copy
import json
import os
import shutil

import pytest
from places import REFERENCE

from optimizer.commands.cli import main

ALL = bool(os.environ.get("HOLEWRIGHT_DAMAGES"))
RUN = REFERENCE / "run_0_1_0"
LAYOUT = "layouts/t00000.json"
GONE = object()
WRONG = (
    GONE,
    None,
    True,
    -1,
    0,
    1e14,
    1e300,
    10**30,
    float("nan"),
    float("inf"),
    "",
    "\ud800",
    10_000 * "x",
    [],
    [[]],
    {},
)
BROKEN = {
    "nothing": b"", "a blank": b" ", "bytes": bytes(range(256)), "half a file": None, "a number": b"7", "null": b"null",
    "a list": b"[]", "too deep": 100_000 * b"[", "deep": 500 * b"[" + 500 * b"]", "a long number": 5000 * b"9",
    "NUL": 4096 * b"\0",
}  # fmt: skip
READING = {
    LAYOUT: ("show RUN/LAYOUT", "show RUN --layout t0", "report RUN", "reach RUN --quick", "compare RUN RUN/LAYOUT"),
    "pareto.json": ("show RUN", "report RUN", "reach RUN --quick", "compare RUN RUN/LAYOUT", "prices RUN",
                    "predict RUN --layout t9", "tolerance RUN --layout t9", "resonances RUN --layout t9"),
    "run.json": ("show RUN", "report RUN", "reach RUN --quick --layout t0", "resume RUN --trials 1 --workers 1"),
    "progress.json": ("show RUN",),
    "journal.log": ("resume RUN --trials 1 --workers 1 --no-report",),
}  # fmt: skip


@pytest.fixture
def run(tmp_path):
    """A copy of the kept run, to damage."""
    return shutil.copytree(RUN, tmp_path / "run")


def entries(node, path=()):
    """Paths of every entry, of a list's its first."""
    if path:
        yield path
    if isinstance(node, dict):
        for key, value in node.items():
            yield from entries(value, (*path, key))
    elif isinstance(node, list) and node:
        yield from entries(node[0], (*path, 0))


def damaged(data, path, value):
    """A copy with another value at a path, or without it."""
    found = copy.deepcopy(data)
    node = found
    for key in path[:-1]:
        node = node[key]
    if value is GONE:
        del node[path[-1]]
    else:
        node[path[-1]] = value
    return found


def told(capsys, command, run):
    """What a command comes to; with exit code 2 it must say in few words why."""
    words = command.replace("RUN", str(run)).replace("LAYOUT", LAYOUT).split()
    code = main(words)
    out, err = capsys.readouterr()
    out.encode()
    err.encode()
    assert code in (0, 1, 2)
    if code == 2:
        assert 2 <= len(err.splitlines()) <= 4, err
        assert len(err) < 1500
    return code


@pytest.mark.parametrize("name", READING)
@pytest.mark.parametrize("what", BROKEN)
def test_a_broken_file_is_told(run, capsys, name, what):
    before = (run / name).read_bytes()
    (run / name).write_bytes(before[: len(before) // 2] if BROKEN[what] is None else BROKEN[what])
    for command in READING[name] if ALL else READING[name][-1:]:
        goes_on = name == "journal.log" and what == "half a file"  # as after a kill
        assert told(capsys, command, run) == (0 if goes_on else 2), command


@pytest.mark.parametrize("name", [name for name in READING if name.endswith(".json")])
def test_a_damaged_entry_is_told_or_does_no_harm(run, capsys, name):
    data = json.loads((run / name).read_text())
    codes = set()
    for number, path in list(enumerate(entries(data)))[:: (13 if name == LAYOUT else 1) * (1 if ALL else 5)]:
        for value in WRONG[number % len(WRONG) :: len(WRONG)]:
            (run / name).write_text(json.dumps(damaged(data, path, value)))
            codes.add(told(capsys, READING[name][0], run))
    assert codes >= {0, 2}


LINES = {
    "of nothing": "{}", "of a list": "[1]", "of a trial without its study": '{"op_code": 4, "worker_id": "w"}',
    "of a study without a name": '{"op_code": 0, "worker_id": "w"}',
}  # fmt: skip


@pytest.mark.parametrize("what", LINES)
def test_a_line_of_the_journal_that_makes_no_sense_is_told(run, capsys, what):
    with (run / "journal.log").open("a") as journal:
        journal.write(f"{LINES[what]}\n{LINES[what]}\n")
    before = (run / "journal.log").read_bytes()
    assert told(capsys, "resume RUN --trials 1 --workers 1", run) == 2
    assert (run / "journal.log").read_bytes() == before
