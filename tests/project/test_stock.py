"""Stock tables and files: sizes as the trade writes them, what finishes a hole, and every mistake in a sentence."""

import pytest
from places import CONFIGS
from shelf import KEYED, PIPE, changed, pipe
from stocked import DRAWER, STOCKED, drilled, stocked

from optimizer.project.finishes import tool_at, tools_of
from optimizer.project.included import read_included
from optimizer.project.loading import ProjectError, load_project, parse_project
from optimizer.project.stock import Stock, size_of
from optimizer.views.project_overview import overview, values_in_force

FILES = sorted((CONFIGS / "stock").glob("*.toml"))


def problems(text):
    with pytest.raises(ProjectError) as caught:
        parse_project(text, "shelf.toml")
    return caught.value.problems


def called(project, name):
    hole = next(hole for hole in project.holes if hole.id == name)
    return [tool.called for tool in tools_of(project, hole, hole.padded)]


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_stock_file_holds_every_kind_and_says_what_is_from_memory(path):
    stock = read_included(path, Stock, "stock").model
    assert all((stock.drills, stock.reamers, stock.pads, stock.tubes, stock.rods, stock.o_rings))
    assert stock.source == "common practice, no source; O-rings ISO 3601-1, from memory"


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_o_rings_are_those_of_the_standard(path):
    # ISO 3601-1, size codes 010 to 033, cord 1.78: three of them in inches as its American forerunner AS568 has them,
    # 0.239, 0.989 and 1.364 (from memory), of which the millimetres are those of the standard within its rounding.
    inner = {ring.inner_mm for ring in read_included(path, Stock, "stock").model.o_rings}
    assert all(min(abs(size - inches * 25.4) for size in inner) < 0.006 for inches in (0.239, 0.989, 1.364))


@pytest.mark.parametrize(
    ("entry", "mm"),
    [
        ("3/8 in", 9.525),
        ("1 1/4 in", 31.75),
        ("0.5 in", 12.7),
        ("1 in", 25.4),
        ("1/64 in", 0.396875),
        (9.5, 9.5),
        (3, 3.0),
    ],
)
def test_inches_are_exact(entry, mm):
    # 1 inch = 25.4 mm exactly: ISO 31-1 annex, from memory.
    assert size_of(entry).mm == mm


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        ("[5, 6, 7, 8, 9, 10, 11, 12]", "[]", "stock.drill_mm: holds nothing; list drills, or leave the key out"),
        ("[6, 8, 10]", "[8, 6]", "stock.reamer_mm: must go from small to large, but entry 2, 6, follows 8"),
        ("[6, 8, 10]", '[6, "1/4 in", 6.35]', "stock.reamer_mm: entry 3, 6.35, stands there twice"),
        ("[6, 8, 10]", "[-6]", "stock.reamer_mm: entry 1 must lie between 0.3 and 150 mm, but got -6"),
        (
            "[6, 8, 10]",
            "[0.25]",
            "stock.reamer_mm: entry 1 must lie between 0.3 and 150 mm, but got 0.25; write inches as '3/8 in'",
        ),
        (
            "[6, 8, 10]",
            '["3/0 in"]',
            "stock.reamer_mm: entry 1 must be millimetres, or inches such as '3/8 in', but got '3/0 in'",
        ),
        ("[6, 8, 10]", "[nan]", "stock.reamer_mm: entry 1 must lie between 0.3 and 150 mm, but got nan"),
        ("[6, 8, 10]", str(list(range(1, 202))), "stock.reamer_mm: must hold at most 200 entries, but got 201"),
        (
            "[2.5, 0.5, 0.02]",
            "[2.5, 1.3, 0.02]",
            "stock.tube_mm: entry 1 its wall must be at least 0.01 and less than 1.25 mm, but got 1.3",
        ),
        (
            "[2.5, 0.5, 0.02]",
            "2.5",
            "stock.tube_mm: entry 1 must be [outer diameter, wall, tolerance], but got 2.5",
        ),
        ("pad_mm", "pads", "stock.pads: there is no such key; did you mean 'pad_mm'?"),
    ],
)
def test_a_mistake_in_a_list_is_told_in_a_sentence(old, new, sentence):
    assert problems(stocked(PIPE, changed(old, new, DRAWER))) == [sentence]


def test_a_drawer_must_hold_something():
    said = "stock: lists nothing; name drill_mm, reamer_mm, pad_mm, tube_mm, rod_mm or o_ring_mm"
    assert problems(stocked(PIPE, '[stock]\nname = "empty"\n')) == [said]


def test_what_finishes_a_hole_follows_from_what_closes_it():
    project = pipe(STOCKED).project
    assert called(project, "h1") == ["reamer 8", "drill 9", "reamer 10", "drill 11", "drill 12"]  # key, 8 to 14
    assert called(project, "h3") == [
        "drill 5", "reamer 6", "drill 7", "reamer 8", "drill 9", "reamer 10", "drill 11", "drill 12",
    ]  # plate, 5 to 12  # fmt: skip
    assert called(project, "v1") == ["tube 2.5 x 0.5", "tube 3 x 0.5", "tube 5 x 1"]  # a vent, 1.5 to 3
    assert [called(project, name) for name in ("h2", "h5", "h6")] == [[], [], []]  # bare, locked, bare
    assert all(not tools_of(pipe(KEYED).project, hole, hole.padded) for hole in pipe(KEYED).project.holes)


def test_a_hole_says_itself_what_finishes_it():
    said = changed("position_mm = [380, 460]", 'finish = "reamer", position_mm = [380, 460]', STOCKED)
    said = changed('rest = "closed", position_mm = [440', 'rest = "closed", finish = "free", position_mm = [440', said)
    project = pipe(said).project
    assert called(project, "h2") == ["reamer 6", "reamer 8", "reamer 10"]
    assert called(project, "h1") == []


def test_a_hole_that_narrows_toward_its_top_is_opened_by_hand():
    project = pipe(changed("position_mm = [440, 540]", "top_ratio = 0.9, position_mm = [440, 540]", STOCKED)).project
    assert called(project, "h1") == []


def test_the_tool_of_a_size_is_found_at_that_size_alone():
    project = pipe(STOCKED).project
    vent = project.holes[-1]
    assert tool_at(project, vent, True, 2.0) == ("tube", 2.0, "tube 3 x 0.5", 0.03)
    assert tool_at(project, vent, True, 2.01) is None


@pytest.mark.parametrize(
    ("diameter", "said"),
    [
        ("[8.2, 8.8]", "lies between 8.2 and 8.8 mm; nearest are drill 8 and drill 9"),
        ("[12.5, 13]", "lies between 12.5 and 13 mm; nearest is drill 12"),
    ],
)
def test_a_range_without_a_size_names_the_nearest(diameter, said):
    text = changed("diameter_mm = [8, 14]", f"diameter_mm = {diameter}", STOCKED)
    what, way = "no drill or straight reamer of the stock", "take such a size into the range, or say finish = 'free'"
    assert problems(text) == [f"holes.h1.diameter_mm: {what} {said}; {way}"]


def test_a_single_number_is_as_its_maker_wants_it_unless_a_tool_is_named():
    fixed = changed("diameter_mm = [8, 14]", "diameter_mm = 8.3", STOCKED)
    assert called(pipe(fixed).project, "h1") == []
    named = changed(
        'rest = "closed", position_mm = [440', 'rest = "closed", finish = "drill", position_mm = [440', fixed
    )
    assert "no drill of the stock is 8.3 mm; nearest are drill 8 and drill 9" in problems(named)[0]


def test_a_tool_that_the_drawer_lacks_is_told():
    text = drilled().replace("drill_mm = [5, 6, 7, 8, 9, 10, 11, 12]\n", "")
    told = "holes.g1.finish: the stock holds no drill; list some, or say finish = 'free'; the same holds for g2, g3, g4"
    assert problems(text)[0] == told


def test_axles_and_cords_come_from_the_drawer_unless_stated():
    rods = STOCKED.replace("tube_mm = [[2.5, 0.5, 0.02], [3, 0.5, 0.03], [5, 1, 0.05]]", "tube_mm = [[4, 0.5, 0.05]]")
    keywork = pipe(rods).project.keywork
    assert (keywork.axle_stock.outer_mm, keywork.axle_stock.inner_mm) == (4.0, 3.0)
    stated = f"{rods}\n[keywork]\nstock_outer_mm = 5.0\n"
    said = "keywork.stock_outer_mm: the stock has not a tube of 5 mm with a bore of 3; nearest is 4 x 0.5"
    assert problems(stated) == [said]


def test_a_project_takes_its_stock_file_in(tmp_path):
    (tmp_path / "drawer.toml").write_text(DRAWER)
    path = tmp_path / "pipe.toml"
    path.write_text(f'stock = "drawer.toml"\n{PIPE}')
    loaded = load_project(path)
    (tmp_path / "drawer.toml").unlink()
    assert parse_project(loaded.text, "pipe.toml").project == loaded.project
    assert loaded.project.stock.name == "Lantern Hall drawer"
    assert problems(f'stock = "drawer.toml"\n{PIPE}') == [
        "stock: the file 'drawer.toml' is out of reach here; write its [stock] table"
    ]
    assert problems(DRAWER.partition("\n")[2])[0].startswith("this is a stock file")


def test_check_tells_the_drawer_and_what_it_leaves_as_it_is():
    text = changed("diameter_mm = [8, 14]", "diameter_mm = 8.3", STOCKED).replace("16, 18, 20]", "16]")
    lines = [line.strip() for line in overview(pipe(text)).splitlines()]
    assert "stock      Lantern Hall drawer: 8 drills, 3 reamers, 5 pads, 3 tubes" in lines
    assert "note       h1 stays 8.3 mm, which is no size of the stock; nearest are drill 8 and drill 9" in lines
    # h3 may be 12 mm wide: rim 1.2 + 0.02 x 12 = 1.44, seat 14.88, pad 17.38.
    assert "note       pads may have to be wider than the stock's widest, 16 mm: h3 (17.4)" in lines
    alone = changed("position_mm = [380, 460]", 'finish = "reamer", position_mm = [380, 460]', KEYED)
    assert "note       h2: nothing finishes them without a [stock]" in overview(pipe(alone))
    assert "stock" not in overview(pipe(KEYED))


def test_the_drawer_is_among_the_values_in_force():
    assert "  stock.reamer_mm = [6, 8, 10]  # straight reamers" in values_in_force(pipe(STOCKED).project)
