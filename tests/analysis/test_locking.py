"""Pieces already printed stay to the last bit, and what cannot stay is told."""

import re

import folded
import numpy as np
import pytest
from pieced import LONG, trial
from shaped import SHAPED
from shelf import PIPE, changed, pipe

from optimizer.analysis.printed_pieces import KeptPiecesError, locked_text, with_locked
from optimizer.geometry.choices import Choices, choice_arrays
from optimizer.geometry.layout import layout_bounds
from optimizer.geometry.surface import NEVER_MM
from optimizer.limits.catalogue import build_constraints
from optimizer.project.body import bore_ended
from optimizer.project.loading import ProjectError, parse_project
from optimizer.project.toml_text import tables_of
from optimizer.records.layout import PadRecord, Seat
from optimizer.solving.assemble import assemble
from optimizer.solving.linearised import Emphasis
from optimizer.solving.problem import Problem


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


def anywhere(loaded, share):
    """A layout at this share of every range."""
    problem = Problem(loaded)
    coding = problem.parametrisation
    return assemble(problem, coding.low + share * (coding.high - coding.low), "t1", {})


def test_a_bore_that_numbers_shaped_stays_as_it_was_made():
    loaded = pipe(SHAPED)
    made = anywhere(loaded, 0.4)
    kept = with_locked(loaded, made, [1])
    assert kept.project.bore.shaped_by == ()
    assert anywhere(kept, 0.8).bore.points_mm == made.bore.points_mm
    # Without a bell, and with the last piece still to be printed, the end stays free.
    text = changed("bell_flare_mm = [0, 5]", "", changed("bell_length_mm = [30, 60]", "", SHAPED))
    kept = with_locked(pipe(text), anywhere(pipe(text), 0.4), [1])
    assert kept.project.bore.end_span_mm == (300.0, 340.0)


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


def test_a_finely_drawn_bore_is_locked_as_it_is(printed):
    # As many points as a bore may have, with all their digits, as a drawing program writes them or a scale makes them.
    places = np.append(np.arange(399) * 291 / 401, 330.0)
    points = np.transpose([places, 4.0 + places * 17 / 330]).tolist()
    shapes = [f"[{place}, {diameter}]" for place, diameter in points]
    text = changed("[[0, 4.0], [330, 21.0]]", "[\n" + ",\n".join(shapes) + "\n]", LONG)
    ended = bore_ended(points, printed.bore.points_mm[-1][0])
    record = printed.model_copy(update={"bore": printed.bore.model_copy(update={"points_mm": ended})})
    (piece,) = with_locked(pipe(text), record, [1]).project.sections.locked
    kept = [point for point in points if point[0] < printed.pieces[0].end_mm]
    assert [list(point) for point in piece.bore_mm[:-1]] == kept
    assert tables_of(text.replace(",\n", ", "))["bore"]["points_mm"] == points


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
    from optimizer.solving.linearised import linearise

    problem, x = Problem(with_locked(pipe(LONG), printed, [1])).chosen(Choices(joints=(0.5,)), np.zeros(7))
    x = np.clip(x, problem.parametrisation.low, problem.parametrisation.high)
    names = [item.name for item in problem.constraints.items]
    held = dict(zip(names, linearise(problem, Emphasis(), x).constraint, strict=True))
    assert held["order.g2-g3"] == NEVER_MM
    assert held["order.g1-g2"] > NEVER_MM


@pytest.mark.parametrize(
    ("old", "new", "pieces", "sentence"),
    [
        ("joint_mm = 16", "joint_mm = 16", [3], "layout t000000000 has pieces 1 to 2, but got 3"),
        ("joint_mm = 16", "joint_mm = 16", [], "layout t000000000 has pieces 1 to 2, but got none"),
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
        (
            'by = "L2", position',
            'by = "L2", seat = "raised", position',
            [1],
            "holes.g3.seat: is printed without a flat: 'saddle'",
        ),
    ],
)
def test_pieces_of_another_instrument_are_refused(printed, old, new, pieces, sentence):
    with pytest.raises(KeptPiecesError) as caught:
        locked_text(pipe(changed(old, new, LONG)), printed, pieces)
    assert caught.value.problems == [sentence]


def test_a_flat_printed_narrower_than_its_pad_is_not_made_wide_by_locking(printed):
    # Its chimney, which the project lets be longer than the wall or shorter, came out shorter.
    text = changed('by = "L2", position', 'by = "L2", cover = "plate", position', LONG)
    for wide, problems in (
        (13.9, []),
        (11.4, ["holes.g3.seat: is printed narrower than its pad, not as a sunk one; print it anew"]),
    ):
        closure = {
            "cover": "plate",
            "chimney_mm": 3.5,
            "seat": Seat(outer_diameter_mm=wide, rim_width_mm=1.4, top_mm=-0.5),
            "pad": PadRecord(diameter_mm=13.9, cup_diameter_mm=15.0, opening_mm=3.0, recess_mm=0.0, absorption=0.0),
        }
        holes = [hole.model_copy(update=closure if hole.id == "g3" else {}) for hole in printed.holes]
        record, said = printed.model_copy(update={"holes": holes}), []
        try:
            locked_text(pipe(text), record, [1])
        except KeptPiecesError as error:
            said = error.problems
        assert list(said) == problems


def test_a_project_without_pieces_has_none_to_lock(printed):
    with pytest.raises(KeptPiecesError, match="knows no pieces"):
        locked_text(pipe(PIPE), printed, [1])


def test_a_printed_piece_keeps_its_bore(printed):
    # At the reed end 4.2 instead of 4.0 mm.
    with pytest.raises(ProjectError) as caught:
        with_locked(pipe(changed("[[0, 4.0]", "[[0, 4.2]", LONG)), printed, [1])
    assert caught.value.problems == [
        "sections.locked, piece 1: its bore is 4 mm wide at 0, but bore.points_mm give 4.2; a printed piece keeps its "
        "bore, so write the bore it was printed with"
    ]


def test_a_printed_piece_keeps_its_bends():
    record, text = folded.solved(), folded.FOLDED + folded.JOINED
    locked = with_locked(pipe(text), record, [1])
    (piece,) = locked.project.sections.locked
    assert [(bend.at_mm, bend.radius_mm, bend.toward_deg) for bend in piece.bends] == [(500.0, 30.0, 90.0)]
    for old, new in (
        ("radius_mm = 30, toward_deg = 90", "radius_mm = 32, toward_deg = 90"),
        ("at_mm = 500", "at_mm = 490"),
    ):
        with pytest.raises(
            ProjectError, match="piece 1: is printed with the bend low at 500 mm, radius 30 mm, toward 90"
        ):
            with_locked(pipe(changed(old, new, text)), record, [1])
    other = changed(f"at_mm = {folded.SECOND + 400.0!r}", f"at_mm = {folded.SECOND + 410.0!r}", text)
    assert with_locked(pipe(other), record, [1])  # the bend of a piece that is not printed yet


def test_bends_that_are_wrong_themselves_are_told_alone():
    text = locked_text(pipe(folded.FOLDED + folded.JOINED), folded.solved(), [1])
    with pytest.raises(ProjectError) as caught:
        pipe(changed("radius_mm = 30, toward_deg = 90", "radius_mm = -30, toward_deg = 90", text))
    (said,) = caught.value.problems
    assert said.startswith("bends.low.radius_mm")


def test_a_piece_locked_before_bends_were_told_is_taken_as_it_is():
    record, text = folded.solved(), folded.FOLDED + folded.JOINED
    before = re.sub(r"\[\[sections.locked.bends\]\]\n(.+\n){4}", "", locked_text(pipe(text), record, [1]))
    assert "locked.bends" not in before
    assert pipe(before).project.sections.locked[0].bends is None


def test_a_bore_point_on_the_old_line_changes_nothing(printed):
    # 4 + 17 x 165/330 = 12.5
    project = with_locked(pipe(changed("[330, 21.0]", "[165, 12.5], [330, 21.0]", LONG)), printed, [1]).project
    assert len(project.sections.locked) == 1


def test_a_hole_that_has_nowhere_to_go_is_named(printed):
    loaded = pipe(changed("position_mm = [220, 300]", "position_mm = 215", LONG))
    with pytest.raises(ProjectError) as caught:
        with_locked(loaded, printed, [1])
    assert any("g1, which is not on it" in problem for problem in caught.value.problems)
