"""The Cellar Bass, whose fingers rest on touches in rows, by one solve looked at in its record's own numbers."""

import itertools
import math

import pytest
from places import CONFIGS

from optimizer.project.loading import load_project
from optimizer.solving.fitting import Fitting


@pytest.fixture(scope="module")
def record():
    fitting = Fitting(load_project(CONFIGS / "cellar-bass.toml"))
    return fitting.judged([fitting.solve(0)], "bass")


def test_it_sounds_down_to_b2(record):
    # B2 is 440 Hz less 22 semitones: 123.47 Hz (ISO 16 for the 440).
    lowest = min(record.notes, key=lambda note: note.target_hz)
    assert (lowest.written, lowest.sounding) == ("B3", "B2")
    assert lowest.target_hz == pytest.approx(440.0 * 2.0 ** (-22 / 12))
    assert record.feasible


def test_its_holes_are_all_under_keys(record):
    assert [hole.role for hole in record.holes].count("tone") == 18
    assert [hole.role for hole in record.holes].count("vent") == 2
    assert {hole.by for hole in record.holes} == {"key"}


def test_every_key_has_a_touch_and_levers_on_an_axle_of_its_own_or_of_what_moves_it(record):
    for key in record.keys:
        assert key.touch_position_mm is not None, key.id
        assert [lever.hole for lever in key.levers] == key.opens + key.closes
        assert all(0.0 < lever.length_mm <= 560.0 for lever in key.levers)
        assert (key.axle is None) == key.id.startswith("link")


def test_touches_of_different_keys_leave_room_for_fingertips(record):
    # Along the body, and round it by the arc at the nearer one to the reed: the cone is 5.6 mm wide at 50 mm and gains
    # 34.2 mm over the next 1200, its wall is 4 mm. 10 mm apart at the least: common practice, no source.
    touches = [(key.id, key.touch_position_mm, key.touch_azimuth_deg) for key in record.keys if key.axle is not None]
    assert len(touches) == 18
    for (one, s1, a1), (other, s2, a2) in itertools.combinations(touches, 2):
        turn = abs((a1 - a2 + 180.0) % 360.0 - 180.0)
        radius = 0.5 * (5.6 + 34.2 * (min(s1, s2) - 50.0) / 1200.0) + 4.0
        assert math.hypot(s1 - s2, radius * math.radians(turn)) >= 10.0, (one, other)
