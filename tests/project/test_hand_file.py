"""Hand files: four hands without a person, files taken into a project's text, and what is refused."""

import pytest
from places import CONFIGS
from shelf import PIPE

from optimizer.project.hand import PAIRS, Hand, pair_limits
from optimizer.project.included import IncludedError, read_included, taken_in
from optimizer.project.loading import ProjectError, load_project, parse_project
from optimizer.views.project_overview import values_in_force

HANDS = CONFIGS / "hands"
BY_SIZE = ("child-about-11", "small-adult", "median-adult", "large-adult")


def test_the_four_hands_are_ordered_by_size():
    hands = [read_included(HANDS / f"{name}.toml", Hand, "hand").model for name in BY_SIZE]
    assert {path.stem for path in HANDS.glob("*.toml")} == set(BY_SIZE)
    for side in "LR":
        for pair in PAIRS:
            working = [pair_limits(hand, side)[pair].working_mm for hand in hands]
            assert working == sorted(working)
            assert len(set(working)) == 4
    for key in ("seal_diameter_max_mm", "finger_breadth_mm", "spacing_min_mm", "grip_diameter_advised_mm"):
        sizes = [getattr(hand, key) for hand in hands]
        assert sizes == sorted(sizes)


@pytest.mark.parametrize("name", BY_SIZE)
def test_a_hand_file_says_what_is_an_estimate(name):
    text = (HANDS / f"{name}.toml").read_text()
    assert "(estimate)" in read_included(HANDS / f"{name}.toml", Hand, "hand").model.name
    assert "common practice, no source" in text
    assert ("ANSUR II" in text) == (name != "child-about-11")


@pytest.mark.parametrize("name", BY_SIZE)
def test_adult_hand_files_start_from_the_survey(name):
    # ANSUR II 2012, hand length: women's 5th percentile 165 and median 180, men's median 193 and 95th percentile 210;
    # the median adult lies halfway, 186.5. The child's 158 is from memory.
    expected = {"child-about-11": 158, "small-adult": 165, "median-adult": (180 + 193) // 2, "large-adult": 210}
    hand = read_included(HANDS / f"{name}.toml", Hand, "hand").model
    assert (hand.left.hand_length_mm, hand.right.hand_length_mm) == (expected[name], expected[name])


BROKEN = {
    "a misspelt key": ("spacing_min = 16", "spacing_min: there is no such key; did you mean 'spacing_min_mm'?"),
    "a misspelt pair": (
        "[left]\nindex_midle_mm = [20, 30]",
        "left.index_midle_mm: there is no such key; did you mean 'index_middle_mm'?",
    ),
    "the wrong way round": (
        "[left]\nring_little_mm = [30, 23]",
        "left.ring_little_mm: low <= high must hold, but got [30, 23]; swap the two numbers",
    ),
    "a maximum below the limit": (
        "[right]\nring_little_mm = [20, 30, 28]",
        "right.ring_little_mm: low <= high must hold, but got [20, 30, 28]; swap the two numbers",
    ),
    "one number for a pair": (
        "[left]\nindex_ring_mm = 50",
        "left.index_ring_mm: must be [comfortable, working limit] or these and the maximum, but got 50",
    ),
    "a pair in centimetres": (
        "[left]\nindex_ring_mm = [0, 5]",
        "left.index_ring_mm: must hold distances between 0 and 400 mm, but got [0, 5]",
    ),
    "a hand length in centimetres": (
        "[left]\nhand_length_mm = 15.8",
        "left.hand_length_mm: must be at least 80, but got 15.8; did you mean 158 (15.8 cm)?",
    ),
    "a span in words": (
        "[left]\nspan_index_little_mm = 'wide'",
        "left.span_index_little_mm: must be a number, but got 'wide'",
    ),
    "a hand that is no table": ("left = 3", "left: must be a table, but got 3"),
    "shares the wrong way round": (
        "[model]\ncomfortable_share = 0.9",
        "model: comfortable_share <= working_share <= 1 must hold, but got 0.9 and 0.8",
    ),
    "more scatter than all": (
        "[model]\npair_sd_percent = 120",
        "model.pair_sd_percent: must be at most 100, but got 120",
    ),
    "a hole to seal of no size": ("seal_diameter_max_mm = 0", "seal_diameter_max_mm: must be more than 0, but got 0"),
}


@pytest.mark.parametrize(("text", "sentence"), BROKEN.values(), ids=list(BROKEN))
def test_a_broken_hand_file_says_what_to_mend(text, sentence, tmp_path):
    path = tmp_path / "hand.toml"
    path.write_text(text)
    with pytest.raises(IncludedError) as caught:
        read_included(path, Hand, "hand")
    key = sentence.split(":")[0].split(".")[-1]
    row = next(number for number, row in enumerate(text.split("\n"), start=1) if row.strip("[]").startswith(key))
    assert caught.value.problems == [f"{path}, line {row}: {sentence}"]


def test_every_problem_of_a_hand_file_at_once(tmp_path):
    path = tmp_path / "hand.toml"
    path.write_text("colour = 3\nspacing_min_mm = -1\n[left]\nhand_length_mm = 1\n")
    with pytest.raises(IncludedError) as caught:
        read_included(path, Hand, "hand")
    assert len(caught.value.problems) == 3


@pytest.mark.parametrize(
    ("name", "content", "sentence"),
    [
        ("none.toml", None, "there is no hand file {path}"),
        ("folder", "folder", "{path} is a folder; name a hand file in it"),
        ("binary.toml", b"\xff\xfe\x00", "{path} is not a text file; a hand file is TOML text in UTF-8"),
        ("project.toml", PIPE.encode(), "{path} is a project file; name a file that holds a hand alone"),
        ("torn.toml", b"left = [", "{path}, line 1: left: a bracket [ that begins here is not closed"),
    ],
)
def test_a_file_that_is_no_hand_says_so(name, content, sentence, tmp_path):
    path = tmp_path / name
    if content == "folder":
        path.mkdir()
    elif content is not None:
        path.write_bytes(content)
    with pytest.raises(IncludedError) as caught:
        read_included(path, Hand, "hand")
    assert caught.value.problems == [sentence.format(path=path)]


def test_the_readmes_hand_file_is_one(tmp_path):
    readme = (CONFIGS / "README.md").read_text()
    block = next(part for part in readme.split("```toml\n")[1:] if part.startswith("name = "))
    path = tmp_path / "hand.toml"
    path.write_text(block.split("```")[0])
    hand = read_included(path, Hand, "hand").model
    assert pair_limits(hand, "L")["index_middle"].basis == "gauged"
    assert pair_limits(hand, "R")["index_middle"].basis == "span index to little"


# a project and a hand file


SMALL = 'name = "Ida\'s \\"small\\" hand"\nseal_diameter_max_mm = 9.5\n[left]\nindex_middle_mm = [20, 26]\n'
OWN_HANDS = {
    "none": "",
    "a table": "\n[hand]\nname = 'own'\nleft = { index_middle_mm = [24, 30] }\n",
    "tables": "\n[hand]\nname = 'own'\n\n# a comment\n[hand.left]\nindex_middle_mm = [24, 30]\n\n[search]\nseed = 7\n",
    "words with a bracket": '\n[hand]\nname = """\n[a bracket\n"""\n[search]\nseed = 7\n',
    "tables apart": "\n[hand.left]\nhand_length_mm = 150\n[search]\nseed = 7\n[hand.model]\npair_sd_percent = 9\n",
    "lists over lines": "\n[hand.left]\nindex_middle_mm = [\n  24,\n  30,\n]\n[search]\nseed = 7\n",
}


def hand_file(tmp_path, text=SMALL):
    path = tmp_path / "hands" / "ida.toml"
    path.parent.mkdir()
    path.write_text(text)
    return path


@pytest.mark.parametrize("own", OWN_HANDS.values(), ids=list(OWN_HANDS))
def test_another_hand_replaces_the_projects_own_and_nothing_else(own, tmp_path):
    path = tmp_path / "pipe.toml"
    path.write_text(PIPE + own)
    before, after = load_project(path), load_project(path, hand_file(tmp_path))
    assert after.project.hand.name == 'Ida\'s "small" hand'
    assert pair_limits(after.project.hand, "L")["index_middle"][:2] == (20.0, 26.0)
    assert after.project.model_copy(update={"hand": before.project.hand}) == before.project


def test_the_text_kept_of_a_project_needs_no_hand_file(tmp_path):
    # What run.json holds and workers parse: the text alone, after the hand file is gone.
    path, hand = tmp_path / "pipe.toml", hand_file(tmp_path)
    path.write_text(f'hand = "hands/ida.toml"  # the player\n{PIPE}')
    loaded = load_project(path)
    hand.unlink()
    again = parse_project(loaded.text, "pipe.toml")
    assert again.project == loaded.project
    assert again.project.hand.seal_diameter_max_mm == 9.5
    assert PIPE.strip() in loaded.text
    assert parse_project(again.text, "pipe.toml").text == again.text


def test_a_text_without_its_folder_cannot_name_a_hand_file():
    with pytest.raises(ProjectError) as caught:
        parse_project(f'hand = "hands/ida.toml"\n{PIPE}', "pipe.toml")
    assert caught.value.problems == ["hand: the file 'hands/ida.toml' is out of reach here; write its [hand] table"]


def test_a_project_names_a_hand_file_that_is_not_there(tmp_path):
    path = tmp_path / "pipe.toml"
    path.write_text(f'hand = "hands/ida.toml"\n{PIPE}')
    with pytest.raises(ProjectError) as caught:
        load_project(path)
    assert caught.value.problems == [f"there is no hand file {tmp_path / 'hands' / 'ida.toml'}"]


def test_a_hand_file_may_hold_the_table_itself(tmp_path):
    path = tmp_path / "hand.toml"
    path.write_text("[hand]\nname = 'a'\n[hand.left]\nhand_length_mm = 150\n")
    assert read_included(path, Hand, "hand").model.left.hand_length_mm == 150.0


def test_a_day_may_be_written_as_a_date(tmp_path):
    path = tmp_path / "hand.toml"
    path.write_text("gauged_on = 2026-11-02\n[left]\nindex_middle_mm = [20, 26]\n")
    file = read_included(path, Hand, "hand")
    assert file.model.gauged_on == "2026-11-02"
    assert parse_project(taken_in(PIPE, file), "a").project.hand == file.model


@pytest.mark.parametrize("project", sorted((HANDS.parent).glob("*.toml")), ids=lambda path: path.stem)
@pytest.mark.parametrize("name", BY_SIZE)
def test_every_demo_takes_every_hand(project, name):
    found = load_project(project, HANDS / f"{name}.toml").project
    assert found.hand == read_included(HANDS / f"{name}.toml", Hand, "hand").model


def test_values_in_force_show_every_figure_and_its_standing():
    shown = values_in_force(parse_project(PIPE, "pipe.toml").project)
    for name in Hand().model.model_dump():
        assert f"hand.model.{name} = " in shown
    assert "hand.model.working_share = 0.8  # of the maximum; rule of thumb, no source" in shown
    # 31 / 0.8 = 38.75; 20 % of 31 = 6.2
    assert "left index-middle: 25.0 / 31.0 / 38.8 +- 6.2, assumed" in shown
