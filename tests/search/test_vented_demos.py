"""The demos keep what a player accepts of open holes by one solve each, looked at in their records' own numbers."""

import pytest
from places import CONFIGS

from optimizer.project.loading import load_project
from optimizer.records.steps import largest_step
from optimizer.solving.fitting import Fitting


@pytest.mark.parametrize(
    ("name", "cents"),
    [
        ("lantern-tenor", 2.5),
        ("lantern-tenor-low-a", 2.5),
        ("attic-reed", 2.0),
        ("cellar-bass", 2.5),
        ("meadow-pipe", None),
    ],
)
def test_a_demos_open_holes_are_wide_and_even_enough(name, cents):
    # The Meadow Pipe's best-tuned layout has a weak top note, with venting or without; its search finds others.
    fitting = Fitting(load_project(CONFIGS / f"{name}.toml"))
    record = fitting.judged([fitting.solve(0)], name)
    assert record.feasible or cents is None
    assert cents is None or record.objectives["tuning"] < cents
    assert largest_step(record.holes, record.notes).percent <= 30.0
    for hole in (hole for hole in record.holes if hole.role == "tone"):
        share = 0.25 if hole.cover == "finger" else 0.35
        assert hole.diameter_mm >= share * hole.bore_diameter_mm
    asked = [margin for limit, margin in record.margins_mm.items() if limit.split(".")[0] in ("step", "size", "cutoff")]
    assert len(asked) > 20
    assert min(asked) >= 0.0
