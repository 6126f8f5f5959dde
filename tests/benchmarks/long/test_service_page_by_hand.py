"""The view of a layout by hand in a real browser: dragged, typed, by keys, gone back, settled and kept.

What is asked of accessibility is axe-core's rule set (WCAG 2 A and AA, and its best practices), run by its own script.
"""

import re

import pytest
from desk import BROWSER, Desk, asked, opened, serving, violations
from made_records import run_folder
from shelf import PIPE

sync_api = pytest.importorskip("playwright.sync_api", reason="the package playwright is not installed here")
pytest.importorskip("axe_core_python", reason="the package axe-core-python is not installed here")

expect = sync_api.expect
pytestmark = pytest.mark.skipif(BROWSER is None, reason="no Chromium is on the path here (Debian: chromium)")
PATIENT_MS = 60_000


def place_of(page, hole):
    return float(page.get_by_label(f"{hole} position, mm").input_value())


def dragged(page, thing, by):
    box = thing.bounding_box()
    at = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(*at)
    page.mouse.down()
    page.mouse.move(at[0] + by / 2, at[1])
    page.mouse.move(at[0] + by, at[1])
    page.mouse.up()


def test_holes_are_moved_by_hand_and_a_layout_of_them_is_kept(tmp_path, record):
    expect.set_options(timeout=PATIENT_MS)
    run_folder(tmp_path / "results" / "pipe", [record], project_text=PIPE, finished="2026-11-02T10:01:00+00:00")
    with serving(tmp_path) as address, opened(sync_api) as browser:
        desk = Desk(browser, address, viewport={"width": 1280, "height": 900})
        page = desk.page(f"#/run/pipe/layout/{record.id}/by-hand")
        verdict, notes = page.locator(".verdict"), page.get_by_role("region", name="notes")
        expect(verdict).to_contain_text("all limits kept")
        assert place_of(page, "g2") == record.holes[1].position_mm
        expect(notes.get_by_role("listitem")).to_have_count(5)
        before = notes.inner_text()

        hole = page.get_by_role("slider", name="hole g2")
        drawn = page.evaluate("document.querySelector('.by-hand').viewBox.baseVal.width - 24")
        scale = drawn / record.bore.points_mm[-1][0]
        dragged(page, hole.locator(".hole"), 12)
        assert place_of(page, "g2") == pytest.approx(record.holes[1].position_mm + 12 / scale, abs=0.011)
        expect(notes).not_to_have_text(before)
        dragged(page, page.locator(".widen circle"), 10)
        assert float(page.get_by_label("g2 width, mm").input_value()) == round(record.holes[1].diameter_mm + 0.5, 2)

        page.get_by_label("g3 width, mm").fill("20")
        page.keyboard.press("Enter")
        expect(page.get_by_label("g3 width, mm")).to_have_value("10.00")  # the end of its range
        expect(page.get_by_role("region", name="what binds")).to_contain_text("holes.g3.diameter_mm is at its greatest")
        page.get_by_role("button", name="Undo").click()
        expect(page.get_by_label("g3 width, mm")).to_have_value(f"{record.holes[2].diameter_mm:.2f}")

        was = place_of(page, "g2")
        hole.focus()
        page.keyboard.press("Shift+ArrowRight")
        expect(hole).to_have_attribute("aria-valuenow", f"{was + 1:.2f}")
        expect(page.get_by_role("region", name="clearances")).to_contain_text("hand gap L3-R1: ✕ −")
        expect(hole).to_have_class(re.compile("broken"))  # its finger is L3
        page.keyboard.press("Control+z")
        expect(hole).to_have_attribute("aria-valuenow", f"{was:.2f}")
        page.keyboard.press("Control+y")
        expect(page.locator("#said")).to_contain_text("Tuning")
        expect(page.get_by_text("catching up…")).to_be_hidden()
        assert violations(page) == []

        refused = {"status": 422, "content_type": "application/problem+json", "body": '{"detail": "not this one"}'}
        page.route("**/moved", lambda route: route.fulfill(**refused), times=1)
        became = page.get_by_role("status", name="what became of it")
        hole.press("ArrowRight")
        expect(became).to_contain_text("Not this one")
        hole.press("ArrowLeft")
        expect(became).to_be_empty()  # the refusal was of an earlier move

        page.route("**/settled", lambda _: None)  # which never ends by itself
        page.get_by_role("button", name="Settle the others").press("Enter")
        page.get_by_label("g3 stays when the others settle").check()
        expect(became).to_contain_text("Settling was stopped")
        page.get_by_role("button", name="Settle the others").press("Enter")
        with page.expect_request("**/moved"):  # an answer that was under way when settling began has been dropped
            page.get_by_role("button", name="Stop").press("Enter")
        page.unroute("**/settled")
        page.get_by_label("g3 stays when the others settle").uncheck()
        page.get_by_role("button", name="Settle the others").press("Enter")
        expect(became).to_contain_text("settled around 1 touched thing")
        assert place_of(page, "g2") == pytest.approx(was + 1, abs=0.005)
        page.get_by_role("button", name="Keep as a layout").press("Enter")
        expect(page.get_by_role("link", name="layout hand-1")).to_be_visible()
        made = asked(address, "runs/pipe/by-hand")
        assert [each["name"] for each in made[0]["parentage"]["moved"]] == ["position_mm.g2", "diameter_mm.g2"]

        page.set_viewport_size({"width": 390, "height": 800})
        page.emulate_media(color_scheme="dark")
        assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
        wider = "document.querySelector('.by-hand').clientWidth > document.querySelector('.by-hand-box').clientWidth"
        page.get_by_label("how large the body is drawn").select_option("4 ×")
        assert page.evaluate(wider)
        page.get_by_label("how large the body is drawn").select_option("whole")
        assert not page.evaluate(wider)
        assert violations(page, ["color-contrast"]) == []
        page.get_by_role("link", name="layout hand-1").click()
        expect(page.get_by_role("link", name=re.compile("Changed by hand from"))).to_be_visible()
        desk.check(refusals=1)
