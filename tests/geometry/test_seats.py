"""What holes end in, the round body or a flat above it or in its wall: by default, as stated, and read back."""

import json

import numpy as np
import pytest
from made_records import hole, layout
from shelf import KEYED, PIPE, changed, pipe

from acoustics.arrays import leaves
from acoustics.toneholes import seat_top
from optimizer.geometry.duct import fittings
from optimizer.geometry.layout import layout_bounds
from optimizer.geometry.measured_layout import measured
from optimizer.project.loading import ProjectError
from optimizer.records.layout import LayoutRecord, Seat
from optimizer.solving.assemble import assemble
from optimizer.solving.problem import Problem
from optimizer.solving.real_resonances import record_duct
from optimizer.views.drawings.body import body_drawing
from optimizer.views.project_overview import overview

G1 = 'g1 = { by = "R1", position_mm = [220, 300], diameter_mm = [5, 11], chimney_mm = 4'
KINDS = changed(G1, G1.replace("chimney_mm = 4", 'chimney_mm = [4.5, 6], seat = "raised"'))
KINDS = changed(
    "diameter_mm = [5, 10], chimney_mm = 4 }\ng3", 'diameter_mm = 8, chimney_mm = 3, seat = "sunk" }\ng3', KINDS
)
PADDED = changed("chimney_mm = 4 }\ng2", 'chimney_mm = 4, cover = "plate" }\ng2')
UNSEALED = changed('cover = "plate"', 'cover = "plate", seat = "saddle"', PADDED)


def solved(text):
    """A problem, and the record of a layout in the middle of its ranges."""
    problem = Problem(pipe(text))
    x = 0.5 * (problem.parametrisation.low + problem.parametrisation.high)
    return problem, x, assemble(problem, x, "t00001", {"trial": 1})


def kinds_of(text):
    project = pipe(text).project
    low, _ = layout_bounds(project)
    found = fittings(measured(low, project))
    return np.asarray(found.rim_mm) > 0.0, np.asarray(found.pad_diameter_mm) > 0.0


def test_a_pad_closes_on_a_flat_and_a_finger_on_the_body_unless_said():
    flat, padded = kinds_of(KEYED)
    assert flat.tolist() == padded.tolist() == [True, False, True, True, False, False, False, True]
    assert kinds_of(PADDED)[0].tolist() == [True, False, False, False]
    assert kinds_of(KINDS)[0].tolist() == [True, True, False, False]
    flat, padded = kinds_of(UNSEALED)
    assert (flat.tolist(), padded.tolist()) == ([False] * 4, [True, False, False, False])


def test_a_seat_is_written_with_its_width_and_height():
    # Keywork's defaults: the rim is 1.2 mm and 2 % of the hole; a sunk seat is as wide as the pad would be, 2.5 mm more
    # in all. Its top: what the chimney is higher than the wall of 4 mm.
    _, _, record = solved(KINDS)
    raised, sunk, *bare = record.holes
    assert raised.seat.rim_width_mm == pytest.approx(1.2 + 0.02 * raised.diameter_mm, abs=0.0051)
    assert raised.seat.outer_diameter_mm == pytest.approx(raised.diameter_mm + 2 * raised.seat.rim_width_mm, abs=0.011)
    assert raised.seat.top_mm == pytest.approx(raised.chimney_mm - 4.0, abs=1e-9)
    assert (sunk.seat.rim_width_mm, sunk.seat.outer_diameter_mm, sunk.seat.top_mm) == (2.61, 13.22, -1.0)
    assert [hole.seat for hole in bare] == [None, None]
    assert not any(hole.pad for hole in record.holes)


@pytest.mark.parametrize("text", [PIPE, KINDS, PADDED, UNSEALED], ids=["pipe", "kinds", "padded", "unsealed"])
def test_a_record_sounds_as_it_was_solved(text):
    # Sizes are written to 0.01 mm: both ducts are of the same kinds, and their sizes the same to that.
    problem, x, record = solved(text)
    made, read = problem.duct(problem.layout(x)), record_duct(record)
    for one, other in zip(leaves(made.holes), leaves(read.holes), strict=True):
        assert np.asarray(one) == pytest.approx(np.asarray(other), abs=5.1e-6)
        assert (np.asarray(one) > 0.0).tolist() == (np.asarray(other) > 0.0).tolist()
    tops = [1e-3 * (hole.chimney_mm - record.bore.wall_mm) for hole in record.holes]
    around = 0.5e-3 * np.array([hole.bore_diameter_mm for hole in record.holes])
    assert np.asarray(seat_top(read.holes, around)) == pytest.approx(tops, abs=1e-6)


def test_a_file_of_an_older_release_sounds_the_same():
    # It has seats under pads, without their tops, and none elsewhere.
    _, _, record = solved(PADDED)
    old = json.loads(record.model_dump_json())
    assert [hole["seat"] is not None for hole in old["holes"]] == [True, False, False, False]
    del old["holes"][0]["seat"]["top_mm"]
    read = LayoutRecord.model_validate(old)
    assert read.holes[0].seat.top_mm is None
    for one, other in zip(leaves(record_duct(read)), leaves(record_duct(record)), strict=True):
        assert np.array_equal(one, other)


def test_a_pad_on_the_round_body_is_named():
    said = "g1: a flat pad does not seal on the round body; give the hole a seat, raised or sunk"
    assert said in overview(pipe(UNSEALED))
    assert "does not seal" not in overview(pipe(PADDED))
    assert solved(UNSEALED)[2].to_settle == [said]
    assert solved(PADDED)[2].to_settle == []


def test_a_pad_wider_than_the_flat_it_sinks_into_is_named():
    # Nothing is said of the seat, and the chimney may be shorter than the wall or longer; in the middle it is shorter.
    text = changed("chimney_mm = 4,", "chimney_mm = [3, 4.5],", PADDED)
    said = "g1: its pad is wider than its flat, and lies on the wall; say seat = 'sunk', or lengthen the chimney"
    record = solved(text)[2]
    assert record.holes[0].seat.top_mm == -0.25
    assert record.to_settle == [said]
    assert solved(changed("chimney_mm = [3, 4.5],", "chimney_mm = [3, 3.9],", text))[2].to_settle == []


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (changed("[4.5, 6]", "[3.5, 6]", KINDS), "at least the wall, 4, under a raised seat, but may be 3.5"),
        (changed("chimney_mm = 3,", "chimney_mm = [3, 4.5],", KINDS), "at most the wall, 4, under a sunk seat, but"),
        (changed('"sunk"', '"spotted"', KINDS), "holes.g2.seat"),
    ],
)  # fmt: skip
def test_a_chimney_that_belies_its_seat_is_told(text, said):
    with pytest.raises(ProjectError) as caught:
        pipe(text)
    assert said in str(caught.value)


def test_seats_are_drawn_and_told():
    seats = [Seat(outer_diameter_mm=9.5, rim_width_mm=1.75, top_mm=top) for top in (1.0, -0.5, None)]
    holes = [hole(f"g{number}", 200.0 + 20 * number, seat=seat) for number, seat in enumerate([*seats, None])]
    text = body_drawing(layout(holes=holes)).to_html()
    assert text.count('class="seat"') == 3
    for words in ("seat 9.50, raised by 1.00", "seat 9.50, sunk by 0.50", "seat 9.50<", "g3: 260.00 mm, diameter 6.00"):
        assert words in text
