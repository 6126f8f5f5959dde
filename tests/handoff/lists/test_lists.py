"""Parts and cuts: against the records they come from, and cuts against the fewest bars there can be."""

import csv
import io
import math
from itertools import pairwise

import numpy as np
import pytest
import scipy
from made_records import PAD, hole, layout
from places import CONFIGS

from optimizer.handoff.lists.bill import counted_parts, pad_mm, parts_of, print_cost, to_cut
from optimizer.handoff.lists.cutting import BARS_MM, KERF_MM, Length, bar_for, cut_up
from optimizer.handoff.lists.list_tables import cuts_table, parts_table
from optimizer.handoff.lists.tables import csv_text
from optimizer.handoff.shapes.drawing import drawn
from optimizer.project.included import read_included
from optimizer.project.stock import Stock
from optimizer.records.files import read_record
from optimizer.records.layout import LayoutRecord, Seat


@pytest.fixture(scope="module")
def tenor():
    return read_record(CONFIGS / "prototypes" / "lantern-tenor.json", LayoutRecord)


def fewest_bars(lengths, bar):
    """Fewest bars, proved by a mixed-integer solver: which length goes into which bar, which bars are used at all."""
    count = len(lengths)
    sizes = np.array(lengths) + KERF_MM
    cost = np.concatenate([np.zeros(count * count), np.ones(count)])
    once = np.hstack([np.kron(np.eye(count), np.ones(count)), np.zeros((count, count))])
    full = np.hstack([np.kron(sizes, np.eye(count)), -bar * np.eye(count)])
    rules = [scipy.optimize.LinearConstraint(once, 1, 1), scipy.optimize.LinearConstraint(full, -np.inf, 0)]
    found = scipy.optimize.milp(
        cost, constraints=rules, integrality=np.ones(cost.size), bounds=scipy.optimize.Bounds(0, 1)
    )
    assert found.success
    return round(found.fun)


@pytest.mark.parametrize("seed", range(6))
def test_cuts_take_hardly_more_bars_than_there_must_be(seed):
    lengths = np.random.default_rng(seed).uniform(30.0, 200.0, 9).round(1).tolist()
    bars = cut_up(Length(mm, "key") for mm in lengths)
    assert bars[0].mm == BARS_MM[0]
    assert sorted(cut.mm for bar in bars for cut in bar.cuts) == sorted(lengths)
    assert all(sum(cut.mm + KERF_MM for cut in bar.cuts) <= bar.mm for bar in bars)
    least = fewest_bars(lengths, bars[0].mm)
    assert least <= len(bars) <= math.floor(11 / 9 * least + 6 / 9)


def test_cuts_of_a_demo_are_within_one_bar_of_the_fewest(tenor):
    tubes = to_cut(parts_of(tenor))["hinge tube", "5 x 1 mm"]
    bars = cut_up(tubes)
    # All wire through a sum: no fewer bars than their lengths together take.
    least = math.ceil(sum(tube.mm + KERF_MM for tube in tubes) / bars[0].mm)
    assert least <= len(bars) <= least + 1


@pytest.mark.parametrize(("longest", "bar"), [(329.0, 330.0), (329.5, 1000.0), (999.5, 1000.5)])
def test_bars_are_as_long_as_the_longest_piece_asks_for(longest, bar):
    assert bar_for(longest) == bar


def sizes_of(record, what):
    return [part for part in parts_of(record) if part.what == what]


def test_rods_and_tubes_fit_between_their_posts(tenor):
    axles = [key.axle for key in tenor.keys if key.axle is not None]
    rods = [part.length_mm for part in sizes_of(tenor, "axle rod")]
    for axle, rod in zip(axles, rods, strict=True):
        # From outside to outside of the end posts, and 1.5 mm at each end; a tenth up at the most.
        assert 0.0 <= rod - (axle.length_mm + axle.post_diameter_mm + 3.0) < 0.1 + 1e-9
    tubes = iter(sizes_of(tenor, "hinge tube"))
    for axle in axles:
        places = [post.position_mm for post in axle.posts]
        for low, high in pairwise(places):
            play = high - low - axle.post_diameter_mm - next(tubes).length_mm
            assert 0.2 - 1e-9 <= play < 0.3
    assert next(tubes, None) is None


def test_every_key_and_hole_has_its_parts(tenor):
    axles = [key for key in tenor.keys if key.axle is not None]
    assert len(sizes_of(tenor, "post")) == sum(len(key.axle.posts) for key in axles)
    assert len(sizes_of(tenor, "spring")) == len(axles)
    assert {part.goes_to for part in sizes_of(tenor, "pad")} == {each.id for each in tenor.holes if each.pad}
    assert len(sizes_of(tenor, "lever arm")) == 2 * sum(len(key.levers) for key in tenor.keys)
    assert {part.goes_to for part in sizes_of(tenor, "vent tube")} == {"v1", "v2"}


@pytest.mark.parametrize(("pad", "seat", "top", "wanted"), [
    (17.96, 15.46, 1.0, 18.0), (18.0, 15.5, 1.0, 18.0), (18.01, 15.5, 1.0, 18.5),
    (12.0, 12.3, 0.0, 12.5), (15.3, 15.3, -1.0, 15.0), (11.9, 11.9, -1.0, 12.0),
])  # fmt: skip
def test_pads_go_up_by_half_millimetres_never_below_the_seat_and_down_into_a_recess(pad, seat, top, wanted):
    # 15.3 in a recess: 15.0 still covers the 10 mm hole by 1 mm all round; 11.9: 11.5 would not.
    made = hole("g1", 100.0, seat=Seat(outer_diameter_mm=seat, rim_width_mm=1.0, top_mm=top),
                pad=PAD.model_copy(update={"diameter_mm": pad}), top_diameter_mm=10.0)  # fmt: skip
    assert pad_mm(made) == wanted


def test_pads_of_the_stock_are_taken_as_they_are():
    made = hole("g1", 100.0, pad=PAD.model_copy(update={"diameter_mm": 17.3, "in_stock": True}))
    assert pad_mm(made) == 17.3


def test_a_hole_without_a_pad_gets_none():
    with pytest.raises(ValueError, match="g1 has no pad"):
        pad_mm(hole("g1", 100.0))
    assert not sizes_of(layout(), "pad")


def test_parts_say_what_lies_in_the_drawer_for_them_and_what_it_lacks(tenor):
    # Rods thinner than those of the axles, none of its tubes, and no word of pads.
    bare = Stock(name="Attic drawer", rod_mm=[1.5, "3/32 in"], tube_mm=[[4, 0.5, 0.05], [6, 1, 0.05]])
    table = parts_table(tenor, bare)
    place = [column.key for column in table.columns].index("in_drawer")
    said = {row[0]: row[place] for row in table.rows}
    assert (said["axle rod"], said["hinge tube"]) == ("no; nearest 3/32 in", "no; nearest 6 x 1")
    assert said["pad"] is said["spring"] is None
    assert table.notes[0].startswith("Attic drawer lacks axle rod diameter 3 mm (no; nearest 3/32 in)")
    full = read_included(CONFIGS / "stock" / "metric.toml", Stock, "stock").model
    said = {row[0]: row[place] for row in parts_table(tenor, full).rows}
    assert (said["axle rod"], said["hinge tube"]) == ("3", "5 x 1")


def test_o_rings_say_their_cord_and_stretch(printed):
    joint = printed.pieces[0].joint
    ring = sizes_of(printed, "O-ring")[0]
    inside = float(ring.size.split()[2])
    assert 1.0 < joint.groove_diameter_mm / inside < 1.08
    assert ring.size.endswith(f"cord {joint.cord_mm:g}")
    assert len(sizes_of(printed, "O-ring")) == joint.grooves * (len(printed.pieces) - 1)


def test_rules_of_thumb_say_so(tenor):
    said = {part.what: part.rests_on for part in parts_of(tenor)}
    assert all("common practice, no source" in said[what] for what in ("spring", "cork", "screw"))
    assert said["axle rod"] == "from the layout"


def test_print_weighs_what_the_wall_does_and_a_little_more_for_seats(tenor):
    # The record's mass leaves out seats, feet, receiver and chamfers; those are a few grams a piece.
    cost = print_cost(tenor, drawn(tenor))
    whole = sum(cost.grams.values())
    assert len(cost.grams) == len(tenor.pieces)
    assert 0.0 < whole - tenor.mass.parts_g["body"] < 5.0 * len(tenor.pieces)
    assert cost.hours == pytest.approx((whole / 18.0, whole / 12.0))


def test_a_plain_pipe_weighs_what_a_tube_less_its_holes_does():
    pipe = layout(holes=[])
    cost = print_cost(pipe, drawn(pipe))
    # 20 mm bore, 5 mm wall, 300 mm long, 1.24 g/cm3.
    assert cost.grams == {"body": pytest.approx(math.pi / 4.0 * (30.0**2 - 20.0**2) * 300.0 * 1.24e-3)}


def test_lists_as_csv_add_up_to_all_parts(tenor):
    rows = list(csv.DictReader(io.StringIO(csv_text(parts_table(tenor)))))
    assert sum(int(row["count"]) for row in rows) == len(parts_of(tenor))
    assert len(rows) == len(counted_parts(parts_of(tenor)))
    cuts = list(csv.DictReader(io.StringIO(csv_text(cuts_table(tenor)))))
    cut = [float(part.split()[0]) for row in cuts for part in row["cuts"].split(" + ")]
    assert sum(cut) == pytest.approx(sum(float(row["length_mm"]) * int(row["count"]) for row in rows
                                         if row["part"] in ("axle rod", "hinge tube")))  # fmt: skip
