"""Printers, joints, printed sizes and pieces already printed, against arithmetic written out beside each check.

Rules of joints and print figures are common practice without a source; what is checked is that they are kept.
"""

import json

import numpy as np
import pytest
from places import CONFIGS
from processes import ended, started
from shelf import PIPE, changed, pipe

from optimizer import cautions
from optimizer.analysis.locking import LockError, locked_text, with_locked
from optimizer.commands.cli import main
from optimizer.geometry.choices import Choices, choice_arrays
from optimizer.geometry.layout import layout_bounds, with_numbers
from optimizer.geometry.measured import measured
from optimizer.geometry.pieces import holes_of_pieces, piece_diameters, piece_lengths
from optimizer.geometry.surface import NEVER_MM
from optimizer.limits.catalogue import build_constraints
from optimizer.project.loading import ProjectError, load_project, parse_project
from optimizer.project.printer import Printer
from optimizer.project.printer_file import PrinterFileError, read_printer
from optimizer.records.files import write_record
from optimizer.records.layout import LayoutRecord
from optimizer.search.proposals import Proposal
from optimizer.search.trial import Solver
from optimizer.solving.assemble import assemble
from optimizer.solving.problem import Problem
from optimizer.solving.refine import Emphasis
from optimizer.solving.verify import predict

PRINTERS = sorted((CONFIGS / "printers").glob("*.toml"))
TABLE = "[sections]\njoints = 1\njoint_mm = 16\n\n[printer]\nbed_mm = [200, 180, 300]\nmargin_mm = [10, 8, 6]\n[holes]"
PIECES = changed("[holes]", TABLE)


def printer(**more):
    return Printer.model_validate(more)


def placed(text, joint, end=320.0):
    """A layout of the pipe with one joint in it, and its project."""
    project = pipe(text).project
    low, _ = layout_bounds(project)
    position = np.array([260.0, 210.0, 185.0, 120.0])
    choice, _ = choice_arrays(project, Choices(joints=(0.5,)), position, [joint])
    joints = np.full(choice.joint_used.size, joint)
    layout = with_numbers(low, {"position_mm": position, "joint_mm": joints, "end_mm": np.array(end)})
    return project, layout._replace(choice=choice)


# the bed


def test_a_standing_piece_is_as_long_as_the_bed_is_high_less_its_margin():
    found = printer(bed_mm=[200, 180, 300], margin_mm=[10, 8, 6])
    assert found.usable_mm == (190.0, 172.0, 294.0)
    assert found.piece_max_mm == 294.0
    assert found.diameter_max_mm == 172.0


def test_a_lying_piece_is_as_long_as_the_longer_side():
    # Along x, so that y (172) and z (294) are across.
    found = printer(bed_mm=[200, 180, 300], margin_mm=[10, 8, 6], orientation="lying")
    assert (found.piece_max_mm, found.diameter_max_mm) == (190.0, 172.0)
    assert printer(bed_mm=[180, 200, 50], margin_mm=0, orientation="lying").diameter_max_mm == 50.0
    assert printer(bed_mm=[180, 200, 50], margin_mm=0, orientation="lying").piece_max_mm == 200.0


def test_one_margin_and_one_shrinkage_hold_on_every_axis():
    found = printer(margin_mm=10, shrinkage_percent=0.5)
    assert (found.margin_mm, found.shrinkage_percent) == ((10.0,) * 3, (0.5,) * 3)


def test_a_print_is_larger_by_what_it_shrinks_and_must_fit_so():
    # 2 % along z: print = finished / 0.98; 245 mm of bed hold 245 x 0.98 = 240.1 mm finished. 1 % across: 1 / 0.99.
    found = printer(bed_mm=[200, 200, 245], margin_mm=0, shrinkage_percent=[1, 1, 2])
    assert found.factor_along == pytest.approx(1 / 0.98, rel=1e-15)
    assert found.factor_across == pytest.approx(1 / 0.99, rel=1e-15)
    assert found.piece_max_mm == pytest.approx(240.1, abs=1e-9)
    assert found.diameter_max_mm == pytest.approx(198.0, abs=1e-9)


def test_the_bed_decides_unless_the_pieces_do():
    assert pipe(PIECES).project.piece_max_mm == 294.0
    assert pipe(changed("joint_mm = 16", "joint_mm = 16\npiece_max_mm = 190", PIECES)).project.piece_max_mm == 190.0


# joints


def test_a_tenon_follows_from_bore_and_wall():
    # Bore 4 + 17/330 s. Joint of 16 at 150: widest at 158, 4 + 17 x 158/330 = 12.13939; tenon + 2 x 3 = 18.13939, of
    # which 0.8 is 14.51 < 16, so 16 long. Socket + 2 x 0.2 = 18.53939, outside + 2 x 3 = 24.53939. Body at 142:
    # 4 + 17 x 142/330 + 8 = 19.31515, thinner than that, so a ring.
    project, layout = placed(PIECES, 150.0)
    found = measured(layout, project).joints
    expected = [16.0, 12.1393939, 19.3151515, 18.1393939, 3.0, 18.5393939, 24.5393939]
    assert [float(column[0]) for column in found] == pytest.approx(expected, abs=1e-6)


def test_a_wide_tenon_is_longer():
    # At 250 with length L: bore 4 + k (250 + L/2), k = 17/330; L = 0.8 (10 + 250 k + k L/2), so
    # L = 0.8 (10 + 12.878788) / (1 - 0.4 k) = 18.3030303 / 0.97939394 = 18.688119.
    project, layout = placed(PIECES, 250.0)
    found = measured(layout, project).joints
    assert float(found.length[0]) == pytest.approx(18.688119, abs=1e-5)
    assert float(found.length[0]) == pytest.approx(0.8 * float(found.tenon[0]), rel=1e-6)
    # Each piece has half of it: 250 + 9.344 and 70 + 9.344.
    assert piece_lengths(measured(layout, project)) == pytest.approx([259.344059, 79.344059], abs=1e-5)


def test_without_a_ring_the_tenon_is_what_the_body_leaves():
    # Body at 142 is 19.31515; less 2 x (3 + 0.2) = 12.91515; bore at 158 is 12.13939: a wall of 0.38788, 2.11 too thin.
    text = changed("joint_mm = 16", "joint_mm = 16\nsocket_ring = false", PIECES)
    project, layout = placed(text, 150.0)
    found = measured(layout, project).joints
    assert float(found.tenon[0]) == pytest.approx(12.9151515, abs=1e-6)
    assert float(found.socket_outer[0]) == pytest.approx(19.3151515, abs=1e-6)
    limits = build_constraints(project)
    values = {item.name: float(g) for item, g in zip(limits.items, limits.values(layout), strict=True)}
    assert values["tenon_wall.1"] == pytest.approx(2.5 - 0.3878788, abs=1e-6)
    # A wall of 7 mm leaves 3 mm more all round.
    project, layout = placed(changed("wall_mm = 4.0", "wall_mm = 7.0", text), 150.0)
    assert float(measured(layout, project).joints.tenon_wall[0]) == pytest.approx(3.3878788, abs=1e-6)


def test_a_step_or_bulge_within_a_joint_counts():
    # Points at 145 (16 mm wide) and 155 (8 mm) lie within 142 to 158; beyond them the bore is narrower or wider.
    text = changed("[[0, 4.0], [330, 21.0]]", "[[0, 12.0], [145, 16.0], [155, 8.0], [330, 21.0]]", PIECES)
    project, layout = placed(text, 150.0)
    low, high = np.array([142.0, 200.0]), np.array([158.0, 201.0])
    bore = measured(layout, project).fixed.bore
    # At 200 and 201: 8 + 13/175 x 45 and x 46.
    assert 2.0 * bore.narrowest(low, high) == pytest.approx([8.0, 8 + 13 * 45 / 175], abs=1e-9)
    assert 2.0 * bore.widest(low, high) == pytest.approx([16.0, 8 + 13 * 46 / 175], abs=1e-9)
    assert float(measured(layout, project).joints.tenon[0]) == pytest.approx(22.0, abs=1e-9)


def test_a_piece_is_as_wide_as_its_body_or_its_socket():
    # Joint at 150: piece 1 ends at 158 with a body of 12.13939 + 8. Bell at 170: the second piece's body there is
    # 4 + 17 x 170/330 + 8 = 20.75758, but the ring around its socket 24.53939.
    project, layout = placed(PIECES, 150.0, end=170.0)
    assert piece_diameters(measured(layout, project)) == pytest.approx([20.1393939, 24.5393939], abs=1e-6)


def test_a_joint_keeps_five_millimetres_from_what_lies_over_a_hole():
    # Half of the joint 8, half of a finger 8, and 5: 21 mm wanted, 120 to 150 gives 30. The joint clear of 137 to 163.
    project, layout = placed(PIECES, 150.0)
    limits = build_constraints(project)
    values = {item.name: float(g) for item, g in zip(limits.items, limits.values(layout), strict=True)}
    assert values["joint.1-g4"] == pytest.approx(21.0 - 30.0)


def test_a_bed_too_narrow_for_a_ring_limits_the_piece():
    # 35 mm less a margin of 8 are 27; the ring of the joint at 150 is 24.53939 wide, as above, the body thinner.
    text = changed("bed_mm = [200, 180, 300]", "bed_mm = [200, 35, 300]", PIECES)
    text = changed("end_mm = [300, 340]", "end_mm = [200, 340]", text)
    text = changed('g1 = { by = "R1", position_mm = [220, 300]', 'g1 = { by = "R1", position_mm = [190, 195]', text)
    text = changed("position_mm = [170, 250]", "position_mm = [150, 180]", text)
    text = changed("position_mm = [150, 220]", "position_mm = [130, 160]", text)
    project, layout = placed(text, 150.0, end=170.0)
    limits = build_constraints(project)
    values = {item.name: float(g) for item, g in zip(limits.items, limits.values(layout), strict=True)}
    assert values["piece_wide.2"] == pytest.approx(24.5393939 - 27.0, abs=1e-6)
    assert "piece_wide.1" not in [item.name for item in build_constraints(pipe(PIECES).project).items]


def test_a_hole_in_the_crook_is_on_no_piece():
    text = changed("wall_mm = 4.0", "wall_mm = 4.0\ncrook_end_mm = 50", PIECES)
    vent = 'v1 = { by = "LT", role = "vent", position_mm = 30, diameter_mm = 2, chimney_mm = 4, azimuth_deg = 180 }'
    text = changed("[chart]", f"{vent}\n\n[chart]", text)
    project = pipe(text).project
    low, _ = layout_bounds(project)
    position = np.array([260.0, 210.0, 185.0, 120.0, 30.0])
    choice, _ = choice_arrays(project, Choices(joints=(0.5,)), position, [150.0])
    numbers = {"position_mm": position, "joint_mm": np.array([150.0]), "end_mm": np.array(320.0)}
    assert holes_of_pieces(measured(with_numbers(low, numbers)._replace(choice=choice), project)) == [
        ["g4"],
        ["g1", "g2", "g3"],
    ]


# printed sizes


SHRUNK = changed("[holes]", "shrinkage_percent = [1, 1, 2]\n[holes]", PIECES)


@pytest.fixture(scope="module")
def plain_and_shrunk():
    """One geometry, rounded and judged, for a printer without and with shrinkage."""
    records = []
    for text in (PIECES, SHRUNK):
        whole, layout = Problem(pipe(text)), placed(text, 225.0)[1]
        coding = whole.parametrisation
        problem, x = whole.chosen(Choices(joints=(0.5,)), coding.encode(layout), [225.0])
        records.append(assemble(problem, x, "t00000", {}))
    return records


def test_every_printed_size_is_a_finished_one_times_one_factor(plain_and_shrunk):
    record = plain_and_shrunk[1]
    printing, near = record.printing, {"abs": 6e-5}
    along, across = 1 / 0.98, 1 / 0.99
    assert (printing.factor_along, printing.factor_across) == pytest.approx((along, across), rel=1e-15)
    assert len(record.pieces) == 2
    holes = {hole.id: hole for hole in record.holes}
    for number, piece in enumerate(record.pieces):
        made = piece.to_print
        assert made.length_mm == pytest.approx(piece.length_mm * along, **near)
        assert made.length_mm == pytest.approx((piece.end_mm - piece.begin_mm) * along, **near)
        assert made.diameter_mm == pytest.approx(piece.diameter_mm * across, **near)
        for place, diameter in made.bore_points_mm:
            finished = np.interp(piece.begin_mm + place / along, *np.array(record.bore.points_mm).T)
            assert diameter == pytest.approx(finished * across, abs=2e-4)
        assert [hole.id for hole in made.holes] == piece.holes
        for hole in made.holes:
            nominal = holes[hole.id]
            assert hole.from_end_mm == pytest.approx((nominal.position_mm - piece.begin_mm) * along, **near)
            # 0.2 mm undersize is added after the factor.
            wide = nominal.diameter_mm
            assert hole.diameter_mm == pytest.approx((wide * along + 0.2, wide * across + 0.2), **near)
            assert hole.chimney_mm == pytest.approx(nominal.chimney_mm * across, **near)
        if piece.joint:
            joint, socket = piece.joint, record.pieces[number + 1].to_print.socket
            assert made.tenon.length_mm == pytest.approx(joint.length_mm * along, **near)
            assert made.tenon.diameter_mm == pytest.approx(joint.tenon_diameter_mm * across, **near)
            assert made.tenon.groove_diameter_mm == pytest.approx(joint.groove_diameter_mm * across, **near)
            assert made.tenon.groove_width_mm == pytest.approx(joint.groove_width_mm * along, **near)
            assert socket.depth_mm == pytest.approx(joint.length_mm * along, **near)
            assert socket.diameter_mm == pytest.approx(joint.socket_diameter_mm * across, **near)
            assert socket.outer_diameter_mm == pytest.approx(joint.socket_outer_diameter_mm * across, **near)


def test_shrinkage_changes_nothing_but_the_printed_sizes(plain_and_shrunk):
    def finished(record):
        data = record.model_dump(exclude={"printing"})
        for piece in data["pieces"]:
            del piece["to_print"]
        return data | {"margins_mm": {k: v for k, v in data["margins_mm"].items() if not k.startswith("piece_long")}}

    plain, shrunk = plain_and_shrunk
    assert finished(plain) == finished(shrunk)
    assert plain.pieces[0].to_print != shrunk.pieces[0].to_print
    # Bed 294 x 0.98: 5.88 mm less to spare.
    assert plain.margins_mm["piece_long.1"] - shrunk.margins_mm["piece_long.1"] == pytest.approx(5.88, abs=1e-3)


def test_predictions_come_from_finished_sizes(plain_and_shrunk):
    record = plain_and_shrunk[1]
    swollen = json.loads(record.model_dump_json())
    swollen["printing"]["factor_along"] = 2.0
    swollen["pieces"] = []
    again = predict(LayoutRecord.model_validate(swollen), record.reference.air, 1.0)
    assert [note.cents for note in again] == pytest.approx([note.cents for note in record.notes], abs=1e-9)


def test_a_joint_is_recorded_with_all_that_is_drawn(plain_and_shrunk):
    # Cord 1.5 squeezed by 20 % fills 1.2 mm, of which 0.2 is clearance: grooves 1.0 deep, 1.4 x 1.5 = 2.1 wide, and
    # 2 mm of the tenon's 3 left under them.
    joint = plain_and_shrunk[0].pieces[0].joint
    assert (joint.grooves, joint.groove_depth_mm, joint.groove_width_mm) == (2, 1.0, 2.1)
    assert joint.groove_diameter_mm == pytest.approx(joint.tenon_diameter_mm - 2.0, abs=1e-9)
    assert joint.groove_wall_mm == pytest.approx(2.0, abs=0.006)
    assert joint.tenon_wall_mm >= 3.0 - 1e-9
    assert joint.socket_diameter_mm == pytest.approx(joint.tenon_diameter_mm + 0.4, abs=1e-9)
    assert joint.socket_outer_diameter_mm >= joint.socket_diameter_mm + 6.0 - 0.011
    assert joint.length_mm >= 0.8 * joint.tenon_diameter_mm - 0.02
    assert joint.keep_out_mm == pytest.approx((225 - joint.length_mm / 2 - 5, 225 + joint.length_mm / 2 + 5), abs=1e-3)
    assert joint.ring_mm == pytest.approx((joint.socket_outer_diameter_mm - joint.body_diameter_mm) / 2, abs=1e-3)


def test_pieces_are_shown_with_joints_and_cautions(plain_and_shrunk, tmp_path, capsys):
    record = plain_and_shrunk[1]
    write_record(tmp_path / "t00000.json", record)
    assert main(["show", str(tmp_path / "t00000.json")]) == 0
    out = " ".join(capsys.readouterr().out.split())
    joint = record.pieces[0].joint
    assert f"{joint.tenon_diameter_mm:.2f} {joint.tenon_wall_mm:.2f} {joint.socket_diameter_mm:.2f}" in out
    assert f"{record.pieces[0].to_print.length_mm:.2f}" in out
    assert "x 1.02041 along and x 1.01010 across" in out
    after = out.partition("Pieces, mm")[2]
    assert cautions.PRINTING in after.split("Reach, mm")[0]
    assert cautions.WORKING in after.split("Reach, mm")[0]


def test_a_layout_file_without_joints_still_reads(plain_and_shrunk):
    data = json.loads(plain_and_shrunk[0].model_dump_json())
    del data["printing"]
    for piece in data["pieces"]:
        for name in ("begin_mm", "end_mm", "diameter_mm", "joint", "locked", "to_print"):
            del piece[name]
    record = LayoutRecord.model_validate(data)
    assert record.printing is None
    assert record.pieces[0].joint is None


# what cannot be


def test_a_body_too_long_for_the_bed_says_what_relieves_it():
    # Bed 110 - 6 = 104; joint 16. First joint at 104 - 8 = 96, then 104 - 16 = 88 further: 184. 300 - 184 + 8 = 124 is
    # more than 104, so a third at 272: 300 - 272 + 8 = 36 fits.
    text = changed(
        "bed_mm = [200, 180, 300]", "bed_mm = [200, 180, 110]", changed("joints = 1\n", "joints = 2\n", PIECES)
    )
    with pytest.raises(ProjectError) as caught:
        pipe(text)
    assert caught.value.problems == [
        "sections.joints: at most 2 allowed, but a body from 0 to 300 mm in pieces of at most 104 (the bed of a common "
        "bed (assumed) along z, less margin and shrinkage) needs 3 joints; allow them, lengthen the pieces, or end the "
        "bore sooner"
    ]
    pipe(changed("joints = 2\n", "joints = 3\n", text))


BROKEN = [
    (
        "bed_mm = [200, 180, 300]",
        "bed_mm = [200, 180]",
        "printer.bed_mm: must be one number or [x, y, z], but got [200, 180]",
    ),
    ("bed_mm = [200, 180, 300]", 'bed_mm = "big"', "printer.bed_mm: must be one number or [x, y, z], but got 'big'"),
    (
        "bed_mm = [200, 180, 300]",
        "bed_mm = [200, 180, 5]",
        "printer.bed_mm: must be more than the margin of 6 along z, but got 5",
    ),
    ("margin_mm = [10, 8, 6]", "margin_mm = -1", "printer.margin_mm: must be at least 0 on every axis, but got -1"),
    ("margin_mm = [10, 8, 6]", "margins_mm = 3", "printer.margins_mm: there is no such key; did you mean 'margin_mm'?"),
    (
        "margin_mm = [10, 8, 6]",
        "shrinkage_percent = [0.2, 0.4, 0.3]",
        "printer.shrinkage_percent: a round bore needs the same along x and y when printed "
        "standing, but got 0.2 and 0.4; "
        "calibrate the printer first",
    ),
    ("margin_mm = [10, 8, 6]", "shrinkage_percent = 30", "printer.shrinkage_percent: must be at most 10, but got 30"),
    (
        "margin_mm = [10, 8, 6]",
        "wall_min_mm = 0.3",
        "printer.wall_min_mm: must be at least the nozzle's 0.4, but got 0.3",
    ),
    (
        "margin_mm = [10, 8, 6]",
        "wall_min_mm = 3.5",
        "sections.tenon_wall_mm: must be at least printer.wall_min_mm, 3.5, but got 3",
    ),
    (
        "margin_mm = [10, 8, 6]",
        "wall_min_mm = 2.5",
        "sections.cord_mm: its groove leaves 2.00 mm of the tenon's wall, but "
        "printer.wall_min_mm is 2.5; take a thinner "
        "cord, a thicker tenon_wall_mm, or seal = 'lapping'",
    ),
    (
        "bed_mm = [200, 180, 300]",
        "bed_mm = [200, 180, 60]",
        "printer.bed_mm: a piece must be at least four joints long (64), but the bed of a common "
        "bed (assumed) leaves 54",
    ),
    (
        # The bore at 300, 4 + 17 x 300/330 = 19.4545, and two walls of 4; 30 less 8 is 22.
        "bed_mm = [200, 180, 300]",
        "bed_mm = [200, 30, 300]",
        "printer.bed_mm: the body is 27.45 mm wide, but a common bed (assumed) holds 22 across when printed standing; "
        "take a wider bed or a narrower bore",
    ),
    (
        "joint_mm = 16",
        "joint_mm = 16\npiece_max_mm = 295",
        "sections.piece_max_mm: is 295, but a common bed (assumed) holds 294 when printed "
        "standing; leave it out, and the "
        "bed decides",
    ),
    (
        "joint_mm = 16",
        "joint_mm = 16\npiece_max_mm = 120\nzones_mm = [[200, 220]]",
        "sections.zones_mm: beyond 0 mm no zone lies within reach of a piece of 120 mm, "
        "joints included; widen the zones, "
        "or take a longer bed",
    ),
    (
        "joint_mm = 16",
        "joint_mm = 16\ntenon_wall_mm = 2",
        "sections.tenon_wall_mm: must be at least tenon_wall_min_mm, 2.5, but got 2",
    ),
    (
        "joint_mm = 16",
        "joint_mm = 16\ncord_mm = 0.5\nradial_clearance_mm = 0.4",
        "sections.cord_mm: a cord of 0.5 squeezed by 20 % needs no groove at a radial clearance of 0.4; take a thicker "
        "cord, or seal = 'lapping'",
    ),
    (
        "joint_mm = 16",
        "joint_mm = 16\nlocked = [{ piece = 1, from_mm = 90, to_mm = 80 }]",
        "sections.locked.to_mm: must lie beyond from_mm at 90, but got 80",
    ),
]


@pytest.mark.parametrize(("old", "new", "sentence"), BROKEN)
def test_what_is_wrong_is_named(old, new, sentence):
    with pytest.raises(ProjectError) as caught:
        pipe(changed(old, new, PIECES))
    assert sentence in caught.value.problems, caught.value.problems


# printer files


@pytest.mark.parametrize("path", PRINTERS, ids=lambda path: path.stem)
def test_a_printer_file_says_what_is_an_estimate(path):
    assert "(estimate)" in read_printer(path)["name"]
    assert "from memory" in path.read_text()


def test_the_text_kept_of_a_project_needs_no_printer_file(tmp_path):
    (tmp_path / "mine.toml").write_text('name = "shelf printer"\nbed_mm = [150, 150, 180]\nshrinkage_percent = 0.4\n')
    text = changed("bed_mm = [200, 180, 300]\nmargin_mm = [10, 8, 6]\n", "", PIECES).replace("[printer]\n", "")
    path = tmp_path / "pipe.toml"
    path.write_text(f'printer = "mine.toml"  # on the shelf\n{text}'.replace("joints = 1", "joints = 2"))
    loaded = load_project(path)
    (tmp_path / "mine.toml").unlink()
    again = parse_project(loaded.text, "pipe.toml")
    assert again.project == loaded.project
    assert again.project.printer.name == "shelf printer"
    assert again.project.piece_max_mm == pytest.approx(170 * 0.996)


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (None, "there is no printer file {path}"),
        ("bed = 3\n", "{path}: bed: there is no such key; did you mean 'bed_mm'?"),
        ("bed_mm = [\n", "{path}: not valid TOML: Invalid value (at end of document)"),
        (PIPE, "{path} is a project file; name a file that holds a printer alone"),
    ],
)
def test_a_broken_printer_file_says_what_to_mend(content, sentence, tmp_path):
    path = tmp_path / "p.toml"
    if content is not None:
        path.write_text(content)
    with pytest.raises(PrinterFileError) as caught:
        read_printer(path)
    assert caught.value.problems == [sentence.format(path=path)]


def test_a_text_without_its_folder_cannot_name_a_printer_file():
    with pytest.raises(ProjectError) as caught:
        parse_project(f'printer = "mine.toml"\n{PIPE}', "pipe.toml")
    assert caught.value.problems == ["printer: the file 'mine.toml' is out of reach here; write its [printer] table"]


TENORS = ("lantern-tenor", "lantern-tenor-low-a")


@pytest.mark.parametrize("name", ["attic-reed", "lantern-tenor-low-a", "lantern-tenor", "meadow-pipe"])
def test_the_demos_load(name):
    project = load_project(CONFIGS / f"{name}.toml").project
    assert (project.sections is not None) == name.startswith("lantern-tenor")


def test_the_two_tenors_have_one_cone_to_the_last_digit():
    # Straight lines between the points, every 0.1 mm to the shorter table's last point.
    shorter, longer = (load_project(CONFIGS / f"{name}.toml").project.bore for name in TENORS)
    places = np.concatenate([np.arange(0.0, 932.0, 0.1), [932.0]])
    one, other = (np.interp(places, *np.array(bore.points_mm).T) for bore in (shorter, longer))
    assert np.array_equal(one, other)
    assert (shorter.wall_mm, shorter.crook_end_mm) == (longer.wall_mm, longer.crook_end_mm)


def test_the_tenor_solves_in_pieces_that_fit_its_printer():
    loaded = load_project(CONFIGS / "lantern-tenor.toml")
    result = Solver(loaded.text, loaded.source).solve(
        Proposal(0, Emphasis(1.0, reach=0.03, evenness=0.03), 0.5, 0.0, 1)
    )
    record = LayoutRecord.model_validate_json(result.record_json)
    assert record.feasible
    assert len(record.pieces) == 4
    assert sorted(name for piece in record.pieces for name in piece.holes) == sorted(
        hole.id for hole in record.holes if hole.position_mm > 150
    )
    # The bed of 256 less 10 mm holds each print; no hole's centre comes nearer to a joint than its keep-out.
    assert all(piece.to_print.length_mm <= 246.0 for piece in record.pieces)
    for piece in record.pieces[:-1]:
        low, high = piece.joint.keep_out_mm
        assert not [hole.id for hole in record.holes if low < hole.position_mm < high]


# pieces already printed


LONG = changed("[holes]", "[sections]\njoints = [1, 2]\npiece_max_mm = 280\njoint_mm = 16\n[holes]")
"""Pieces long enough for a joint between the hands: three holes on the first piece, one on the second."""


def trial(loaded, number, joints, size, scatter, seed=1):
    proposal = Proposal(
        number, Emphasis(1.0, reach=0.03, evenness=0.03), size, scatter, seed, choices=Choices(joints=joints)
    )
    return LayoutRecord.model_validate_json(Solver(loaded.text, loaded.source).solve(proposal).record_json)


@pytest.fixture(scope="module")
def printed():
    """A solved layout, its first piece to be printed."""
    return trial(pipe(LONG), 0, (1.0,), 0.5, 0.0)


def as_written(record, names):
    return [hole.model_dump_json(exclude={"lattice_cutoff_hz", "locked"}) for hole in record.holes if hole.id in names]


def test_printed_pieces_stay_to_the_last_bit_while_the_rest_moves(printed):
    assert printed.feasible
    assert printed.pieces[0].holes == ["g2", "g3", "g4"]
    loaded = with_locked(pipe(LONG + "\n[scale]\na4_hz = 436.0\n"), printed, [1])
    record = trial(loaded, 5, (0.3,), 0.9, 1.0, seed=8)
    names = printed.pieces[0].holes
    assert as_written(record, names) == as_written(printed, names)
    assert [hole.locked for hole in record.holes] == [False, True, True, True]
    first, before = record.pieces[0], printed.pieces[0]
    assert (first.from_mm, first.to_mm, first.begin_mm, first.end_mm) == (0.0, before.to_mm, 0.0, before.end_mm)
    assert first.joint.model_copy(update={"locked": False}) == before.joint
    assert (first.locked, first.to_print) == (True, None)
    assert record.pieces[1].to_print is not None
    # The rest answers to the other pitch.
    assert record.reed.volume_cm3 != printed.reed.volume_cm3
    assert record.margins_mm["joint.1-g1"] >= 0
    assert not [
        name for name in record.margins_mm if name.startswith(("piece_long.1", "joint_zone_low.1", "joint.1-g2"))
    ]


def test_the_locked_text_needs_no_layout_file_and_reads_back(printed):
    loaded = with_locked(pipe(LONG), printed, [1])
    again = parse_project(loaded.text, loaded.source)
    assert again.project == loaded.project
    holes = {hole.id: hole for hole in again.project.holes}
    for hole in printed.holes[1:]:
        assert holes[hole.id].position_mm == (hole.position_mm, hole.position_mm)
        assert holes[hole.id].diameter_mm == (hole.diameter_mm, hole.diameter_mm)
    assert holes["g1"].position_mm == (max(220.0, printed.pieces[0].to_mm), 300.0)
    assert again.project.sections.joints == (1, 2)
    low, high = layout_bounds(again.project)
    assert low.joint_mm[0] == high.joint_mm[0] == printed.pieces[0].to_mm
    assert with_locked(loaded, printed, [1]).project == loaded.project


def test_locking_the_last_piece_fixes_the_bell_and_the_number_of_joints(printed):
    project = with_locked(pipe(LONG), printed, [2]).project
    assert project.sections.joints == (1, 1)
    assert project.bore.end_span_mm == (printed.bore.points_mm[-1][0],) * 2
    assert project.sections.locked_joints[0].at_mm == printed.pieces[1].from_mm
    assert [hole.locked for hole in project.holes] == [True, False, False, False]


def test_joints_further_down_are_put_after_the_printed_one(printed):
    project = with_locked(pipe(LONG), printed, [1]).project
    position = np.array([hole.position_mm for hole in printed.holes])
    choice, places = choice_arrays(project, Choices(joints=(0.1, 0.5)), position)
    assert places[0] == printed.pieces[0].to_mm
    assert places[1] > places[0]
    assert choice.joint_above[0].tolist() == [1, 0, 0, 0]
    assert np.all(
        np.asarray(build_constraints(project).values(layout_bounds(project)[0]._replace(choice=choice))) < 1e3
    )


def test_limits_that_nothing_moves_are_put_out_of_the_solve(printed):
    # g2, g3 and g4 are fixed, so their order is what it is, whatever is asked of the rest.
    from optimizer.solving.refine import linearise

    problem, x = Problem(with_locked(pipe(LONG), printed, [1])).chosen(Choices(joints=(0.5,)), np.zeros(7))
    x = np.clip(x, problem.parametrisation.low, problem.parametrisation.high)
    names = [item.name for item in problem.constraints.items]
    held = dict(zip(names, linearise(problem, Emphasis(), x).constraint, strict=True))
    assert held["order.g2-g3"] == NEVER_MM
    assert held["order.g1-g2"] > NEVER_MM


@pytest.mark.parametrize(
    ("old", "new", "pieces", "sentence"),
    [
        ("joint_mm = 16", "joint_mm = 16", [3], "layout t00000 has pieces 1 to 2, but got 3"),
        ("joint_mm = 16", "joint_mm = 16", [], "layout t00000 has pieces 1 to 2, but got none"),
        ("wall_mm = 4.0", "wall_mm = 3.5", [1], "bore.wall_mm: must be the printed 4, but got 3.5"),
        (
            'by = "L2", position',
            'by = "L2", azimuth_deg = 10, position',
            [1],
            "holes.g3.azimuth_deg: is printed at 0, not 10",
        ),
        (
            'by = "L2", position',
            'by = "L2", top_ratio = 0.5, position',
            [1],
            "holes.g3.top_ratio: is printed as 1, not 0.5",
        ),
        (
            'by = "L2", position',
            'by = "L2", cover = "plate", position',
            [1],
            "holes.g3.cover: is printed for a finger, not a plate",
        ),
    ],
)
def test_pieces_of_another_instrument_are_refused(printed, old, new, pieces, sentence):
    with pytest.raises(LockError) as caught:
        locked_text(pipe(changed(old, new, LONG)), printed, pieces)
    assert caught.value.problems == [sentence]


def test_a_project_without_pieces_has_none_to_lock(printed):
    with pytest.raises(LockError, match="knows no pieces"):
        locked_text(pipe(PIPE), printed, [1])


def test_a_printed_piece_keeps_its_bore(printed):
    # At the reed end 4.2 instead of 4.0 mm.
    with pytest.raises(ProjectError) as caught:
        with_locked(pipe(changed("[[0, 4.0]", "[[0, 4.2]", LONG)), printed, [1])
    assert caught.value.problems == [
        "sections.locked, piece 1: its bore is 4 mm wide at 0, but bore.points_mm give 4.2; a printed piece keeps its "
        "bore, so write the bore it was printed with"
    ]


def test_a_bore_point_on_the_old_line_changes_nothing(printed):
    # 4 + 17 x 165/330 = 12.5
    project = with_locked(pipe(changed("[330, 21.0]", "[165, 12.5], [330, 21.0]", LONG)), printed, [1]).project
    assert len(project.sections.locked) == 1


def test_a_hole_that_has_nowhere_to_go_is_named(printed):
    loaded = pipe(changed("position_mm = [220, 300]", "position_mm = 215", LONG))
    with pytest.raises(ProjectError) as caught:
        with_locked(loaded, printed, [1])
    assert any("g1, which is not on it" in problem for problem in caught.value.problems)


def test_the_command_writes_the_locked_numbers_into_the_run(printed, tmp_path, monkeypatch, capsys):
    from optimizer.commands import search as commands

    asked = []
    monkeypatch.setattr(commands, "_searched", lambda loaded, *_: asked.append(loaded) or tmp_path)
    monkeypatch.setattr(commands, "show_run", lambda *_: 0)
    project, layout = tmp_path / "pipe.toml", tmp_path / "t00000.json"
    project.write_text(LONG)
    write_record(layout, printed)
    assert main(["search", str(project), "--locked", str(layout), "--pieces", "1"]) == 0
    assert asked[0].project.sections.locked[0].holes == ["g2", "g3", "g4"]
    assert main(["search", str(project), "--locked", str(layout)]) == 2
    assert "give both or neither" in capsys.readouterr().err
    assert main(["search", str(project), "--locked", str(layout), "--pieces", "one"]) == 2
    assert "--pieces must be numbers" in capsys.readouterr().err
    assert main(["search", str(project), "--locked", str(layout), "--pieces", "4"]) == 2
    assert "has pieces 1 to 2, but got 4" in capsys.readouterr().err


def test_printed_pieces_stay_through_a_search_that_is_resumed(printed, tmp_path):
    project, layout = tmp_path / "pipe.toml", tmp_path / "t00000.json"
    project.write_text(LONG + "\n[scale]\na4_hz = 436.0\n")
    write_record(layout, printed)
    place, few = tmp_path / "runs", ["--trials", "3", "--workers", "1"]
    code, _, err = ended(started("search", project, "--locked", layout, "--pieces", "1", "--results", place, *few))
    assert code == 0, err
    (folder,) = place.iterdir()
    code, _, err = ended(started("resume", folder, *few))
    assert code == 0, err
    assert json.loads((folder / "run.json").read_text())["trials_done"] == 6
    kept = ("position_mm", "azimuth_deg", "diameter_mm", "top_diameter_mm", "chimney_mm")
    holes = json.loads(layout.read_text())["holes"][1:]
    front = json.loads((folder / "pareto.json").read_text())["layouts"]
    assert front
    for entry in front:
        found = json.loads((folder / entry["file"]).read_text())["holes"][1:]
        assert [[hole[name] for name in kept] for hole in found] == [[hole[name] for name in kept] for hole in holes]
