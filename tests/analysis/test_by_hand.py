"""A layout whose numbers are moved by hand: the record's own figures, what a move does, and what it is kept as."""

import math

import numpy as np
import pytest
import scipy
from shelf import PIPE, changed, pipe

from optimizer.analysis.by_hand import ByHand, MoveError
from optimizer.geometry.layout import STEP
from optimizer.records.layout import LayoutRecord
from optimizer.solving.assemble import assemble
from optimizer.solving.linearised import ROUNDING_MM
from optimizer.solving.problem import Problem
from optimizer.solving.real_resonances import predict
from optimizer.solving.variants import Held

SAME = ("holes", "pieces", "reach", "objectives", "feasible", "margins_mm", "binds")


@pytest.fixture(scope="module")
def by_hand(problem, record):
    return ByHand(problem, record)


def values(found):
    return {each.name: each.value for each in found.numbers}


def worst(found):
    return max(abs(note.cents) for note in found.notes)


@pytest.mark.parametrize("which", ["record", "printed"])
def test_an_unmoved_layout_has_its_own_figures_to_the_digit(which, request, problem):
    own = request.getfixturevalue(which)
    if which == "printed":
        from pieced import LONG

        problem = Problem(pipe(LONG))
    found = ByHand(problem, own).moved({})
    assert {name: getattr(found, name) for name in SAME} == {name: getattr(own, name) for name in SAME}
    assert found.notes == [note.model_copy(update={"sd_cents": None, "making_sd_cents": None}) for note in own.notes]
    assert found.bore_mm == own.bore.points_mm
    assert values(found)["position_mm.g1"] == own.holes[0].position_mm


def test_where_robustness_is_sought_doubts_are_worked_out_too(outcome):
    problem = Problem(pipe(PIPE + "\n[search]\nobjectives = { robustness = true }\n"))
    own = assemble(problem, outcome.x, "t00001", {})
    found = ByHand(problem, own).moved({})
    assert found.notes == own.notes
    assert found.objectives == own.objectives


def test_a_moved_hole_is_told_with_all_that_follows(by_hand, record):
    was = values(by_hand.moved({}))
    place = round(was["position_mm.g4"] - 4.0, 2)
    found = by_hand.moved({"position_mm.g4": place})
    other = next(hole.position_mm for hole in record.holes if hole.id == "g3")
    thick = [(4.0 + 17.0 * s / 330.0) / 2.0 + 4.0 for s in (place, other)]  # the text's cone and wall, on paper
    pair = next(each for each in found.reach if each.pair == "L1-L2")
    assert pair.spacing_mm == pytest.approx(math.hypot(other - place, thick[1] - thick[0]), abs=0.01)
    sharper = found.notes[-1].cents - record.notes[-1].cents  # its first open hole, nearer the reed
    assert sharper > 10.0
    assert {name: value for name, value in values(found).items() if value != was[name]} == {"position_mm.g4": place}


def test_what_is_moved_too_far_stays_at_the_end_of_its_range(by_hand):
    found = by_hand.moved({"diameter_mm.g4": 20.0})
    assert values(found)["diameter_mm.g4"] == 10.0
    assert "range.diameter_mm.g4" in [each.name for each in found.binds]
    with pytest.raises(MoveError, match=r"chimney_mm\.g1 is no number that may be moved here"):
        by_hand.moved({"chimney_mm.g1": 5.0})


def test_a_hole_crosses_a_joint(printed):
    from pieced import LONG

    hand = ByHand(Problem(pipe(LONG)), printed)
    joint = values(hand.moved({}))["joint_mm.1"]
    for place in (joint - 20.0, joint + 20.0):
        found = hand.moved({"position_mm.g1": place})
        assert [("g1" in piece.holes) for piece in found.pieces].index(True) == (place > joint)


def test_the_others_settle_around_a_held_number_as_well_as_a_general_solver_has_it(by_hand, problem, record):
    place = record.holes[1].position_mm + 6.0
    moved = by_hand.moved({"position_mm.g2": place})
    found = by_hand.settled({"position_mm.g2": place}, ["position_mm.g2"], 80)
    assert found.settled
    assert values(found)["position_mm.g2"] == values(moved)["position_mm.g2"]
    assert found.feasible

    start = np.array([values(moved)[name] / STEP[name.partition(".")[0]] for name in by_hand.names])
    free = np.array([name != "position_mm.g2" for name in by_hand.names])
    held, share = Held(problem, start, free), problem.weight / problem.weight.sum()

    def mean_square(x):
        at, slopes = held.evaluate(x)
        return float(share @ at.errors**2), 2.0 * (share * at.errors) @ slopes.errors

    room = {
        "type": "ineq",
        "fun": lambda x: -np.asarray(held.evaluate(x)[0].constraint) - ROUNDING_MM,
        "jac": lambda x: -np.asarray(held.evaluate(x)[1].constraint),
    }
    coding = held.parametrisation
    best = scipy.optimize.minimize(
        mean_square, start[free], jac=True, method="SLSQP", bounds=list(zip(coding.low, coding.high, strict=True)),
        constraints=[room], options={"maxiter": 200},
    )  # fmt: skip
    assert found.objectives["tuning"] <= math.sqrt(best.fun) + 0.1
    assert found.objectives["tuning"] < moved.objectives["tuning"]


def test_nothing_is_left_to_settle_where_all_is_held(by_hand):
    found = by_hand.settled({}, by_hand.names)
    assert found.settled
    assert values(found) == values(by_hand.moved({}))


def test_a_kept_layout_says_what_it_was_changed_from(by_hand, problem, record):
    place = record.holes[1].position_mm + 2.0
    found = by_hand.kept({"position_mm.g2": place, "reed_volume_cm3": 0.25}, ["position_mm.g2"], "hand-1")
    again = LayoutRecord.model_validate_json(found.model_dump_json())
    assert again.parentage.layout == record.id
    assert [(each.name, each.was) for each in again.parentage.moved] == [
        ("position_mm.g2", record.holes[1].position_mm)
    ]
    assert [(each.name, each.now) for each in again.parentage.followed] == [("reed_volume_cm3", 0.25)]
    assert [note.cents for note in predict(again)] == pytest.approx([note.cents for note in found.notes], abs=1e-6)
    with pytest.raises(MoveError, match="nothing differs"):
        by_hand.kept({}, [], "hand-2")
    onward = ByHand(problem, again).kept({"position_mm.g2": place + 1.0}, ["position_mm.g2"], "hand-2")
    assert onward.parentage.layout == "hand-1"


def test_a_layout_of_other_holes_is_refused(record):
    other = Problem(pipe(changed("g4 =", "g5 =", PIPE)))
    with pytest.raises(MoveError, match="has other holes than the run's project"):
        ByHand(other, record)
