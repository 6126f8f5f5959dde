"""Limits alone: whether they leave room, which of them conflict, and by how much each would have to give."""

import dataclasses
from functools import partial

import numpy as np
import pytest
from shelf import KEYED, PIPE, changed, pipe

from optimizer.commands.cli import main
from optimizer.geometry.choices import plain_choices
from optimizer.limits.conflicts import conflict_lines
from optimizer.limits.conflicts import verdict_on as verdict_within
from optimizer.limits.feasibility import KEPT_MM, Room

verdict_on = partial(verdict_within, seconds=600.0)
"""What a look comes to, however busy the machine is."""

GAP = PIPE + "\n[hand]\nhand_gap_min_mm = 140\n"
"""R1 lies on g1, at most 300 mm from the reed, L3 on g2, at least 170: at most 130 mm between the hands, 10 short."""

HAND = """
[hand]
spacing_min_mm = 12
left = { index_middle_mm = [20, 28], middle_ring_mm = [20, 30], index_ring_mm = [40, 60] }
[keywork]
web_min_mm = 19
"""
WEB = changed("[120, 200], diameter_mm = [5, 10]", "[150, 165], diameter_mm = [8, 10]") + HAND
WEB = changed("[150, 220], diameter_mm = [5, 10]", "[150, 175], diameter_mm = [8, 10]", WEB)
"""g3 and g4 lie at most 175 - 150 = 25 mm apart and are at least 8 mm wide, so that 25 - 8 = 17 mm of wall stay, 2 less
than asked; the slope of the bore adds under 0.1 mm of distance: 1.6 % of half a millimetre of radius."""


def told(capsys, *arguments):
    """Run the command: exit code, standard output, standard error."""
    code = main([str(argument) for argument in arguments])
    streams = capsys.readouterr()
    return code, streams.out, streams.err


def names(conflict):
    return {member.name for member in conflict.members}


def given(conflict):
    return {member.name: member.alone_mm for member in conflict.members}


@pytest.mark.parametrize("text", [PIPE, KEYED])
def test_a_project_with_room_has_no_conflict(text):
    verdict = verdict_on(pipe(text))
    assert verdict.room
    assert verdict.conflicts == ()
    assert conflict_lines(pipe(text)) == []


def test_what_is_called_kept_is_kept():
    room = Room(pipe(PIPE).project)
    start, choice = room.begin(plain_choices(room.project, pipe(PIPE).notes), 3)
    found = room.least(start, choice, np.arange(room.count))
    assert np.all(np.asarray(room.constraints.values(room.coding.layout(found.x, choice))) <= KEPT_MM)
    assert np.all((found.x >= room.low) & (found.x <= room.high))


def test_slopes_are_those_of_central_differences():
    room = Room(pipe(KEYED).project)
    x, choice = room.begin(plain_choices(room.project, pipe(KEYED).notes), 5)
    _, slopes = room.limits(x, choice)
    for column in range(x.size):
        step = np.zeros(x.size)
        step[column] = 1e-5
        across = (room.limits(x + step, choice)[0] - room.limits(x - step, choice)[0]) / 2e-5
        np.testing.assert_allclose(slopes[:, column], across, atol=1e-4)


def test_hands_that_cannot_be_so_far_apart():
    verdict = verdict_on(pipe(GAP))
    (conflict,) = verdict.conflicts
    assert verdict.least_mm == pytest.approx(10.0, abs=0.01)
    assert names(conflict) == {"hand_gap.L3-R1", "range.position_mm.g1", "range.position_mm.g2"}
    amounts = given(conflict)
    assert amounts["hand_gap.L3-R1"] == pytest.approx(10.0, abs=0.01)
    # g1 at 310 leaves 30 mm to the bell's farthest end, 340, of which it needs 0.75 x 5.
    assert amounts["range.position_mm.g1"] == pytest.approx(10.0, abs=0.01)
    # g2 at 160 would need L2 at 143 or less (17 mm of room), where g3 starts at 150.
    assert amounts["range.position_mm.g2"] is None
    # Within the conflict alone, g2 too would give 10 mm.
    assert {round(member.within_mm, 2) for member in conflict.members} == {10.0}


def test_a_wall_that_two_ranges_are_too_close_for():
    verdict = verdict_on(pipe(WEB))
    (conflict,) = verdict.conflicts
    assert names(conflict) == {
        "web.g3-g4", "range.position_mm.g3", "range.position_mm.g4", "range.diameter_mm.g3", "range.diameter_mm.g4"
    }  # fmt: skip
    amounts = given(conflict)
    assert amounts["web.g3-g4"] == pytest.approx(2.0, abs=0.1)
    assert amounts["range.position_mm.g3"] == pytest.approx(2.0, abs=0.1)
    # Half of a diameter counts: 2 mm of wall are 4 mm of one hole's diameter.
    assert amounts["range.diameter_mm.g3"] == pytest.approx(4.0, abs=0.1)


@pytest.mark.parametrize(("text", "lacking"), [(GAP, 10.0 / 3.0), (WEB, 2.0 / 4.0)])
def test_a_conflict_is_irreducible(text, lacking):
    # Solved anew by SciPy's SLSQP: all but any one of the members leave room, together they do not: 10 mm are shared by
    # the gap and two places, 2 mm by the wall, two places and two radii, each of which is half of what its range gives.
    loaded = pipe(text)
    room = Room(loaded.project)
    (conflict,) = verdict_on(loaded).conflicts
    for gone in [None, *sorted(names(conflict))]:
        least = least_by_scipy(room, loaded, names(conflict) - {gone})
        if gone is None:
            assert least == pytest.approx(lacking, abs=1e-5)
        else:
            assert least < 0.01, gone


def least_by_scipy(room, loaded, kept):
    """The least largest violation [mm] of the limits named, by SciPy from a few starts."""
    from scipy.optimize import minimize

    rows = np.array([number for number, name in enumerate(room.names) if name in kept])
    best = np.inf
    for seed in range(4):
        x, choice = room.begin(plain_choices(loaded.project, loaded.notes), seed)

        def spare(z, choice=choice):
            return z[-1] - room.limits(z[:-1], choice)[0][rows]

        def slope(z, choice=choice):
            return np.hstack([-room.limits(z[:-1], choice)[1][rows], np.ones((rows.size, 1))])

        found = minimize(
            lambda z: z[-1],
            np.append(x, 50.0),
            jac=lambda z: np.eye(z.size)[-1],
            method="SLSQP",
            constraints={"type": "ineq", "fun": spare, "jac": slope},
            bounds=[(None, None)] * x.size + [(0.0, None)],
            options={"maxiter": 200},
        )
        best = min(best, found.x[-1])
    return best


def test_a_conflict_goes_when_a_limit_gives_what_it_says():
    assert verdict_on(pipe(GAP.replace("140", "129.9"))).room
    assert not verdict_on(pipe(GAP.replace("140", "130.2"))).room


def test_two_conflicts_are_told_apart():
    # The wall and the gap of above in one project, which have no hole in common.
    verdict = verdict_on(pipe(WEB.replace("[hand]\n", "[hand]\nhand_gap_min_mm = 140\n")))
    limits = [{name for name in names(conflict) if not name.startswith("range.")} for conflict in verdict.conflicts]
    assert sorted(limits, key=str) == [{"hand_gap.L3-R1"}, {"web.g3-g4"}]
    # Neither alone is enough; within its own conflict each gives what is missing.
    within = {member.name: member.within_mm for conflict in verdict.conflicts for member in conflict.members}
    assert within["hand_gap.L3-R1"] == pytest.approx(10.0, abs=0.01)
    assert within["web.g3-g4"] == pytest.approx(2.0, abs=0.1)
    assert all(member.alone_mm is None for conflict in verdict.conflicts for member in conflict.members)


def test_a_choice_may_make_room():
    # L3 seals 8 mm at most and g2 is at least 9 wide: bare it is too wide, under a plate it is not.
    hand = "\n[hand]\nseal_diameter_max_mm = 9\n"
    wide = changed("[170, 250], diameter_mm = [5, 10]", "[170, 250], diameter_mm = [9, 10]") + hand
    (conflict,) = verdict_on(pipe(wide)).conflicts
    assert names(conflict) == {"seal.g2", "range.diameter_mm.g2"}
    assert verdict_on(pipe(changed('by = "L3",', 'by = "L3", cover = "either",', wide))).room


def test_late_looks_say_so():
    verdict = verdict_on(pipe(GAP), seconds=-1.0)
    assert not verdict.room
    assert not verdict.complete


def test_check_and_search_say_what_conflicts(tmp_path, capsys):
    path = tmp_path / "gap.toml"
    path.write_text(GAP, encoding="utf-8")
    for command in ("check", "search"):
        code, _, err = told(capsys, command, path)
        assert code == 2
        assert "no layout was found that keeps all limits, from 8 starts" in err
        assert "hand_gap.L3-R1: the hands have 140 mm between L3 and R1, so they do not collide; it alone would" in err
        assert "no proof" in err
    assert told(capsys, "check", path, "--quick")[0] == 0


def test_a_verdict_is_the_same_twice():
    first, second = (verdict_on(pipe(GAP)) for _ in range(2))
    assert dataclasses.asdict(first) == dataclasses.asdict(second)
