"""What a front recommends: by hand where the figures are few, by a rule written anew where they are drawn at random.

The rules are the project's own; what they are held against here is sorting, not narrowing as the program does it.
"""

import math

from hypothesis import given
from hypothesis import strategies as st
from made_records import front, front_of_entries
from told_picks import true_sentence

from optimizer.analysis.recommendation import recommended
from optimizer.project.objectives import OBJECTIVES
from optimizer.records.run import FrontEntry
from optimizer.views.recommendation import roles_words

NAMES = ("tuning", "stretch", "unevenness")
SAME = {"tuning": 1.0, "stretch": 5.0, "unevenness": 2.0}
ROLES = ("best compromise", "in tune", "in reach", "simplest to build")


def entry(number, figures, joints=0, plates=0, to_settle=0, finger_pairs=1):
    """A line of a front by its figures in `NAMES`."""
    objectives = dict(zip(NAMES, figures, strict=True))
    made = {"joints": joints, "plates": plates, "to_settle": to_settle, "finger_pairs": finger_pairs}
    name = f"t{number:05d}"
    return FrontEntry(
        id=name, file=f"layouts/{name}.json", objectives=objectives, wrong_notes=0, violation_mm=0.0, binds=[], **made
    )


def advised(entries, widths=SAME, names=NAMES):
    """What is recommended of a front of these lines, thinned to these widths."""
    made = front_of_entries(entries, names, feasible=bool(entries))
    return recommended(made.model_copy(update={"thinned_to": widths}))


def picked(entries, widths=SAME, names=NAMES):
    """Number of the layout that is recommended for each role."""
    found = advised(entries, widths, names)
    return {role: int(pick.id[1:]) for pick in found.picks for role in pick.roles}


# by hand


def test_each_role_goes_to_the_best_of_its_own():
    # Missing of the best (1, 0, 10), as shares of 10 cents, 100 % and 100 %: t1 (0, 0.6, 0.4), t2 (0.4, 0, 0.3),
    # t3 (0.2, 0.2, 0.1), t4 (0.4, 0.9, 0). Their squares add up to 0.52, 0.25, 0.09 and 0.97: t3 is the nearest.
    entries = [
        entry(1, (1.0, 60.0, 50.0), joints=3),
        entry(2, (5.0, 0.0, 40.0), joints=3),
        entry(3, (3.0, 20.0, 20.0), joints=3),
        entry(4, (5.5, 90.0, 10.0), joints=2),
    ]
    assert picked(entries) == dict(zip(ROLES, (3, 1, 2, 4), strict=True))


def test_what_is_the_same_is_decided_by_the_next_and_last_by_the_number():
    # t1 is better in tune than t2 by 0.9 cents, less than the cent that counts, and t2 is the nearer one. t3 and t4 are
    # the same in all: the lower number has it, also where it comes last.
    near, far = entry(1, (1.0, 60.0, 50.0)), entry(2, (1.9, 10.0, 50.0))
    assert picked([near, far])["in tune"] == 2
    assert picked([near, far], SAME | {"tuning": 0.9})["in tune"] == 1
    twins = [entry(12, (1.0, 2.0, 3.0)), entry(4, (1.0, 2.0, 3.0)), entry(100, (1.4, 2.0, 3.0))]
    assert set(picked(twins).values()) == {4}


def test_the_simplest_has_the_fewest_joints_then_plates_and_things_to_settle_then_the_most_even_holes():
    even, plain = (2.0, 0.0, 10.0), (2.0, 0.0, 30.0)
    assert picked([entry(1, even, joints=3), entry(2, plain, joints=2, plates=9)])["simplest to build"] == 2
    assert picked([entry(1, even, 2, 3, 4), entry(2, plain, 2, 6, 0)])["simplest to build"] == 2
    assert picked([entry(1, plain, 2, 3, 4), entry(2, even, 2, 4, 3)])["simplest to build"] == 2


def test_what_is_too_far_out_of_tune_is_not_recommended_however_simple_or_near_the_hand():
    # 5.0 cents from the least is near enough, 5.1 is not.
    least, far = entry(1, (2.0, 50.0, 30.0), joints=4), entry(2, (7.1, 0.0, 0.0), joints=1)
    assert set(picked([least, far]).values()) == {1}
    found = advised([least, far])
    assert (found.of_layouts, found.picks[0].sentence[:24]) == (2, "The only layout in tune:")
    more = [least, far, entry(4, (3.0, 40.0, 40.0), 5)]
    beside = advised(more)
    told = " ".join(pick.sentence for pick in beside.picks)
    for said in (
        "nearest of 2 layouts in tune to",
        "ands least stretched of those in tune, 40.00 %",
        "build of those",
    ):
        assert said in told
    near = entry(3, (7.0, 0.0, 0.0), joints=1)
    assert picked([least, near])["simplest to build"] == picked([least, near])["in reach"] == 3


def test_what_is_far_out_of_tune_is_not_called_in_tune():
    # 10 cents root mean square are twice what a player shades without a thought (common practice, no source).
    found = advised([entry(1, (16.2, 60.0, 50.0)), entry(2, (17.9, 10.0, 5.0)), entry(3, (30.0, 0.0, 0.0))])
    told = " ".join(pick.sentence for pick in found.picks)
    assert "earest to tune of what was found, 16.20 cents" in told
    assert "nearest of 2 layouts nearest to tune to the best" in told
    assert "in tune" not in told.replace("less in tune", "").replace("better in tune", "")
    shown = [roles_words(pick) for pick in found.picks]
    assert any("nearest to tune" in words for words in shown)
    assert not any("in tune" in words for words in shown)
    assert "in tune" in roles_words(advised([entry(1, (9.9, 60.0, 50.0))]).picks[0])


def test_of_layouts_on_both_sides_of_ten_cents_each_is_called_what_it_is():
    found = advised([entry(1, (9.8, 60.0, 50.0)), entry(2, (10.4, 10.0, 50.0)), entry(3, (30.0, 0.0, 0.0))])
    told = {role: pick.sentence for pick in found.picks for role in pick.roles}
    assert "mong the nearest to tune, 10.40 cents (the least is 9.80" in told["in tune"]
    assert "nearest of 2 layouts nearest to tune to the best" in told["best compromise"]
    found = advised([entry(1, (8.0, 60.0, 50.0)), entry(2, (12.0, 10.0, 50.0)), entry(3, (30.0, 0.0, 0.0))])
    told = {role: pick.sentence for pick in found.picks for role in pick.roles}
    assert "ost in tune of those nearest to tune, 8.00 cents" in told["in tune"]
    assert "hands least stretched of those nearest to tune, 10.00 %" in told["in reach"]


def test_what_is_the_same_as_the_best_is_not_called_the_best():
    entries = [entry(1, (1.0, 60.0, 50.0)), entry(2, (1.9, 10.0, 50.0)), entry(3, (4.0, 7.0, 5.0))]
    found = advised(entries)
    said = {role: pick.sentence for pick in found.picks for role in pick.roles}
    assert (
        "mong the most in tune, 1.90 cents (the least is 1.00, and less than 1 cents apart counts as none)"
        in said["in tune"]
    )
    assert "hands least stretched, 7.00 %" in said["in reach"]


def test_a_role_that_nothing_can_fill_is_left_out_and_said():
    bare = [entry(1, (1.0, 0.0, 9.0), finger_pairs=0), entry(2, (4.0, 0.0, 3.0), finger_pairs=0)]
    found = advised(bare)
    assert found.left_out == {
        "in reach": "no two fingers of one hand lie on holes, or rest on keys in a row",
        "simplest to build": "no layout has a joint, a plate or anything to settle in CAD",
    }
    assert {role for pick in found.picks for role in pick.roles} == {"best compromise", "in tune"}


def test_where_no_layout_stretches_the_hands_none_is_called_within_reach():
    found = advised([entry(1, (1.0, 0.0, 9.0)), entry(2, (4.0, 0.9, 3.0))])
    assert found.left_out["in reach"] == "no layout stretches the hands beyond comfort"
    assert "stretched" not in " ".join(pick.sentence for pick in found.picks)


def test_a_front_that_does_not_tell_of_stretch_has_nothing_in_reach():
    rows = [entry(1, (1.0, 0.0, 9.0), joints=1), entry(2, (4.0, 0.0, 3.0))]
    told = [each.model_copy(update={"objectives": {"tuning": each.objectives["tuning"]}}) for each in rows]
    found = recommended(front_of_entries(told, ("tuning",), feasible=True))
    assert found.left_out == {"in reach": "the front does not say how far hands are stretched"}
    assert {role: pick.id for pick in found.picks for role in pick.roles}["simplest to build"] == "t00002"


def test_one_layout_fills_every_role_in_one_sentence():
    found = advised([entry(1, (1.0, 2.0, 3.0), joints=1)])
    assert [pick.roles for pick in found.picks] == [list(ROLES)]
    assert found.picks[0].sentence == "The only layout: tuning 1.00 cents, stretch 2.00 % and unevenness 3.00 %."


def test_what_is_counted_and_sought_is_told_once():
    rows = [entry(1, (1.0, 2.0, 3.0), plates=2), entry(2, (5.0, 2.0, 3.0), plates=1)]
    told = [each.model_copy(update={"objectives": each.objectives | {"plates": each.plates}}) for each in rows]
    first, simple = recommended(front_of_entries(told, ("tuning", "plates"), feasible=True)).picks
    assert "at once: tuning 1.00 cents and 2 plates; " in first.sentence
    assert simple.sentence.endswith("Against the best compromise: 1 fewer plate, but 4.0 cents less in tune.")


def test_plates_are_those_the_search_could_do_without_where_it_sought_that():
    rows = [entry(1, (1.0, 2.0, 3.0), plates=5), entry(2, (5.0, 2.0, 3.0), plates=4)]
    sought = [each.model_copy(update={"objectives": each.objectives | {"plates": each.plates - 4}}) for each in rows]
    picks = recommended(front_of_entries(sought, ("tuning", "plates"), feasible=True)).picks
    assert [pick.plates for pick in picks] == [1, 0]
    assert "tuning 1.00 cents and 1 plate; " in picks[0].sentence


def test_nothing_is_recommended_where_nothing_is_feasible():
    found = recommended(front([(1.0, 2.0)], feasible=False))
    assert found.picks == []
    assert set(found.left_out.values()) == {"no layout keeps every limit"}


def test_the_sentence_says_what_is_gained_and_what_it_costs():
    entries = [entry(1, (1.0, 60.0, 50.0), 3), entry(3, (3.0, 20.0, 20.0), 3, 2, 1), entry(4, (5.5, 90.0, 10.0), 2)]
    compromise, in_tune, simplest = advised(entries).picks
    assert compromise.sentence == (
        "Best compromise, nearest of 3 layouts to the best of everything at once: tuning 3.00 cents, stretch 20.00 % "
        "and unevenness 20.00 %; hands least stretched, 20.00 %."
    )
    assert in_tune.sentence == (
        "Most in tune, 1.00 cents. Against the best compromise: 2.0 cents better in tune, 2 fewer plates and 1 fewer "
        "thing to settle, but hands 40 % more stretched and holes 30 % less even."
    )
    assert simplest.sentence == (
        "Simplest to build, 2 joints, 0 plates and 0 things to settle. Against the best compromise: holes 10 % more "
        "even, 1 fewer joint, 2 fewer plates and 1 fewer thing to settle, but 2.5 cents less in tune and hands 70 % "
        "more stretched."
    )


def test_the_widths_are_those_the_front_was_thinned_to():
    entries = [entry(1, (1.0, 60.0, 50.0)), entry(2, (1.9, 10.0, 50.0))]
    made = front_of_entries(entries, NAMES, feasible=True)
    wide = made.model_copy(update={"thinned_to": SAME})
    assert [pick.roles[0] for pick in recommended(wide).picks] == ["best compromise"]
    assert recommended(wide).same_within == SAME
    fine = recommended(made.model_copy(update={"thinned_to": SAME | {"tuning": 0.1}}))
    assert {role: pick.id for pick in fine.picks for role in pick.roles}["in tune"] == "t00001"


# at random

FIGURE = st.one_of(st.floats(0.0, 100.0), st.integers(0, 40).map(lambda steps: 0.5 * steps))
ENTRIES = st.lists(
    st.tuples(
        st.tuples(FIGURE, FIGURE, FIGURE), st.integers(0, 3), st.integers(0, 2), st.integers(0, 3), st.integers(0, 1)
    ),
    min_size=1, max_size=9,
).map(lambda rows: [entry(number, *row) for number, row in enumerate(rows, start=7)])  # fmt: skip


@given(ENTRIES, st.randoms(use_true_random=False))
def test_the_order_of_the_front_decides_nothing(entries, draw):
    shuffled = draw.sample(entries, len(entries))
    first, again = (advised(each) for each in (entries, shuffled))
    assert first == again


def playable(entries):
    """Those within five cents of the most in tune."""
    least = sorted(each.objectives["tuning"] for each in entries)[0]
    return [each for each in entries if each.objectives["tuning"] <= least + 5.0]


def nearness(entries):
    """How far each layout is from the best of everything, by id: whole widths missed, as shares of the reference."""
    lows = {name: min(each.objectives[name] for each in entries) for name in NAMES}

    def share(each, name):
        widths = (each.objectives[name] - lows[name]) / SAME[name]
        return math.floor(widths + 1e-9 * widths) * SAME[name] / OBJECTIVES[name].reference

    return {each.id: round(sum(share(each, name) ** 2 for name in NAMES) ** 0.5, 9) for each in entries}


@given(ENTRIES)
def test_every_pick_is_the_best_by_its_rule(entries):
    found = advised(entries)
    entries = playable(entries)
    chosen = {role: next(each for each in entries if each.id == pick.id) for pick in found.picks for role in pick.roles}
    away = nearness(entries)

    def missed(each, name, among):
        low = min(other.objectives[name] for other in among)
        return each.objectives[name] - low >= SAME[name] * (1 - 1e-9)

    def first(keys):
        """The first of all when sorted by keys that each layout has by itself, its number last."""
        return min(entries, key=lambda each: (*keys(each), away[each.id], int(each.id[1:])))

    assert chosen["best compromise"] == first(lambda each: ())
    assert chosen["in tune"] == first(lambda each: (missed(each, "tuning", entries),))
    if "in reach" in chosen:
        assert chosen["in reach"] == first(lambda each: (missed(each, "stretch", entries),))
    if "simplest to build" in chosen:
        least = min((each.joints, each.plates + each.to_settle) for each in entries)
        alike = [each for each in entries if (each.joints, each.plates + each.to_settle) == least]
        assert chosen["simplest to build"] == first(
            lambda each: (each.joints, each.plates + each.to_settle, missed(each, "unevenness", alike))
        )
    stretched = any(each.objectives["stretch"] >= 1.0 for each in entries)
    assert ("in reach" in chosen) == (stretched and any(each.finger_pairs for each in entries))
    assert ("simplest to build" in chosen) == any(each.joints or each.plates or each.to_settle for each in entries)
    assert found.picks[0].roles[0] == "best compromise"
    assert len({pick.id for pick in found.picks}) == len(found.picks)


@given(ENTRIES)
def test_every_sentence_tells_the_differences_that_count(entries):
    found = advised(entries).model_dump(mode="json")
    told = {
        each.id: {**each.objectives, "joints": each.joints, "plates": each.plates, "to_settle": each.to_settle}
        for each in entries
    }
    compromise, *others = found["picks"]
    for pick in others:
        true_sentence(pick, told[pick["id"]], told[compromise["id"]], found["same_within"])
