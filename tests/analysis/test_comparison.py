"""Layouts and fronts side by side, on records made by hand; the figures are worked out beside them."""

import json
import math
import re

import jsonschema
import moocore
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_records import PAD, binding, front, hole, layout, note, pair, run_folder

from optimizer.analysis.comparison import Candidate, ComparisonError, compared
from optimizer.analysis.front_comparison import front_comparison
from optimizer.analysis.note_changes import note_changes, pressed
from optimizer.commands.cli import main
from optimizer.records.comparison import ComparisonRecord
from optimizer.records.files import read_record, write_record
from optimizer.records.keys import KeyRecord, LeverRecord
from optimizer.records.kinds import schema_text
from optimizer.records.layout import BoreTable, LayoutRecord
from optimizer.records.mass import MassRecord, printed_body
from optimizer.records.pieces import JointRecord, PieceRecord


def against(first, other):
    """The one comparison of two layouts."""
    return compared([Candidate(first, "a.json"), Candidate(other, "b.json")], 1.24).comparisons[0]


# notes


def test_identical_layouts_compare_as_all_unchanged():
    key = KeyRecord(id="k1", touch="L4", moved_by=[], opens=["g1"], closes=[], touch_position_mm=180.0)
    record = layout(keys=[key], binds=[binding("web.g1-g2")])
    found = against(record, record)
    assert {hole.state for hole in found.holes} == {"unchanged"}
    assert {key.state for key in found.keys} == {"unchanged"}
    assert [note.difference_cents for note in found.notes] == [0.0, 0.0]
    assert [pair.difference_mm for pair in found.reach] == [0.0]
    assert (found.binds.both, found.binds.only_first, found.binds.only_other) == (["web.g1-g2"], [], [])
    assert found.remarks == []


def test_notes_match_by_name_register_and_main_or_alternate():
    # D5 in register 2 is another line than D5 in register 1, and than the alternate; 3.5 - 1 = 2.5; 2 - 4.5 = -2.5.
    first = [note("D5", 1.0, 2, height=4.5), note("D5", 5.0, 1, alternate=True)]
    other = [note("D5", 7.0, 1), note("D5", 3.5, 2, height=2.0)]
    found = note_changes(first, other)
    assert [(n.register_number, n.alternate, n.state) for n in found] == [
        (2, False, "both"), (1, True, "gone"), (1, False, "new")
    ]  # fmt: skip
    assert (found[0].difference_cents, found[0].height_difference) == (2.5, -2.5)
    assert (found[1].cents, found[1].difference_cents) == ((5.0, None), None)


def test_notes_written_by_other_names_match_by_their_pitch():
    # B4 in German is English Bb4, As4 is G#4; older files had English names and told no key numbers.
    ours = layout(notes=[note("G#4", 1.0), note("Bb4", 2.0, touches="L2"), note("B4", 3.0, touches="L3")])
    german = [("As4", 68, "L1"), ("B4", 70, "L2"), ("H4", 71, "L3")]
    theirs = layout(notes=[note(name, 5.0, written_midi=midi, touches=by) for name, midi, by in german])
    found = against(ours, theirs).notes
    assert [(each.written, each.state, each.difference_cents) for each in found] == [
        ("G#4", "both", 4.0), ("Bb4", "both", 3.0), ("B4", "both", 2.0)
    ]  # fmt: skip


def test_alternates_of_one_note_match_by_what_is_pressed():
    # Two alternates on either side: L12 is L1 and L2 whatever the order; the rest press unlike things and stay apart.
    first = [note("D5", 1.0, touches="L12 k1", alternate=True), note("D5", 2.0, touches="R1", alternate=True)]
    other = [note("D5", 3.0, touches="k2", alternate=True), note("D5", 4.0, touches="k1 L12", alternate=True)]
    found = note_changes(first, other)
    assert [(n.state, n.cents) for n in found] == [
        ("both", (1.0, 4.0)), ("both", (2.0, 3.0)),
    ]  # fmt: skip
    assert [n.state for n in note_changes(first[::-1], other)] == ["both", "both"]
    third = [*other, note("D5", 9.0, touches="k3", alternate=True)]
    assert [n.state for n in note_changes(first, third)] == ["both", "gone", "new", "new"]


def test_what_is_pressed():
    assert pressed("L123 kC") == {"L1", "L2", "L3", "kC"}
    assert pressed("none") == frozenset()
    assert pressed("xxo xho") == {"xxo xho"}


# holes, keys, reach, pieces


def test_holes_moved_resized_new_gone_and_covered():
    first = layout(holes=[hole("g1", 220.0, by="L2"), hole("g2", 200.0), hole("g3", 180.0, by="L3"), hole("g4", 90.0)])
    other = layout(
        holes=[
            hole("g1", 218.5, 6.25, by="L2"),
            hole("g2", 200.0, cover="plate", pad=PAD),
            hole("g3", 180.04, by="L3"),
            hole("g5", 60.0, by="key"),
        ]
    )
    found = {each.id: each for each in against(first, other).holes}
    assert found["g1"].changes == ["moved", "resized"]
    assert (found["g1"].moved_mm, found["g1"].resized_mm) == (-1.5, 0.25)
    assert (found["g2"].state, found["g2"].changes) == ("changed", ["cover finger to plate"])
    assert (found["g3"].state, found["g3"].changes) == ("changed", ["slight"])  # 0.04 mm is less than 0.1
    assert (found["g4"].state, found["g5"].state) == ("gone", "new")
    assert (found["g4"].position_mm, found["g5"].position_mm) == ((90.0, None), (None, 60.0))


def test_a_hole_turned_across_the_back_turned_by_the_short_way():
    # From 170 to -170 degrees it is 20 degrees on, not 340 back.
    first = layout(holes=[hole("g1", 220.0, azimuth_deg=170.0)])
    other = layout(holes=[hole("g1", 220.0, azimuth_deg=-170.0)])
    assert against(first, other).holes[0].changes == ["turned +20 deg"]


def test_a_locked_hole_is_unchanged():
    # Locking keeps every number to the last bit; what marks it as made, and what its neighbours do to the row's cutoff,
    # is no change of the hole.
    other = layout(holes=[hole("g1", 210.0, by="L2"), hole("g2", 200.0, locked=True, lattice_cutoff_hz=900.0)])
    assert {each.id: each.state for each in against(layout(), other).holes} == {"g1": "changed", "g2": "unchanged"}


def test_keys_new_gone_touch_moved_and_levers():
    def key(name, at, length):
        lever = LeverRecord(hole="g1", length_mm=length, touch_arm_mm=1, pad_arm_mm=1, twisted_mm=1,
                            stiffness_n_per_mm=1, lost_motion_mm=0, lost_motion_max_mm=1)  # fmt: skip
        return KeyRecord(id=name, touch="L4", moved_by=[], opens=["g1"], closes=[], touch_position_mm=at,
                         touch_azimuth_deg=-130.0, levers=[lever])  # fmt: skip

    first = layout(keys=[key("k1", 100.0, 50.0), key("k2", 90.0, 40.0)])
    other = layout(keys=[key("k1", 103.0, 52.5), key("k3", 90.0, 40.0)])
    found = {each.id: each for each in against(first, other).keys}
    assert {name: each.state for name, each in found.items()} == {"k1": "changed", "k2": "gone", "k3": "new"}
    assert (found["k1"].moved_mm, found["k1"].changes) == (3.0, ["touch moved"])
    assert found["k1"].levers[0].length_mm == (50.0, 52.5)


def test_reach_and_what_binds():
    # 28 mm lies between comfortable 24 and working limit 30, 20 below both.
    first = layout(binds=[binding("web.g1-g2"), binding("bore.g1")])
    other = layout(reach=[pair("L1-L2", 28.0)], binds=[binding("bore.g1"), binding("reach.L1-L2")])
    found = against(first, other)
    assert (found.reach[0].difference_mm, found.reach[0].verdict) == (8.0, ("comfortable", "strained"))
    assert found.binds.only_first == ["web.g1-g2"]
    assert found.binds.only_other == ["reach.L1-L2"]
    assert found.binds.both == ["bore.g1"]


def test_pieces_by_their_number():
    whole = [PieceRecord(from_mm=0, to_mm=300, joint_mm=0, length_mm=300, holes=[])]
    halves = [
        PieceRecord(from_mm=0, to_mm=140, joint_mm=20, length_mm=150, holes=[]),
        PieceRecord(from_mm=140, to_mm=300, joint_mm=0, length_mm=170, holes=[]),
    ]
    found = against(layout(pieces=whole), layout(pieces=halves)).pieces
    assert [(each.length_mm, each.joint_at_mm) for each in found] == [
        ((300.0, 150.0), (None, 140.0)), ((None, 170.0), (None, None))
    ]  # fmt: skip


# printed mass


def frustum(r0, r1, length):
    """Volume of a cone's frustum, pi h (R2 + R r + r2) / 3: Euclid, Elements XII; any table of formulas."""
    return math.pi * length / 3.0 * (r0 * r0 + r0 * r1 + r1 * r1)


def test_mass_of_a_cones_wall():
    # Bore 10 to 20 mm over 300 mm, wall 4: outer frustum of radii 9 and 14 less inner one of 5 and 10
    # = pi 100 (81 + 126 + 196 - 25 - 50 - 100) = 22 800 pi mm3 = 71.628 cm3; x 1.24 = 88.82 g.
    record = layout(holes=[], bore=BoreTable(points_mm=[(0, 10), (300, 20)], wall_mm=4, crook_end_mm=0), notes=[])
    found = printed_body(record)
    assert found.volume_cm3 == pytest.approx((frustum(9, 14, 300) - frustum(5, 10, 300)) / 1000, abs=6e-4)
    assert found.volume_cm3 == 71.628
    assert found.mass_g == 88.82
    assert printed_body(record, 1.0).mass_g == 71.63


def test_mass_without_the_crook():
    # Beyond 100 mm the same cone has bores 40/3 and 20, so outer radii 32/3 and 14 over 200 mm.
    bore = BoreTable(points_mm=[(0, 10), (300, 20)], wall_mm=4, crook_end_mm=100)
    record = layout(holes=[hole("v1", 50.0, 5.0)], bore=bore)
    wanted = frustum(32 / 3, 14, 200) - frustum(20 / 3, 10, 200)
    assert printed_body(record).volume_cm3 == pytest.approx(wanted / 1000, abs=6e-4)


def test_mass_less_holes():
    # Cylinder pi 5 (20 + 5) 300 = 37 500 pi mm3. A straight hole of 6 mm through 5 mm: 45 pi. One of 8 mm at the bore
    # and 4 at the top of a 10 mm chimney is 6 mm wide at the surface: pi 5/3 (16 + 12 + 9) = 61.667 pi.
    holes = [hole("g1", 200.0), hole("g2", 220.0, 8.0, top_diameter_mm=4.0, chimney_mm=10.0)]
    wanted = math.pi * (37500 - 45 - 5 / 3 * 37) / 1000
    assert printed_body(layout(holes=holes)).volume_cm3 == pytest.approx(wanted, abs=6e-4)


def test_mass_of_a_joint():
    # Over 20 mm the wall 20 to 30 mm (125 pi mm2) gives way to a tenon 20 to 26 (69 pi) less two grooves of 2 mm down
    # to 24 (25 pi each over 2 mm) and a socket 26.4 to 32 (81.76 pi).
    joint = JointRecord(
        at_mm=150, length_mm=20, bore_diameter_mm=20, body_diameter_mm=30, tenon_diameter_mm=26, tenon_wall_mm=3,
        radial_clearance_mm=0.2, socket_diameter_mm=26.4, socket_wall_mm=2.8, socket_outer_diameter_mm=32, ring_mm=1,
        seal="o-ring", grooves=2, groove_width_mm=2, groove_depth_mm=1, groove_diameter_mm=24, groove_wall_mm=2,
        keep_out_mm=(135, 165), locked=False,
    )  # fmt: skip
    first = PieceRecord(from_mm=0, to_mm=150, joint_mm=20, length_mm=160, holes=[], joint=joint)
    last = PieceRecord(from_mm=150, to_mm=300, joint_mm=0, length_mm=160, holes=[])
    wanted = math.pi * (37500 + 20 * (69 + 81.76 - 125) - 2 * 2 * 25) / 1000
    assert printed_body(layout(holes=[], pieces=[first, last])).volume_cm3 == pytest.approx(wanted, abs=6e-4)


# fronts


def test_fronts_of_two_points_each():
    # In the box 10 cents x 100 %, as shares: A (0.2, 0.6) and (0.6, 0.2): 0.8 0.4 + 0.4 (0.8 - 0.4) = 0.48.
    # B (0.1, 0.5) and (0.7, 0.3): 0.9 0.5 + 0.3 (0.7 - 0.5) = 0.51. B's first beats A's first, A's second B's second.
    found = front_comparison(front([(2, 60), (6, 20)]), front([(1, 50), (7, 30)]), ("A", "B"))
    assert found.hypervolume == (pytest.approx(0.48), pytest.approx(0.51))
    assert found.beaten_share == (0.5, 0.5)
    assert found.sentences == [
        "B beats 1 of A's 2 layouts: those with tuning 2.00 cents, stretch 60.00 %.",
        "A beats 1 of B's 2 layouts: those with tuning 7.00 cents, stretch 30.00 %.",
        "Below 2.00 cents of tuning only B has layouts, down to 1.00.",
        "Below 30.00 % of stretch only A has layouts, down to 20.00.",
    ]


def test_a_difference_that_either_front_counts_as_none_is_not_told():
    wide = front([(2, 60), (6, 20)]).model_copy(update={"thinned_to": {"tuning": 1.5, "stretch": 1.0}})
    found = front_comparison(wide, front([(1, 50), (7, 30)]), ("A", "B")).sentences[2:]
    assert found == ["Below 30.00 % of stretch only A has layouts, down to 20.00."]


@given(st.lists(st.tuples(st.floats(0, 12), st.floats(0, 120)), min_size=1, max_size=8), st.data())
def test_hypervolume_and_beaten_shares_as_moocore_has_them(points, data):
    others = data.draw(st.lists(st.tuples(st.floats(0, 12), st.floats(0, 120)), min_size=1, max_size=8))
    found = front_comparison(front(points), front(others), ("A", "B"))
    assert found.hypervolume[0] == pytest.approx(moocore.hypervolume(np.array(points, float), ref=[10, 100]) / 1000)
    # A point is beaten when it is dominated within the set of itself and the others.
    beaten = [not moocore.is_nondominated(np.array([point, *others], float), keep_weakly=True)[0] for point in points]
    assert found.beaten_share[0] == pytest.approx(np.mean(beaten))


def test_fronts_compare_in_the_objectives_they_share():
    wide = front([(2, 60, 5)], ("tuning", "stretch", "unevenness"))
    found = front_comparison(wide, front([(1, 70)], ("tuning", "unevenness")), ("A", "B"))
    assert found.objectives == ["tuning", "unevenness"]
    none = front_comparison(front([(1,)], ("tuning",)), front([(1,)], ("stretch",)), ("A", "B"))
    assert none.sentences == ["The two searches have no objective in common, so their fronts cannot be compared."]
    assert none.hypervolume == (0.0, 0.0)


def test_a_front_with_nothing_feasible_is_empty():
    found = front_comparison(front([(1, 1)], feasible=False), front([(2, 2)]), ("A", "B"))
    assert (found.layouts, found.hypervolume[0], found.beaten_share) == ((0, 1), 0.0, (0.0, 0.0))
    assert found.sentences[0] == "A has no feasible layout."


# the whole


def test_nothing_in_common_is_told():
    with pytest.raises(ComparisonError, match="no note of the same register in common: A4 to B4, against C2 to C2"):
        against(layout(), layout(notes=[note("C2", 0.0)]))


def test_what_a_reader_must_know():
    other = layout(instrument="Another Pipe", feasible=False, reach=[])
    assert against(layout(), other).remarks == [
        "B is not feasible: a limit is broken or a note does not sound as wanted",
        "they are of different instruments; holes and keys are matched by their names alone",
    ]


# the command


def told(capsys, *arguments):
    """Exit code, output and errors of a call."""
    code = main([str(argument) for argument in arguments])
    caught = capsys.readouterr()
    return code, caught.out, caught.err


@pytest.fixture
def runs(tmp_path):
    """Two run folders; the best-tuned layout of the first is its second one."""

    def of(name, tuning, stretch):
        return layout(name, objectives=layout().objectives | {"tuning": tuning, "stretch": stretch})

    first = run_folder(tmp_path / "first", [of("t00000", 6.0, 20.0), of("t00004", 2.0, 60.0)])
    other = run_folder(tmp_path / "other", [of("t00001", 1.0, 50.0), of("t00002", 7.0, 30.0)])
    return first, other


def test_compare_two_runs(runs, tmp_path, capsys):
    file = tmp_path / "out" / "c.json"
    code, out, err = told(capsys, "compare", *runs, "--json", file)
    assert (code, err) == (0, "")
    assert "B beats 1 of A's 2 layouts" in out
    assert re.search(r"^A and B +0\.4800 +0\.5100 ", out, re.MULTILINE)
    jsonschema.Draft202012Validator(json.loads(schema_text("comparison"))).validate(json.loads(file.read_text()))
    record = read_record(file, ComparisonRecord)
    assert [(each.mark, each.id) for each in record.layouts] == [("A", "t00004"), ("B", "t00001")]


def test_compare_three_of_which_one_is_a_file(runs, tmp_path, capsys):
    file = tmp_path / "out" / "c.json"
    assert told(capsys, "compare", *runs, runs[0] / "layouts" / "t00000.json", "--json", file)[0] == 0
    found = read_record(file, ComparisonRecord).comparisons
    assert [(each.first, each.other, each.fronts is None) for each in found] == [("A", "B", False), ("A", "C", True)]


def test_compare_weighs_with_the_density_given(runs, tmp_path, capsys):
    # 37 500 pi less two holes of 45 pi mm3 are 117.527 cm3; at 1 g/cm3 that is 117.53 g.
    file = tmp_path / "c.json"
    told(capsys, "compare", *runs, "--density", "1", "--json", file)
    assert read_record(file, ComparisonRecord).layouts[0].printed.mass_g == 117.53


def test_each_layout_is_weighed_as_its_project_states(runs, tmp_path, capsys):
    # The same 117.527 cm3 at 1.24 g/cm3 (no mass in the file: an older release's) and at 2.
    first = runs[0] / "layouts" / "t00004.json"
    mass = MassRecord(mass_g=1.0, balance_mm=1.0, parts_g={}, density_g_per_cm3=2.0)
    heavy, file = tmp_path / "heavy.json", tmp_path / "c.json"
    write_record(heavy, read_record(first, LayoutRecord).model_copy(update={"mass": mass}))
    _, out, _ = told(capsys, "compare", first, heavy, "--json", file)
    assert [each.printed.mass_g for each in read_record(file, ComparisonRecord).layouts] == [145.73, 235.05]
    assert "1.24 (A), 2 (B) g/cm3" in " ".join(out.split())


def test_compare_says_what_to_mend(runs, tmp_path, capsys):
    empty = tmp_path / "empty"
    empty.mkdir()
    alien = tmp_path / "alien.json"
    write_record(alien, layout(notes=[note("C2", 0.0)]))
    none = run_folder(tmp_path / "none", [])
    cases = {
        (runs[0], empty): "is no run folder: there is no pareto.json in it",
        (runs[0], tmp_path / "nowhere.json"): "there is no file",
        (runs[0], runs[1] / "run.json"): "is not a holewright-layout file",
        (runs[0], alien): "no note of the same register in common",
        (runs[0], none): "has no layout yet",
        (runs[0],): "name from 2 to 8 runs or layouts, but there are 1",
        (*runs, "--density", "0"): "--density must lie between 0.1 and 25 g/cm3, but got 0",
    }
    for arguments, said in cases.items():
        code, out, err = told(capsys, "compare", *arguments)
        assert (code, out) == (2, "")
        assert said in err
