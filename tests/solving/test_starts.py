"""Where solves start, and charts at the edge of what is sensible: never an exception."""

import numpy as np
import pytest
from places import CONFIGS
from shelf import PIPE

from optimizer.project.loading import load_project, parse_project
from optimizer.records.layout import LayoutRecord
from optimizer.search.proposals import Proposal
from optimizer.search.trial import Solver
from optimizer.solving.linearised import Emphasis
from optimizer.solving.problem import Problem
from optimizer.solving.starts import Starts, first_open_notes, open_end_positions


def problem_of(text):
    return Problem(parse_project(text, "a test"))


CYLINDER = """
[instrument]
name = "Lantern Hall Tube"
transposition_semitones = 0
[air]
reed_degC = 20
bell_degC = 20
[reed]
volume_cm3 = 0.0
[bore]
points_mm = [[0, 15.0], [700, 15.0]]
wall_mm = 4.0
[holes]
h1 = { by = "R1", position_mm = [200, 600], diameter_mm = [4, 9], chimney_mm = 4 }
h2 = { by = "L1", position_mm = [100, 500], diameter_mm = [4, 9], chimney_mm = 4 }
[chart]
lines = \"\"\"
C#4  1  L1
E4   1  none
\"\"\"
[search.objectives]
tuning = true
worst_note = true
stretch = false
unevenness = false
"""


def test_the_cut_bore_sounds_a_quarter_wave():
    # A closed cylinder cut at L, open with a wall: f = c / 4 (L + 0.7 a), end correction between 0.61 a and 0.82 a
    # (Levine & Schwinger 1948; Nomura et al. 1960); losses lower f by about 1 % in a 15 mm tube (Zwikker & Kosten).
    f = np.array([200.0, 300.0])
    places = open_end_positions(problem_of(CYLINDER), f, np.array([1, 1]))
    quarter = 343.37 / (4 * f) * 1e3
    assert np.all(places < quarter - 0.61 * 7.5)
    assert np.all(places > 0.985 * quarter - 0.82 * 7.5)


def test_the_second_resonance_of_a_cylinder_is_three_times_the_first():
    # Closed-open cylinder: odd harmonics, up to the end correction's fall and dispersion (well under 2 %).
    problem = problem_of(CYLINDER)
    first, second = open_end_positions(problem, np.array([200.0, 600.0]), np.array([1, 2]))
    assert second == pytest.approx(first, rel=0.02)


def test_a_note_too_low_for_the_bore_starts_at_its_end():
    assert open_end_positions(problem_of(CYLINDER), np.array([30.0]), np.array([1])) == pytest.approx([700.0])


def test_a_hole_starts_by_its_plain_note_not_by_its_fork():
    # A fork sounds lower than the highest open hole would alone: a closed hole below lengthens the tube (Benade,
    # Fundamentals of Musical Acoustics, 1976, from memory).
    problem = Problem(load_project(CONFIGS / "meadow-pipe.toml"))
    found = {
        problem.project.holes[hole].id: problem.notes[line].touches for hole, line in first_open_notes(problem).items()
    }
    assert found == {f"p{n}": f"{'o' * n:x<6} x" for n in range(1, 7)}


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (("transposition_semitones = 0", "transposition_semitones = -36"), "targets three octaves too low"),
        (("C#4  1  L1\nE4   1  none", "E5   2  none"), "one note, upper register only"),
        (("position_mm = [200, 600]", "position_mm = 450"), "a fixed hole"),
        (("position_mm = [200, 600], diameter_mm = [4, 9]", "position_mm = 140, diameter_mm = 6"), "crowded"),
    ],
    ids=lambda item: item if isinstance(item, str) else "",
)
def test_an_odd_project_still_gets_a_layout_and_its_account(change, words):
    assert change[0] in CYLINDER, words
    solver = Solver(CYLINDER.replace(*change), "a test")
    result = solver.solve(Proposal(0, Emphasis(1.0, 0.1), 0.5, 0.0, 1))
    record = LayoutRecord.model_validate_json(result.record_json)
    assert np.isfinite(list(record.objectives.values())).all()


def test_a_project_with_nothing_free_is_judged_as_it_stands():
    text = CYLINDER.replace("position_mm = [200, 600], diameter_mm = [4, 9]", "position_mm = 450, diameter_mm = 8.0")
    text = text.replace("position_mm = [100, 500], diameter_mm = [4, 9]", "position_mm = 300, diameter_mm = 7.0")
    solver = Solver(text, "a test")
    result = solver.solve(Proposal(0, Emphasis(1.0, 0.1), 0.5, 0.0, 1))
    assert solver.problem.parametrisation.low.size == 0
    assert np.isfinite(LayoutRecord.model_validate_json(result.record_json).objectives["tuning"])


def test_a_start_lies_within_the_bounds_and_repeats_with_its_seed():
    problem = problem_of(PIPE)
    starts = Starts(problem)
    for size in (0.0, 0.5, 1.0):
        x = starts.at(size, 3.0, 7)
        assert np.all(x >= problem.parametrisation.low)
        assert np.all(x <= problem.parametrisation.high)
        assert np.array_equal(x, starts.at(size, 3.0, 7))
    assert not np.array_equal(starts.at(0.5, 1.0, 1), starts.at(0.5, 1.0, 2))


def test_a_screened_start_is_nearer_in_tune_than_most():
    # The least of 64 lies below the median of others drawn alike; both are judged with external interaction here.
    problem = problem_of(PIPE)
    starts = Starts(problem)

    def off(x):
        return np.sqrt(np.mean(np.clip(problem.evaluate(x)[0].errors, -200, 200) ** 2))

    others = [off(starts.at(size, 0.8, seed)) for seed, size in enumerate(np.linspace(0, 1, 15))]
    for seed in range(3):
        assert off(starts.screened(0.5, seed, 0.5)) < np.median(others)
