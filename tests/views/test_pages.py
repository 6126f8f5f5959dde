"""Pages of a comparison and of a run, read back: whole, nothing fetched, nothing of a project taken for code."""

import itertools
import re
from pathlib import Path

import pytest
from made_records import PAD, front_of_entries, hole, layout, note, pair, piece, run_folder
from page_reader import EVIL, Reader

from optimizer.analysis.recommendation import recommended
from optimizer.commands.cli import main
from optimizer.records.files import write_record
from optimizer.records.run import FrontEntry
from optimizer.views.drawings.axes import Scale, multiples, round_above
from optimizer.views.drawings.body import body_drawing
from optimizer.views.drawings.fingering import fingering_strip
from optimizer.views.drawings.notes import Line, Mark, tuning_chart
from optimizer.views.report import shown_in_full


def drawn(name, tuning, reach):
    """A layout with everything that a page draws, named by what would be code on a careless page."""
    holes = [
        hole("g1", 220.0, by="L2", cover="plate", pad=PAD),
        hole(EVIL, 200.0),
        hole("v1", 90.0, 2.0, by="key", role="vent"),
    ]
    notes = [
        note("A4", 1.0, openness=(0, 0, 0), touches="L12"),
        note("B4", -2.0, openness=(1, 0.5, 0), touches=EVIL),
        note("D5", 3.0, 2, height=2.0, openness=(1, 1, 1)),
        note("D5", 4.0, alternate=True, openness=(0, 1, 0)),
    ]
    objectives = layout().objectives | {"tuning": tuning, "stretch": reach}
    return layout(name, instrument=EVIL, holes=holes, notes=notes, reach=[pair("L1-L2", 28.0)], objectives=objectives)


@pytest.fixture
def runs(tmp_path):
    first = run_folder(
        tmp_path / "first",
        [drawn("t00001", 1.0, 90.0), drawn("t00002", 3.0, 10.0), drawn("t00003", 4.0, 5.0), drawn("t00009", 2.0, 70.0)],
        instrument=EVIL, cautions=["Mind <b>this</b>."],
    )  # fmt: skip
    return first, run_folder(tmp_path / "other", [drawn("t00005", 1.5, 50.0)], instrument=EVIL)


@pytest.fixture
def report(runs, tmp_path):
    assert main(["report", str(runs[0]), "--out", str(tmp_path / "report.html")]) == 0
    return (tmp_path / "report.html").read_text()


@pytest.fixture
def comparison(runs, tmp_path, capsys):
    assert main(["compare", *map(str, runs), "--html", str(tmp_path / "c.html")]) == 0
    return (tmp_path / "c.html").read_text()


@pytest.fixture(params=["report", "comparison"])
def page(request):
    return request.getfixturevalue(request.param)


def test_nothing_is_fetched(page):
    for tag, attributes in Reader(page).tags:
        for name in ("src", "href", "action", "data", "srcset", "poster", "xlink:href"):
            assert attributes.get(name, "#").startswith(("#", "data:,")), (tag, attributes)
    assert not re.search(r"https?:|//[a-z]|@import|url\(", page)


def test_words_of_a_project_stay_words(page):
    found = Reader(page)
    assert EVIL in " ".join(found.words)
    scripts = [each for each in found.of("script") if each.get("type") != "application/json"]
    assert len(scripts) <= 1
    assert "alert" not in re.sub(r"(&lt;script&gt;|\\u003cscript>)alert", "", page)  # in words and in figures
    assert not [attributes for _, attributes in found.tags if any(name.startswith("on") for name in attributes)]


def test_headings_figures_and_tables_say_what_they_are(page):
    found = Reader(page)
    assert len(found.of("h1")) == 1
    assert found.of("html")[0]["lang"] == "en"
    drawings = found.of("svg")
    assert drawings
    assert all(each["role"] == "img" and each["aria-label"] for each in drawings)
    heads = found.of("th")
    assert heads
    assert all(each["scope"] in ("col", "row") for each in heads)
    assert found.of("meta")[1]["content"].startswith("width=device-width")
    assert "prefers-color-scheme: dark" in page
    assert "size: A4" in page


def test_every_note_of_the_chart_appears(report):
    # Four lines, D5 twice; in the fingering chart each is a row whose strip says what is closed, in words.
    labels = [each["aria-label"] for each in Reader(report).of("svg")]
    assert f"A4, closed: v1 {EVIL} g1" in labels
    assert f"B4, closed: v1; half open: {EVIL}" in labels
    assert "D5, no hole closed" in labels
    assert "D5, closed: v1 g1" in labels


def test_the_recommended_layouts_are_shown_in_full_and_the_others_listed(report):
    # Least tuning t00001 at 1.0 cents, least stretch t00003 at 5 %. What each misses of both, as shares of 10 cents and
    # 100 %: t00001 (0, 0.85), t00009 (0.1, 0.65), t00002 (0.2, 0.05), t00003 (0.3, 0). One plate each, as even each:
    # the simplest is the nearest, t00002.
    found = Reader(report)
    sections = [each["id"] for each in found.of("section")]
    assert sections == ["t00002", "t00001", "t00003"]
    assert {each["href"] for each in found.of("a")} == {f"#{name}" for name in sections}
    assert [each["value"] for each in found.of("option") if each["value"].startswith("t0")] == sections
    assert {each["data-layout"] for each in found.of("tr") if "data-layout" in each} == set(sections)
    assert "t00009" in found.words
    for said in ("best compromise, simplest to build", "in tune", "in reach"):
        assert said in found.words


def test_the_report_opens_with_the_recommended_layout_its_notes_and_what_to_settle(runs, tmp_path):
    said = "posts of kA and kB meet at 200 mm: let one post carry both axles"
    run = run_folder(tmp_path / "settle", [layout(to_settle=[said])])
    assert main(["report", str(run)]) == 0
    text = (run / "report.html").read_text()
    begun = [text.index(part) for part in ("The only layout: ", 'class="drawing body"', 'class="drawing chart"', said)]
    assert begun == sorted(begun)
    assert begun[-1] < text.index("The front that it was chosen from")


def test_nothing_of_the_report_is_folded_away_where_no_script_runs(report):
    folds = Reader(report).of("details")
    assert len(folds) >= 8
    assert [each for each in folds if "open" not in each] == []


def test_a_report_of_a_long_front_stays_light(tmp_path):
    # 5000 layouts of which none beats another; four recommended ones, each of 24 holes, 64 notes and 30 sentences.
    count = 5000
    entries = [
        FrontEntry(
            id=f"t{at:09d}", file=f"layouts/t{at:09d}.json", wrong_notes=0, violation_mm=0.0, binds=["web.g1-g2"] * 12,
            objectives={"tuning": 1.0 + 0.001 * at, "stretch": 60.0 - 0.01 * at, "unevenness": abs(30.0 - 0.01 * at)},
            joints=1 if at == 1000 else 4, plates=6, to_settle=30, finger_pairs=6,
        )
        for at in range(count)
    ]  # fmt: skip
    names = ("tuning", "stretch", "unevenness")
    made = front_of_entries(entries, names, feasible=True)
    write_record(run_folder(tmp_path, []) / "pareto.json", made)
    holes = [hole(f"h{at}", 280.0 - 10.0 * at, by="key", pad=PAD) for at in range(24)]
    notes = [note(f"A{at % 9}", 1.0, 1 + at // 32, openness=[1.0] * 24, touches="L123 R123") for at in range(64)]
    matters = [
        f"the axle of k{at} crosses joint 1 and joint 2: part it by a bridge, or it holds them" for at in range(30)
    ]
    for name in shown_in_full(made, recommended(made)):
        record = layout(Path(name).stem, holes=holes, notes=notes, to_settle=matters, warnings=matters)
        write_record(tmp_path / name, record)
    assert main(["report", str(tmp_path)]) == 0
    page = (tmp_path / "report.html").read_text()
    assert 400_000 < len(page.encode()) < 2_000_000
    found = Reader(page)
    listed = {words for words in found.words if re.fullmatch(r"t\d{9}", words)}
    assert len(found.of("section")) == 4
    assert 200 <= len(listed) <= 204
    assert {entries[0].id, entries[-1].id} < listed
    assert f"of the front's {count} layouts; pareto.json in the run folder has all" in " ".join(found.words)


def test_the_report_says_where_it_comes_from(report):
    words = " ".join(Reader(report).words)
    for said in ("seed", "7", "2026-11-02T10:00:00+00:00", "numpy 2.0.1", "Mind <b>this</b>.", "3 done, 0 failed"):
        assert said in words


def test_a_report_of_nothing_is_still_a_page(tmp_path, capsys):
    run = run_folder(tmp_path / "none", [])
    assert main(["report", str(run)]) == 0
    assert "before its first layout was done" in " ".join(Reader((run / "report.html").read_text()).words)


def test_a_report_of_nothing_feasible_says_so(tmp_path, capsys):
    run = run_folder(tmp_path / "none", [layout(feasible=False, margins_mm={"web.g1-g2": -0.5})])
    assert main(["report", str(run)]) == 0
    words = " ".join(Reader((run / "report.html").read_text()).words)
    assert "No layout met everything; shown is the nearest one." in words
    assert "NOT feasible: largest violation of a limit 0.50 mm." in words


@pytest.mark.parametrize(("name", "said"), [("first", "is no run folder"), ("t.json", "is no run folder")])
def test_report_says_what_to_mend(name, said, tmp_path, capsys):
    path = tmp_path / name
    path.mkdir() if name == "first" else path.write_text("{}")
    assert main(["report", str(path)]) == 2
    assert said in capsys.readouterr().err


def test_a_body_is_drawn_to_scale():
    # 300 mm long, the drawing 3 % wider; 30 mm thick; a hole at 90 degrees stands on the edge, 15 mm from the middle.
    drawing = Reader(body_drawing(layout(holes=[hole("g1", 200.0, azimuth_deg=90.0), hole("g2", 250.0)])).to_html())
    assert drawing.of("svg")[0]["viewbox"].startswith("0 0 309 ")
    side, front = (each for each in drawing.of("ellipse") if each["class"].startswith("hole"))
    assert float(front["cx"]) - float(side["cx"]) == pytest.approx(50.0)
    assert float(side["cy"]) - float(front["cy"]) == pytest.approx(15.0)
    assert 2 * float(front["rx"]) == 2 * float(front["ry"]) == pytest.approx(6.0)
    corners = [tuple(map(float, corner.split(","))) for corner in drawing.of("polygon")[0]["points"].split()]
    assert max(x for x, _ in corners) - min(x for x, _ in corners) == pytest.approx(300.0)
    assert max(y for _, y in corners) - min(y for _, y in corners) == pytest.approx(30.0)


def test_labels_of_short_pieces_on_a_long_body_keep_off_each_other():
    # On 1500 mm a letter is 1500 * 1.03 * 0.009 = 13.9 mm broad, a label of 14 letters 195 mm: over pieces of 71 mm two
    # cannot stand side by side.
    ends = [0.0, 71.0, 142.0, 213.0, 700.0, 771.0, 1429.0, 1500.0]
    pieces = [piece(low, high) for low, high in itertools.pairwise(ends)]
    bore = {"points_mm": [(0.0, 20.0), (1500.0, 30.0)], "wall_mm": 5.0, "crook_end_mm": 0.0}
    drawing = body_drawing(layout(pieces=pieces, bore=bore))
    found = re.findall(r'<text class="mid jointed" x="([\d.]+)" y="([\d.]+)"[^>]*>([^<]+)<', drawing.to_html())
    assert sorted(words for *_, words in found) == [
        f"piece {number}: {high - low:.0f} mm" for number, (low, high) in enumerate(itertools.pairwise(ends), start=1)
    ]
    letter = 1500.0 * 1.03 * 0.009
    boxes = [(float(x), float(y), len(words) * letter / 2.0) for x, y, words in found]
    for (x, y, half), (other_x, other_y, other_half) in itertools.combinations(boxes, 2):
        assert abs(x - other_x) >= half + other_half or abs(y - other_y) >= 0.015 * 1500.0 * 1.03
    assert all(half - 0.1 <= x <= drawing.width - half + 0.1 for x, _, half in boxes)
    holes = [float(y) for y in re.findall(r'<text class="mid" x="[\d.]+" y="([\d.]+)"', drawing.to_html())]
    assert max(y for _, y, _ in boxes) < min(holes)


def test_bars_are_as_long_as_their_cents():
    # The scale's least spread that holds 4 and 2 cents is 5: 292 units for 10 cents, so 116.8 and 58.4; each bar is
    # 1.5 wider so that none vanishes.
    lines = [Line("A4", 1, False, [Mark("A", 4.0, None)]), Line("B4", 1, False, [Mark("A", -2.0, None)])]
    bars = [
        each for each in Reader(tuning_chart(lines, "cents").to_html()).of("rect") if each["class"].startswith("bar")
    ]
    assert [float(each["width"]) - 1.5 for each in bars] == pytest.approx([116.8, 58.4])
    assert float(bars[0]["x"]) + 0.75 == pytest.approx(float(bars[1]["x"]) + 0.75 + 58.4)


def test_half_a_hole_is_half_a_disk():
    holes = [hole("g1", 200.0), hole("g2", 220.0), hole("g3", 240.0)]
    found = Reader(fingering_strip(note("A4", 0.0, openness=(0.0, 0.4, 1.0)), holes).to_html())
    assert len(found.of("path")) == 1
    assert [each["class"] for each in found.of("ellipse")] == ["hole", "hole", "closed"]


def test_ticks_are_round_and_within():
    assert Scale(0.9, 14.2, 0.0, 100.0).ticks() == [2.5, 5.0, 7.5, 10.0, 12.5]
    assert Scale(-3.0, 88.0, 0.0, 100.0).ticks() == [0.0, 25.0, 50.0, 75.0]
    assert Scale(2.9, 4.1, 0.0, 100.0).ticks(whole=True) == [3.0, 4.0]
    assert Scale(0.0, 10.0, 0.0, 100.0).ticks(whole=True) == [0.0, 2.0, 4.0, 6.0, 8.0, 10.0]


def test_round_numbers_are_1_2_or_5_and_enough():
    # A figure that is round already stays, whatever its decade.
    given = (0.03, 0.2, 1.0, 1.01, 2.1, 5.0, 7.0, 10.0, 101.0)
    assert [round_above(value) for value in given] == pytest.approx([0.05, 0.2, 1, 2, 5, 5, 10, 10, 200])
    assert multiples(2.5, -5.0, 6.0) == [-5.0, -2.5, 0.0, 2.5, 5.0]
