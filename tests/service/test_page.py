"""The page in a real browser: every view by rules of accessibility, and what a player does there from a text to what a
prototype says.

The service is in this process, and what a search would write is written by hand: `tests/benchmarks/long` has a real
one, and all else that the page can do. What is asked of accessibility is axe-core's rule set (WCAG 2 A and AA, and its
best practices), run by its own script: 4.4.3, as axe-core-python 0.1.0 carries it.
"""

import json
import math
import re
import zipfile

import pytest
from counted_pitch import counted_hz
from desk import BROWSER, UNHEARD, Desk, heard, opened, views, violations, wait_in, whole_desk
from made_records import run_folder
from postgres import free_port
from processes import wait_for
from served import being_written, served, with_ticket
from shelf import PIPE, changed, progress

from optimizer.commands.cli import main
from optimizer.handoff.kinds import KINDS
from optimizer.project.loading import parse_project
from optimizer.records.bench_book import BenchBook
from optimizer.records.book_entry import Done
from optimizer.records.files import write_record
from optimizer.service.tokens import digest_of

sync_api = pytest.importorskip("playwright.sync_api", reason="the package playwright is not installed here")
pytest.importorskip("axe_core_python", reason="the package axe-core-python is not installed here")

expect = sync_api.expect
pytestmark = pytest.mark.skipif(BROWSER is None, reason="no Chromium is on the path here (Debian: chromium)")

DONE = {"project_text": PIPE, "finished": "2026-11-02T10:01:00+00:00"}
NOTES = "# a4_hz = 440\n# temperament = equal\nnote,pass_1_cents\nA4,14\nB4,9\nC#5,12\nD5,18\nE5,11\n"


@pytest.fixture(scope="module", autouse=True)
def patient():
    expect.set_options(timeout=60_000)


@pytest.fixture(scope="module")
def results(tmp_path_factory, record):
    """A results folder with a run of two layouts, and one that found nothing."""
    results = tmp_path_factory.mktemp("hall") / "results"
    other = {"tuning": record.objectives["tuning"] + 5.0, "stretch": record.objectives["stretch"] - 5.0}
    easier = record.model_copy(update={"id": "t00002", "objectives": record.objectives | other})
    run_folder(results / "pipe", [record, easier], **DONE)
    short = record.model_copy(update={"feasible": False, "margins_mm": {"web.g1-g2": -0.4}})
    run_folder(results / "nothing", [short], **DONE, broken={"web.g1-g2": 3})
    return results


@pytest.fixture(scope="module")
def service(results):
    """Its address."""
    with served(results) as client:
        yield f"http://127.0.0.1:{client.port}"


@pytest.fixture(scope="module")
def browser():
    with opened(sync_api) as browser:
        yield browser


@pytest.fixture(scope="module")
def desk(browser, service):
    """A desk that all share, with two layouts pinned and no loudspeaker."""
    desk = whole_desk(browser, service, "pipe", viewport={"width": 1280, "height": 900})
    desk.context.add_init_script(UNHEARD)
    return desk


@pytest.fixture(scope="module")
def only(desk):
    """The one page."""
    return desk.page()


@pytest.fixture
def at(only, service):
    """The page, gone to a place of it."""

    def gone(place):
        only.goto(f"{service}/{place}")
        return only

    return gone


def test_no_view_scrolls_sideways_on_a_phone_or_breaks_a_rule_of_accessibility(at, service):
    # By night of contrast alone, and not once more of the layout that stands beside another.
    for place, whole in views(service, "pipe").items():
        page = at(place)
        page.wait_for_selector(whole, state="attached")
        page.set_viewport_size({"width": 390, "height": 800})
        wait_in(page, "document.documentElement.scrollWidth <= 390")  # once scripts have drawn anew
        page.set_viewport_size({"width": 1280, "height": 900})
        assert violations(page) == [], place
        if place == "#/beside":
            continue
        by_day = page.evaluate("getComputedStyle(document.body).color")
        page.emulate_media(color_scheme="dark")
        assert page.evaluate("getComputedStyle(document.body).color") != by_day
        assert violations(page, ["color-contrast"]) == [], place
        page.emulate_media(color_scheme="light")


def test_a_text_is_put_right_queued_and_followed_until_its_search_has_ended(at, results, record):
    page = at("#/new")
    broken = changed("reed_degC = 25.0", "reed_degC = 250.0")
    page.fill("#project-text", broken)
    expect(page.locator("#project-problems li")).to_have_count(1)
    line = broken[: broken.index("reed_degC")].count("\n") + 1
    assert page.locator(".numbers .faulty").all_text_contents() == [str(line)]
    page.fill("#project-text", PIPE)
    page.fill("#limit-trials", "5")
    page.check("#anyway")
    page.get_by_role("button", name="Put it in the queue").click()
    page.wait_for_url(re.compile(r"#/run/"))
    state, trials = page.locator(".state"), page.locator("dt:text-is('Trials') + dd")
    expect(state).to_contain_text("waits for its turn")

    run = results / page.url.rpartition("/")[2]
    with_ticket(being_written(run), state="started", alive=True)
    write_record(run / "progress.json", progress(None, 2))
    expect(state).to_contain_text("searching")
    expect(trials).to_contain_text("2")
    page.reload()
    expect(state).to_contain_text("searching")
    write_record(run / "progress.json", progress(None, 3))
    expect(trials).to_contain_text("3")
    run_folder(run, [record], **DONE)
    write_record(run / "progress.json", progress("trials", 5))
    (run / "lock").unlink()
    with_ticket(run, state="done")
    expect(state).to_contain_text("ended")
    expect(page.locator("table.front tbody tr")).to_have_count(1)


def test_a_project_is_begun_by_answers_and_what_stood_there_before_comes_back(at):
    page = at("#/new")
    page.fill("#project-text", "# mine")
    page.get_by_role("link", name="Begin", exact=True).click()
    page.fill("#answer-name", "Moth Pipe")
    page.select_option("#answer-family", "six-hole")
    page.fill("#answer-lowest", "H4")
    page.keyboard.press("Enter")
    expect(page.locator("#answer-lowest-wrong")).to_contain_text("A note must read like C4")
    page.fill("#answer-lowest", "F4")
    page.keyboard.press("Enter")
    expect(page.locator(".verdict")).to_contain_text("Moth Pipe: nothing to mend")
    assert 'name = "Moth Pipe"' in page.input_value("#project-text")
    page.get_by_role("button", name="Bring back what stood here before").press("Enter")
    assert page.input_value("#project-text") == "# mine"


def test_an_instrument_that_is_made_is_shown_from_its_tables(at, record, tmp_path):
    holes = "".join(f"{hole.id},{hole.position_mm},{hole.diameter_mm},{hole.chimney_mm}\n" for hole in record.holes)
    (tmp_path / "holes.csv").write_text(f"hole,from_reed_mm,bore_end_mm,chimney_mm\n{holes}")
    bore = "".join(f"{place!r},{diameter!r}\n" for place, diameter in record.bore.points_mm)
    (tmp_path / "bore.csv").write_text(f"from_reed_mm,diameter_mm\n{bore}")
    page = at("#/new")
    page.fill("#project-text", PIPE)
    page.locator("summary", has_text="already").press("Enter")
    page.set_input_files("#present-holes", tmp_path / "holes.csv")
    page.set_input_files("#present-bore", tmp_path / "bore.csv")
    page.fill("#present-reed", str(record.reed.volume_cm3))
    page.get_by_role("button", name="Show it as it is").press("Enter")
    page.wait_for_url(re.compile(r"#/run/.*/layout/present"))
    expect(page.get_by_role("link", name="Prototype: measure and correct it")).to_be_visible()


def test_a_deleted_run_is_brought_back(at, results, record):
    run_folder(results / "lantern", [record], **DONE)
    page = at("")
    row = page.locator("tr[data-run='lantern']")
    row.get_by_role("button", name="Delete").press("Enter")
    expect(row).to_have_count(0)
    assert not (results / "lantern").exists()
    page.locator("summary", has_text="Deleted runs").press("Enter")
    page.get_by_role("button", name="Bring back lantern").press("Enter")
    expect(row).to_be_visible()
    assert (results / "lantern" / "run.json").is_file()


def test_what_was_in_the_way_of_a_search_that_found_nothing_stands_on_its_page(at):
    page = at("#/run/nothing")
    told = page.get_by_role("group", name="what was in the way")
    expect(told.get_by_role("listitem").first).to_have_text(
        "Most often in the way, of 3 trials: the limit web.g1-g2 in 3."
    )
    expect(told.get_by_role("listitem")).to_have_count(2)
    page = at("#/run/pipe")
    expect(page.get_by_role("region", name="recommended")).to_be_visible()
    expect(told).to_have_count(0)


def test_a_layout_is_picked_by_keyboard_heard_and_predicted(at, record):
    page = at("#/run/pipe")
    stop = page.locator(".panels.front a[tabindex='0']").first
    stop.wait_for()
    stop.focus()
    page.keyboard.press("ArrowRight")
    now = page.evaluate("document.activeElement.dataset.layout")
    page.keyboard.press("Enter")
    page.wait_for_url(re.compile(f"/layout/{now}$"))
    wait_in(page, "document.activeElement.tagName === 'H1'")  # the view is built once the address has changed
    assert page.evaluate("document.activeElement.textContent") == f"Layout {now}"
    page.locator("figure.solid").scroll_into_view_if_needed()
    page.locator("figure.solid canvas").wait_for()

    player = page.locator(".hear.plays")
    player.locator("select[name=note]").select_option(label="D5")
    player.get_by_role("button", name="Play").click()
    expect(player.get_by_role("button", name="Stop")).to_be_enabled()
    samples, rate = heard(page)
    wanted = next(note.frequency_hz for note in record.notes if note.written == "D5")
    found = counted_hz(samples[int(0.1 * rate) : int(2.1 * rate)], rate, wanted)
    assert 1200 * math.log2(found / wanted) == pytest.approx(0.0, abs=0.5)

    # At A4 = 442 Hz every wanted pitch is 1200 log2(442 / 440) = 7.85 cents higher, so each note that much lower.
    page.fill("#a4-hz", "442")
    page.get_by_role("button", name="Predict").click()
    told = page.locator("table.prediction tbody tr td:nth-child(5)")
    expect(told).to_have_count(5)
    for words in told.all_text_contents():
        assert float(words.replace("−", "-")) == pytest.approx(-1200 * math.log2(442 / 440), abs=0.1)


def test_a_fingering_that_was_found_goes_into_the_chart_of_a_new_run(at, record):
    page = at(f"#/run/pipe/layout/{record.id}")
    page.select_option("#fingered", "C#5")
    page.fill("#fingered-within", "50")
    page.get_by_role("button", name="Find fingerings").press("Enter")
    add = page.locator("table.ways-to-a-note").get_by_role("button").first
    touches = add.get_attribute("aria-label").removeprefix("Add ").removesuffix(" to the chart")
    add.press("Enter")
    page.wait_for_url(re.compile(r"#/new$"))
    chart = parse_project(page.input_value("#project-text"), "pipe.toml").notes
    assert [(each.written, each.touches) for each in chart if each.alternate] == [("C#5", touches)]


def test_a_layout_is_handed_over_as_an_archive_to_save(at, record, tmp_path):
    page = at(f"#/run/pipe/layout/{record.id}")
    kinds = page.get_by_role("group", name="Files").get_by_role("checkbox")
    expect(kinds).to_have_count(len(KINDS))
    for box in kinds.all():
        if box.is_enabled():
            box.set_checked(box.input_value() == "tables")
    page.get_by_role("button", name="Make the files").press("Enter")
    with page.expect_download() as waiting:
        page.get_by_role("link", name=f"Save pipe-{record.id}-handoff.zip").click()
    with zipfile.ZipFile(waiting.value.path()) as archive:
        assert archive.testzip() is None
        made = json.loads(archive.read(f"pipe-{record.id}-handoff/handoff.json"))
    assert made["layout"] == record.id
    assert {file["kind"] for file in made["files"]} == {"all", "tables"}


def test_a_hole_is_moved_by_keys_and_the_layout_kept(at, record):
    page = at(f"#/run/pipe/layout/{record.id}/by-hand")
    expect(page.locator(".verdict")).to_contain_text("all limits kept")
    hole = page.get_by_role("slider", name="hole g2")
    hole.focus()
    page.keyboard.press("Shift+ArrowRight")
    expect(hole).to_have_attribute("aria-valuenow", f"{record.holes[1].position_mm + 1:.2f}")
    expect(page.get_by_role("region", name="clearances")).to_contain_text("hand gap L3-R1: ✕ −")
    page.get_by_role("button", name="Keep as a layout").press("Enter")
    page.get_by_role("link", name="layout hand-1").click()
    expect(page.get_by_role("link", name=re.compile("Changed by hand from"))).to_be_visible()


def test_a_hole_is_dragged_by_a_finger_on_glass_and_the_page_stays_where_it_is(at, record):
    # Real touches: whether the browser takes one for scrolling, and the pointer away, no made-up pointer event tells.
    page = at(f"#/run/pipe/layout/{record.id}/by-hand")
    page.set_viewport_size({"width": 390, "height": 800})
    hole = page.get_by_role("slider", name="hole g2")
    hole.scroll_into_view_if_needed()
    glass = page.context.new_cdp_session(page)
    glass.send("Emulation.setTouchEmulationEnabled", {"enabled": True})
    box = hole.locator(".hole").bounding_box()
    where = "[scrollX, scrollY, document.querySelector('.by-hand-box').scrollLeft]"
    x, y, before = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2, page.evaluate(where)
    drawn = page.evaluate("document.querySelector('.by-hand').viewBox.baseVal.width - 24")
    for kind, by in [("touchStart", [0]), *(("touchMove", [far]) for far in range(1, 21)), ("touchEnd", [])]:
        points = [{"x": x - far, "y": y + far} for far in by]  # slantwise, as thumbs go
        glass.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
    glass.send("Emulation.setTouchEmulationEnabled", {"enabled": False})
    glass.detach()
    # Each of the twenty moves is rounded to 0.01 mm.
    wanted = record.holes[1].position_mm - 20.0 * record.bore.points_mm[-1][0] / drawn
    place = page.get_by_label("g2 position, mm")
    assert wait_for(lambda: float(place.input_value()) == pytest.approx(wanted, abs=0.1), 10), place.input_value()
    assert page.evaluate(where) == before
    page.set_viewport_size({"width": 1280, "height": 900})


def test_what_was_measured_of_a_prototype_becomes_an_entry_a_fit_and_a_correction(at, results, record, tmp_path):
    (tmp_path / "notes.csv").write_text(NOTES)
    page = at(f"#/run/pipe/layout/{record.id}/prototype")
    page.set_input_files("#files", tmp_path / "notes.csv")
    expect(page.get_by_role("heading", name=re.compile("Entry [0-9]+: tuner table"))).to_be_focused()
    entry = page.get_by_role("region", name="entry")
    expect(entry.locator("tbody tr").first).to_contain_text("+14.0")
    entry.get_by_role("button", name="What do these notes say?").press("Enter")
    expect(page.get_by_role("heading", name=re.compile("Entry [0-9]+: fit"))).to_be_focused()
    expect(entry).to_contain_text("What to measure next")
    assert violations(page) == []

    entry.get_by_role("button", name="What is to be changed?").press("Enter")
    expect(page.get_by_role("heading", name=re.compile("Entry [0-9]+: correction"))).to_be_focused()
    assert violations(page) == []
    entry.get_by_label("step 1 done").press("Space")
    entry.get_by_label(re.compile("step 1, measured afterwards")).fill("0.5")
    entry.get_by_role("button", name="Note what was done").press("Enter")
    expect(entry).to_contain_text("Noted: 1 step done.")
    book = BenchBook(results / "pipe")
    assert book.told(book.names()[-1]).done == [Done(number=1, amount=0.5)]


def test_a_report_shows_its_solid_and_offers_its_notes_without_a_network(browser, results):
    assert main(["report", str(results / "pipe")]) == 0
    desk = Desk(browser, f"file://{results}/pipe")
    page = desk.page("report.html")
    page.locator("section.shown figure.solid").scroll_into_view_if_needed()
    page.locator("section.shown figure.solid canvas").wait_for()
    assert page.locator("section.shown .hear").get_by_role("button", name="Play").is_enabled()

    # Tables are folded away on the screen, and open on paper.
    folds, high = page.locator("details.fold"), "document.documentElement.scrollHeight"
    folded, still = page.evaluate(high), page.locator("details.fold[open]")
    assert (folds.count() >= 8, still.count()) == (True, 0)
    page.evaluate("window.dispatchEvent(new Event('beforeprint'))")
    assert still.count() == folds.count()
    assert folded < 0.75 * page.evaluate(high)
    page.evaluate("window.dispatchEvent(new Event('afterprint'))")
    assert still.count() == 0
    page.locator("summary", has_text="Every figure of its notes").first.press("Enter")
    expect(page.locator("section.shown").get_by_role("heading", name="Notes")).to_be_visible()
    assert [url for url in desk.asked if not url.startswith(("file:", "data:"))] == []
    assert desk.complaints == []


def test_all_of_the_page_is_within_reach_of_the_tab_key_and_nothing_was_complained_of(at, desk):
    page = at("")
    page.reload()
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.tagName") == "H1"
    desk.check(refusals=2)


def test_a_token_is_asked_for_and_a_lost_connection_found_again(browser, tmp_path, record):
    run_folder(tmp_path / "results" / "pipe", [record], **DONE)
    given = {"port": free_port(), "token_digest": digest_of("tide-and-lantern")}
    desk = Desk(browser, f"http://127.0.0.1:{given['port']}", viewport={"width": 390, "height": 800})
    with served(tmp_path / "results", **given):
        page = desk.page("#/run/pipe")
        page.fill("#token", "lantern-and-tide")
        page.get_by_role("button", name="Go in").click()
        page.wait_for_selector(".refusal:has-text('That is not the token')")
        page.fill("#token", "tide-and-lantern")
        page.keyboard.press("Enter")
        expect(page.locator(".state")).to_contain_text("Practice Pipe")
    expect(page.locator(".line")).to_contain_text("The connection is lost")
    with served(tmp_path / "results", **given):
        expect(page.locator(".line")).to_have_text("Connected again.")
