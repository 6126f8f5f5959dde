"""The view of a prototype in a real browser: files from the bench, a wrong note put right, a fit, a list, its history.

What is asked of accessibility is axe-core's rule set (WCAG 2 A and AA, and its best practices), run by its own script.
"""

import base64
import json
import re
import urllib.request

import numpy as np
import pytest
from desk import BROWSER, Desk, asked, opened, posted, serving, until, violations
from made_records import run_folder
from shelf import PIPE
from takes import Prototype, kept

sync_api = pytest.importorskip("playwright.sync_api", reason="the package playwright is not installed here")
pytest.importorskip("axe_core_python", reason="the package axe-core-python is not installed here")

expect = sync_api.expect
expect.set_options(timeout=60_000)
pytestmark = pytest.mark.skipif(BROWSER is None, reason="no Chromium is on the path here (Debian: chromium)")

LOOKS = {
    "desk by day": {"viewport": {"width": 1280, "height": 900}},
    "phone by night": {"color_scheme": "dark", "viewport": {"width": 390, "height": 800}},
}
NOTES = "# a4_hz = 440\n# temperament = equal\nnote,pass_1_cents\nA4,14\nB4,9\nC#5,12\nD5,18\nE5,11\n"
DROP = """([words, name]) => {
  const data = new DataTransfer();
  data.items.add(new File([Uint8Array.from(atob(words), (each) => each.charCodeAt(0))], name));
  const drop = new DragEvent("drop", { dataTransfer: data, bubbles: true, cancelable: true });
  document.querySelector(".drop").dispatchEvent(drop);
}"""


@pytest.fixture(scope="module")
def place(tmp_path_factory, record):
    """Address of a service with a run of the practice pipe; its view; a take of its notes, and files that are none; its
    layout."""
    folder = tmp_path_factory.mktemp("served")
    run_folder(folder / "results" / "pipe", [record], project_text=PIPE, finished="2026-11-02T10:01:00+00:00")
    rng = np.random.default_rng(4)
    prototype = Prototype(record, np.random.default_rng(3), 4.0, 9.0)
    kept(folder / "take-1.flac", prototype.played(prototype.lines, rng))
    (folder / "notes.csv").write_text(NOTES)
    (folder / "silence.wav").write_bytes(b"")
    with serving(folder) as address:
        yield address, f"#/run/pipe/layout/{record.id}/prototype", folder, record


@pytest.fixture(scope="module")
def browser():
    with opened(sync_api) as browser:
        yield browser


@pytest.fixture(params=LOOKS)
def desk(request, browser, place):
    made = Desk(browser, place[0], **LOOKS[request.param])
    yield made
    made.context.close()


def book(place):
    return asked(place[0], "runs/pipe/book")


def sent(place, name, text, after):
    """The entry of a file that somebody else sent."""
    path = f"runs/pipe/layouts/{place[3].id}/book?name={name}&after={after}"
    request = urllib.request.Request(f"{place[0]}/api/v1/{path}", text.encode(), method="POST")
    with urllib.request.urlopen(request, timeout=60) as answer:
        return json.load(answer)["id"]


def narrow(page):
    """Whether nothing makes the page wider than its window."""
    return page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")


def test_a_prototype_goes_from_the_bench_into_tune_on_the_page(desk, place):
    _, view, folder, _ = place
    page = desk.page(view)
    expect(page.get_by_role("heading", level=1)).to_contain_text("Prototype of layout")
    with page.expect_download() as sheet:
        page.get_by_role("link", name="Table of its notes to fill in").click()
    assert "note,register,fingering,pass_1_cents" in sheet.value.path().read_text()

    page.set_input_files("#files", [folder / "silence.wav", folder / "notes.csv"])
    expect(page.get_by_role("log")).to_contain_text("the recorder has kept nothing")
    expect(page.get_by_role("heading", name=re.compile("Entry [0-9]+: tuner table"))).to_be_focused()
    entry = page.get_by_role("region", name="entry")
    expect(entry.locator("tbody tr").first).to_contain_text("+14.0")

    entry.get_by_role("button", name="What do these notes say?").press("Enter")
    expect(page.get_by_role("heading", name=re.compile("Entry [0-9]+: fit"))).to_be_focused()
    expect(entry.locator("table.bands .strip")).to_have_count(10)
    expect(entry).to_contain_text("What to measure next")
    assert violations(page) == []
    assert narrow(page)

    entry.get_by_role("button", name="What is to be changed?").press("Enter")
    expect(page.get_by_role("heading", name=re.compile("Entry [0-9]+: correction"))).to_be_focused()
    drawn = entry.locator(".picture img")
    expect(drawn).to_be_visible()
    until(page, "document.querySelector('.picture img').naturalWidth > 0")
    assert violations(page) == []
    assert narrow(page)
    first = entry.get_by_label("step 1 done")
    first.press("Space")
    entry.get_by_label(re.compile("step 1, measured afterwards")).fill("0.5")
    entry.get_by_role("button", name="Note what was done").press("Enter")
    expect(entry).to_contain_text("Noted: 1 step done.")
    last = book(place)[-1]
    assert last["done"] == [{"number": 1, "amount": 0.5}]

    page.select_option("#stage", last["id"])
    page.set_input_files("#files", folder / "notes.csv")
    expect(page.get_by_role("heading", name=re.compile("Entry [0-9]+: tuner table"))).to_be_focused()
    assert book(place)[-1]["after"] == last["id"]
    notes = book(place)[-1]["id"]

    # Another window, or a command: what it writes shows, and counts.
    hole = place[3].holes[0]
    gauged = sent(
        place,
        "gauges.csv",
        f"what,where,reading_mm,tool\nhole,{hole.id},{hole.diameter_mm + 0.1:.2f},cone\n",
        last["id"],
    )
    many = len(book(place))
    expect(page.get_by_role("region", name="bench book").locator("tbody tr")).to_have_count(many)
    page.get_by_role("button", name=f"Show entry {notes}", exact=True).press("Enter")
    expect(entry.get_by_label(f"with the sizes of entry {gauged}")).to_be_checked()
    assert violations(page) == []
    page.get_by_role("button", name=f"Take out entry {last['id']}", exact=True).press("Enter")
    expect(page.get_by_role("region", name="bench book").get_by_role("alert")).to_contain_text(
        f"came from entry {last['id']}"
    )
    page.get_by_role("button", name=f"Show entry {last['id']}", exact=True).press("Enter")
    expect(entry).to_contain_text("Noted: 1 step done.")
    posted(place[0], f"runs/pipe/book/{last['id']}/done", {"steps": []})
    entry.get_by_role("button", name="Show it as it is now").press("Enter")
    expect(entry).to_contain_text("Noted: 0 steps done.")
    desk.check(refusals=2)


def test_a_wrong_note_is_put_right_by_keyboard(desk, place):
    _, view, folder, _ = place
    page = desk.page(view)
    expect(page.get_by_role("region", name="bench book")).not_to_be_empty()
    page.wait_for_load_state("networkidle")
    words = base64.b64encode((folder / "take-1.flac").read_bytes()).decode()
    page.evaluate(DROP, [words, "take-1.flac"])
    entry = page.get_by_role("region", name="entry")
    expect(page.get_by_role("heading", name=re.compile("Entry [0-9]+: recording"))).to_be_focused()
    until(page, "document.querySelector('.picture img').naturalWidth > 0")
    notes = entry.locator("table").first.locator("tbody tr")
    expect(notes).to_have_count(5)
    assert violations(page) == []
    assert narrow(page)
    choice = entry.locator("table.tones select").nth(1)
    was = choice.input_value()
    send = entry.get_by_role("button", name="Put these notes right")
    expect(send).to_be_disabled()
    choice.select_option("out")
    send.press("Enter")
    expect(notes).to_have_count(4)
    expect(entry.locator("table.tones tbody tr").nth(1)).to_contain_text("left out by hand")
    entry.locator("table.tones select").nth(1).select_option(was)
    entry.get_by_role("button", name="Put these notes right").press("Enter")
    expect(notes).to_have_count(5)
    many = len(book(place))
    page.get_by_role("button", name=re.compile("Take out entry")).last.press("Enter")
    expect(page.get_by_role("button", name=re.compile("Take out entry"))).to_have_count(many - 1)
    desk.check()


def test_an_instrument_that_is_made_is_shown_from_its_tables(desk, place, record, tmp_path):
    holes = "".join(f"{h.id},{h.position_mm},{h.diameter_mm},{h.chimney_mm}\n" for h in record.holes)
    (tmp_path / "holes.csv").write_text(f"hole,from_reed_mm,bore_end_mm,chimney_mm\n{holes}")
    (tmp_path / "bore.csv").write_text(
        "from_reed_mm,diameter_mm\n" + "".join(f"{s!r},{d!r}\n" for s, d in record.bore.points_mm)
    )
    page = desk.page("#/new")
    page.fill("#project-text", PIPE)
    page.locator("summary", has_text="already").press("Enter")
    show = page.get_by_role("button", name="Show it as it is")
    show.press("Enter")
    expect(page.get_by_role("alert")).to_contain_text("Choose the table of its holes")
    page.set_input_files("#present-holes", tmp_path / "holes.csv")
    page.set_input_files("#present-bore", tmp_path / "bore.csv")
    page.fill("#present-reed", str(record.reed.volume_cm3))
    assert violations(page) == []
    show.press("Enter")
    page.wait_for_url(re.compile(r"#/run/.*/layout/present"))
    page.get_by_role("link", name="Prototype: measure and correct it").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Prototype of layout present")
    desk.check()
