"""Scans that run for as long as they are told end with 1 where they found something, so that who runs them knows."""

import importlib.util
import sys
from contextlib import nullcontext
from types import SimpleNamespace

import pytest
from places import ROOT


@pytest.fixture
def scan(monkeypatch):
    """A benchmark as a module, called with some words."""

    def loaded(name, *words):
        spec = importlib.util.spec_from_file_location(name, ROOT / "tests" / "benchmarks" / f"{name}.py")
        module = importlib.util.module_from_spec(spec)
        monkeypatch.setattr(sys, "path", [*sys.path])
        spec.loader.exec_module(module)
        monkeypatch.setattr(sys, "argv", [name, *words])
        return module

    return loaded


@pytest.mark.parametrize(("kept", "code"), [([True, True], 0), ([True, False], 1)])
def test_a_rule_of_http_that_is_not_kept_is_told_by_the_exit_code(kept, code, scan, monkeypatch, capsys):
    http = scan("http_scan")
    answer = http.Answer(200, {"etag": "1", "last-modified": "then"}, b"")
    asker = SimpleNamespace(curl=lambda *_: lambda: [answer])
    known = [http.Rule("9110 8", "a question", lambda: [answer], lambda _, each=each: each) for each in kept]
    monkeypatch.setattr(http, "shelf", lambda place: place)
    monkeypatch.setattr(http, "served", lambda place: nullcontext(SimpleNamespace(port=1)))
    monkeypatch.setattr(http, "Asker", lambda port: asker)
    monkeypatch.setattr(http, "rules", lambda *_: known)
    assert http.main() == code
    assert capsys.readouterr().out.endswith(f"2 rules, {code} not kept\n")


FAILURE = {"a place": {"times": 2, "said": "it went wrong"}}


@pytest.mark.parametrize(("failed", "ended_by", "code"), [({}, 0, 0), (FAILURE, 0, 1), ({}, 77, 1)])
def test_a_reader_that_fails_is_told_by_the_exit_code(failed, ended_by, code, scan, monkeypatch, tmp_path, capsys):
    fuzz = scan("fuzz_readers", "--readers", "project", "--work", str(tmp_path))
    ended = SimpleNamespace(returncode=ended_by, stdout="")
    monkeypatch.setattr(fuzz.subprocess, "run", lambda *_, **__: ended)
    monkeypatch.setattr(fuzz, "NOTHING", fuzz.NOTHING | {"failed": failed})
    assert fuzz.main() == code
    assert capsys.readouterr().out.startswith("project ")
