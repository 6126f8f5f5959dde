"""One solve of the demo tenor: its keys within every limit, and written and shown as they are."""

import io
import json

import pytest
from places import TENOR
from rich.console import Console

from optimizer.project.loading import load_project
from optimizer.records.layout import LayoutRecord
from optimizer.search.proposals import Proposal
from optimizer.search.trial import Solver
from optimizer.solving.linearised import Emphasis
from optimizer.views.layout_tables import keys_table
from optimizer.views.terminal import show_table


@pytest.fixture(scope="module")
def tenor():
    loaded = load_project(TENOR)
    solver = Solver(loaded.text, loaded.source)
    proposal = Proposal(number=1, emphasis=Emphasis(stretch=0.1, unevenness=0.1), size=0.3, scatter=0.0, seed=1)
    return LayoutRecord.model_validate_json(solver.solve(proposal).record_json)


def test_the_tenor_meets_every_limit_of_its_keys(tenor):
    assert tenor.feasible
    for key in tenor.keys:
        for lever in key.levers:
            assert lever.lost_motion_mm <= lever.lost_motion_max_mm
        for post in key.axle.posts if key.axle else ():
            assert post.room_mm is None or post.room_mm >= 1.0  # keywork.post_clearance_mm


def test_every_key_has_touch_and_levers_and_every_pressed_one_an_axle(tenor):
    for key in tenor.keys:
        assert [lever.hole for lever in key.levers] == [*key.opens, *key.closes]
        assert (key.axle is None) == (key.moved_by != [])
        assert -180.0 < key.touch_azimuth_deg <= 180.0
        if key.axle:
            places = [post.position_mm for post in key.axle.posts]
            assert places == sorted(places)
            assert places[0] < key.touch_position_mm < places[-1]


def test_the_key_table_shows_them(tenor):
    console = Console(width=200, record=True, file=io.StringIO())
    show_table(console, keys_table(tenor.keys))
    text = console.export_text()
    for key in tenor.keys:
        assert f"{key.levers[0].length_mm:.1f}" in text
        assert key.id in text


def test_files_without_the_new_fields_read(tenor):
    data = json.loads(tenor.model_dump_json())
    for key in data["keys"]:
        for name in ("touch_azimuth_deg", "levers", "axle"):
            del key[name]
    read = LayoutRecord.model_validate(data)
    assert read.keys[0].levers == []
    assert read.keys[0].axle is None
