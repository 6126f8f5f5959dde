"""What folding does to the notes: nothing but by its bends and by how far the openings then lie apart."""

import re

import numpy as np
import pytest
from folded import BEND, FOLDED, SECOND, THIRD, folds, middle
from shelf import pipe

from acoustics.bends import Bends, inertance_ratio
from acoustics.network import stacked
from acoustics.resonances import batch_errors, tuning_error_cents

CUTS = [500.0, SECOND, SECOND + 400.0, THIRD]
POINTS = f"points_mm = {[[place, 20.0] for place in (0.0, *CUTS, 1500.0)]}"
UNFOLDED = re.sub(r"points_mm = .*", POINTS, re.sub(r"\[bends\]\n(?:\w+ = .*\n)+", "", FOLDED))
"""A copy that runs straight, its bore cut at the same places: each piece of bore has one temperature, and a folded one
is cut at its bends."""


@pytest.fixture(scope="module")
def found():
    return folds(pipe(FOLDED))


def test_a_fold_without_length_or_shorter_ways_changes_nothing(found):
    problem, duct = middle(pipe(UNFOLDED))
    assert duct.bends.begin.size == duct.tubes.begin.size == 0
    straight = batch_errors(stacked([duct]), problem.openness, problem.f_target)[0]
    assert found["neither"] == pytest.approx(straight, abs=0.01)


def test_true_distances_change_what_sounds_from_two_tubes(found):
    # Of wide holes 60 mm apart instead of half a metre, each note by so much: tests/benchmarks/folded.py. Where all are
    # closed only the bell sounds, and nothing acts on it.
    assert found["distances"][0] == pytest.approx(0.0, abs=1e-9)
    assert np.max(np.abs(found["distances"])) > 0.01


def test_bends_raise_the_lowest_note_by_their_share_of_its_moving_air():
    # All holes closed, a cylinder closed at the reed: U as sin(k s), a quarter wave to the end. A bend of B = 1/3 has
    # the ratio (1 + sqrt(8/9)) / 2 of the inertance, and df/f = (1 - ratio) / L times the integral of sin^2 over it
    # (Rayleigh's perturbation). The reed's air makes the tube 600 / 314.2 mm longer, the end 0.6 of a radius; air in
    # closed holes and friction are left out here.
    reed = 600.0 / (np.pi * 10.0**2)
    whole = 1500.0 + reed + 6.0
    places = [np.linspace(low, low + BEND, 201) for low in (500.0, SECOND + 400.0)]
    moving = sum(np.trapezoid(np.sin(0.5 * np.pi * (place + reed) / whole) ** 2, place) for place in places)
    raised = 1200.0 * np.log2(1.0 + (1.0 - inertance_ratio(1.0 / 3.0)) * moving / whole)
    problem, duct = middle(pipe(FOLDED))
    closed, sounding = problem.openness[0], 55.0 * 2.0 ** (24.5 / 1200.0)
    with_bends, without = (tuning_error_cents(one, closed, sounding) for one in (duct, duct._replace(bends=Bends())))
    assert without == pytest.approx(0.0, abs=1.0)
    assert with_bends - without == pytest.approx(raised, rel=0.03)
