"""Demos solved once, for benchmarks that need any layout of each."""

import argparse
from collections.abc import Iterable
from pathlib import Path

from optimizer.project.demos import demo_names, demo_path
from optimizer.project.loading import load_project
from optimizer.records.files import read_record
from optimizer.records.layout import LayoutRecord
from optimizer.search.proposals import Proposal
from optimizer.search.trial import Solver
from optimizer.solving.linearised import Emphasis


def solved(name: str) -> LayoutRecord:
    """A demo solved once, for tuning with a little stretch and unevenness."""
    loaded = load_project(demo_path(name))
    asked = Proposal(0, Emphasis(1.0, stretch=0.03, unevenness=0.03), 1.0, 0.0, 1)
    return LayoutRecord.model_validate_json(Solver(loaded.text, loaded.source).solve(asked).record_json)


def asked_for(about: str) -> Iterable[LayoutRecord]:
    """The layouts that a benchmark's command line names; every demo, solved once, where it names none."""
    options = argparse.ArgumentParser(description=about, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("layouts", type=Path, nargs="*", help="layout files; none: every demo, solved once")
    named = options.parse_args().layouts
    return (read_record(path, LayoutRecord) for path in named) if named else map(solved, demo_names())
