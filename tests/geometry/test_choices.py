"""Discrete choices: what a project leaves open, what a choice makes of it, and that a solve honours it."""

import numpy as np
import optuna
import pytest
from shelf import KEYED, PIPE, changed, pipe

from optimizer.geometry.choices import Choices, choice_arrays, lines_played, open_covers, optional_notes, plain_choices
from optimizer.geometry.layout import layout_bounds, padded, with_numbers
from optimizer.geometry.measured_layout import measured
from optimizer.geometry.pieces import holes_of_pieces, piece_lengths
from optimizer.geometry.surface import NEVER_MM
from optimizer.limits.catalogue import build_constraints
from optimizer.project.loading import ProjectError
from optimizer.records.layout import LayoutRecord, saved_numbers
from optimizer.search.proposals import Proposal, Questions, opening
from optimizer.search.sampler import Member
from optimizer.search.trial import Solver
from optimizer.solving.linearised import Emphasis
from optimizer.solving.problem import Problem

EITHER = changed('by = "L3", position', 'by = "L3", cover = "either", position')
OPTIONS = changed("D5   1  L1\n", "D5   1  L1  option\nD5   1  L2  option\n")
PIECES = changed("[holes]", "[sections]\njoints = [1, 2]\npiece_max_mm = 200\njoint_mm = 16\n[holes]")
SCALED = changed("end_mm = [300, 340]", "end_mm = [300, 340]\ndiameter_scale = [0.9, 1.1]")


def solved(text, choices, **more):
    loaded = pipe(text)
    result = Solver(loaded.text, loaded.source).solve(
        Proposal(0, Emphasis(1.0, stretch=0.03, unevenness=0.03), 0.5, 0.0, 1, choices=choices, **more)
    )
    return LayoutRecord.model_validate_json(result.record_json)


def test_open_covers_and_options_are_found():
    assert open_covers(pipe(EITHER).project) == ["g2"]
    assert open_covers(pipe(PIPE).project) == []
    assert optional_notes(pipe(OPTIONS).notes) == {"D5": [3, 4]}
    assert optional_notes(pipe(PIPE).notes) == {}


def test_an_option_that_is_not_chosen_is_not_played():
    notes = pipe(OPTIONS).notes
    assert lines_played(notes, Choices(fingerings=(4,))).tolist() == [True, True, True, False, True, True]
    problem, _ = Problem(pipe(OPTIONS)).chosen(Choices(fingerings=(4,)), np.zeros(10))
    assert [note.touches for note in problem.notes if note.written == "D5"] == ["L2"]
    assert problem.openness.shape == (5, 4)


def test_a_plate_frees_the_hole_from_the_finger_that_seals():
    project = pipe(EITHER).project
    low, high = layout_bounds(project)
    found = build_constraints(project)
    names = [item.name for item in found.items]
    for plates, bare in (((), True), (("g2",), False)):
        choice, _ = choice_arrays(project, Choices(plates), np.asarray(low.position_mm))
        layout = low._replace(choice=choice)
        values = dict(zip(names, np.asarray(found.values(layout)), strict=True))
        assert (values["seal.g2"] > NEVER_MM) == bare
        assert values["seal.g1"] > NEVER_MM
        assert np.asarray(padded(layout, project)).tolist() == [False, not bare, False, False]
    assert high.touch_offset_mm.tolist() == [0, project.keywork.plate_offset_max_mm, 0, 0]


def test_a_joint_starts_in_the_gap_nearest_its_share_and_no_gap_is_used_twice():
    # Bell 300 to 340, so 320; pieces of at most 200, each reaching 184 beyond half a joint. Two joints: the first
    # between 24 (two joints long, from -8) and 176, its middle 100 nearest the gap at 80; from there the second between
    # 128 and 264, its middle 196 nearest 197.5. Holes at 260, 210, 185, 160: gaps' middles 80, 172.5, 197.5, 235, 300.
    project = pipe(PIECES).project
    position = np.array([260.0, 210.0, 185.0, 160.0])
    choice, places = choice_arrays(project, Choices(joints=(0.5, 0.5)), position)
    assert places.tolist() == [80.0, 197.5]
    assert choice.joint_used.tolist() == [1, 1]
    assert choice.joint_above[0].tolist() == [1, 1, 1, 1]
    assert choice.joint_above[1].tolist() == [1, 1, 0, 0]
    one, places = choice_arrays(project, Choices(joints=(1.0,)), position)
    assert places[0] == 172.5
    assert one.joint_used.tolist() == [1, 0]
    _, places = choice_arrays(project, Choices(joints=(0.5, 0.5)), position, [100.0, 222.0])
    assert places.tolist() == [100.0, 222.0]


def test_joints_keep_to_their_zones():
    # 24 + 0.3 x 152 = 70 lies in the first zone; from the gap at 80, 128 + 0.7 x 136 = 223 is nearest the second.
    text = changed("joint_mm = 16", "joint_mm = 16\nzones_mm = [[60, 100], [240, 300]]", PIECES)
    project = pipe(text).project
    choice, places = choice_arrays(project, Choices(joints=(0.3, 0.7)), np.array([260.0, 210.0, 185.0, 160.0]))
    assert choice.joint_zone.tolist() == [[60, 100], [240, 300]]
    assert places.tolist() == [80.0, 240.0]  # a gap's middle, and the zone's end, where it has no middle within reach


def test_pieces_are_measured_with_half_a_joint_at_each_jointed_end():
    # Joint of 16 mm at 150, bell at 320: pieces 150 + 8 and 170 + 8; the holes at 160 and more lie on the second.
    project = pipe(PIECES).project
    low, _ = layout_bounds(project)
    position = np.array([260.0, 210.0, 185.0, 120.0])
    choice, _ = choice_arrays(project, Choices(joints=(0.5,)), position)
    numbers = {"position_mm": position, "joint_mm": np.array([150.0, 0.0]), "end_mm": np.array(320.0)}
    layout = with_numbers(low, numbers)._replace(choice=choice)
    assert piece_lengths(measured(layout, project)).tolist() == [158.0, 178.0, 0.0]
    assert holes_of_pieces(measured(layout, project)) == [["g4"], ["g1", "g2", "g3"]]
    found = build_constraints(project)
    values = {item.name: float(g) for item, g in zip(found.items, found.values(layout), strict=True)}
    assert values["piece_long.1"] == pytest.approx(158 - 200)
    assert values["piece_short.2"] == pytest.approx(32 - 178)
    assert values["piece_long.3"] == NEVER_MM
    # A bare finger 16 mm broad on g4: 5 + 8 + 8 mm wanted, 30 mm there; on g3, on the other side: 35 mm there.
    assert values["joint.1-g4"] == pytest.approx(21 - 30)
    assert values["joint.1-g3"] == pytest.approx(21 - 35)
    assert values["joint.2-g3"] == NEVER_MM


def test_a_solve_honours_its_choices():
    text = changed("[holes]", PIECES[PIECES.index("[sections]") : PIECES.index("[holes]") + 7], EITHER)
    record = solved(text, Choices(("g2",), (), (0.35,)))
    assert [hole.cover for hole in record.holes] == ["finger", "plate", "finger", "finger"]
    assert record.holes[1].pad is not None
    assert (record.objectives["plates"], record.objectives["joints"]) == (1.0, 1.0)
    assert len(record.pieces) == 2
    assert record.pieces[0].to_mm == record.pieces[1].from_mm
    assert sorted(record.pieces[0].holes + record.pieces[1].holes) == ["g1", "g2", "g3", "g4"]
    assert "piece_long.1" in record.margins_mm
    assert "piece_long.3" not in record.margins_mm
    bare = solved(text, Choices((), (), (0.35,)))
    assert bare.objectives["plates"] == 0.0
    assert bare.holes[1].pad is None


def test_a_scaled_bore_is_written_scaled_and_read_back():
    record = solved(SCALED, None)
    assert 0.9 <= record.bore.points_mm[0][1] / 4.0 <= 1.1
    numbers = saved_numbers(record, pipe(SCALED).project)
    assert numbers["bore_scale"] == pytest.approx(record.bore.points_mm[0][1] / 4.0, abs=1e-6)
    assert numbers["position_mm"] == [hole.position_mm for hole in record.holes]


def test_a_start_beside_a_layout_settles_at_it():
    first = solved(PIPE, None)
    again = solved(PIPE, None, pattern="neighbour", parent="t0", numbers=saved_numbers(first, pipe(PIPE).project))
    assert again.provenance["solver_steps"] <= 0.5 * first.provenance["solver_steps"]
    for name, value in first.objectives.items():
        assert again.objectives[name] == pytest.approx(value, abs=0.2)


def test_a_neighbours_joints_are_kept_only_where_they_were_asked_for():
    loaded = pipe(PIECES)
    questions = Questions(loaded.project, loaded.notes, 1)
    params = {"stretch_share": 1.0, "unevenness_share": 1.0, "joints": 1, "joint_1_of_1": 0.5}
    near = Member("t00001", params, (0.1, 0.1, 0.1), {"position_mm": [1.0], "joint_mm": [150.0]})
    rest = {
        "stretch_share": 1.0,
        "unevenness_share": 1.0,
        "size": 0.5,
        "scatter": 0.0,
        "start": "neighbour",
        "joints": 1,
    }
    study = optuna.create_study(directions=["minimize"] * 3)
    for share, kept in ((0.55, True), (0.9, False)):
        study.enqueue_trial(rest | {"joint_1_of_1": share})
        proposal = questions.asked(study.ask(), [near])
        assert proposal.parent == "t00001"
        assert ("joint_mm" in proposal.numbers) is kept


@pytest.mark.parametrize("text", [PIPE, EITHER, OPTIONS, PIECES, SCALED, KEYED])
def test_every_opening_can_be_asked(text):
    loaded = pipe(text)
    questions = Questions(loaded.project, loaded.notes, 1)
    study = optuna.create_study(directions=["minimize"] * len(questions.names))
    for params in opening(questions):
        study.enqueue_trial(params, skip_if_exists=False)
    for params in opening(questions):
        trial = study.ask()
        proposal = questions.asked(trial, [])
        assert params.items() <= trial.params.items()
        assert proposal.choices.plates == plain_choices(loaded.project, loaded.notes).plates
        assert proposal.choices.fingerings == plain_choices(loaded.project, loaded.notes).fingerings
        assert proposal.choices.joints == pytest.approx(plain_choices(loaded.project, loaded.notes).joints)


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (changed("D5   1  L1\n", "D5   1  L1  option\n"), "D5 has a single `option`; give it another"),
        (changed("D5   1  L1\n", "D5   1  L1\nD5   1  L2  option\n"), "D5 stands twice"),
        (changed("joints = [1, 2]", "joints = [2, 1]", PIECES), "sections.joints: low <= high must hold"),
        (changed("piece_max_mm = 200", "piece_max_mm = 50", PIECES), "must be at least four joints long (64)"),
        (
            changed("joint_mm = 16", "joint_mm = 16\nzones_mm = [[90, 60]]", PIECES),
            "sections.zones_mm: low < high must hold",
        ),
        (changed("diameter_scale = [0.9, 1.1]", "diameter_scale = [0.1, 1.1]", SCALED), "must lie between 0.5 and 2"),
        (changed('"either"', '"maybe"', EITHER), "holes.g2.cover: must be"),
    ],
)
def test_what_is_wrong_is_named(text, sentence):
    with pytest.raises(ProjectError) as caught:
        pipe(text)
    assert any(sentence in problem for problem in caught.value.problems), caught.value.problems
