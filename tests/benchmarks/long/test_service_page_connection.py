"""The page when its service asks for a token, and when it goes away: in a real browser."""

import re

import pytest
from desk import BROWSER, Desk, opened, posted, serving, violations
from places import CONFIGS
from postgres import free_port

sync_api = pytest.importorskip("playwright.sync_api", reason="the package playwright is not installed here")
pytest.importorskip("axe_core_python", reason="the package axe-core-python is not installed here")

expect = sync_api.expect
expect.set_options(timeout=20_000)
pytestmark = pytest.mark.skipif(BROWSER is None, reason="no Chromium is on the path here (Debian: chromium)")

DEMO = "meadow-pipe.toml"


@pytest.fixture(scope="module")
def browser():
    """One browser for both."""
    with opened(sync_api) as browser:
        yield browser


def test_the_token_is_asked_for_and_one_goes_on_where_one_was(browser, tmp_path):
    with serving(tmp_path, HOLEWRIGHT_TOKEN="tide-and-lantern") as address:
        desk = Desk(browser, address, viewport={"width": 390, "height": 800})
        page = desk.page("#/new")
        page.fill("#token", "lantern-and-tide")
        page.get_by_role("button", name="Go in").click()
        page.wait_for_selector(".refusal:has-text('That is not the token')")
        assert violations(page) == []
        page.fill("#token", "tide-and-lantern")
        page.keyboard.press("Enter")
        page.wait_for_selector("#offered option >> nth=1", state="attached")
        assert page.evaluate("document.activeElement.textContent") == "New run"
        desk.check(refusals=5)
        desk.context.close()


def test_a_lost_connection_is_told_and_found_again(browser, tmp_path):
    port = free_port()
    desk = Desk(browser, f"http://127.0.0.1:{port}", viewport={"width": 1280, "height": 900})
    with serving(tmp_path, port) as address:
        text = (CONFIGS / DEMO).read_text(encoding="utf-8")
        run = posted(address, "runs", {"project": text, "trials": 1, "anyway": True})["id"]
        posted(address, f"runs/{run}/cancel", None)
        page = desk.page(f"#/run/{run}")
        expect(page.locator(".state")).to_contain_text("Meadow Pipe")
    expect(page.locator(".line")).to_contain_text("The connection is lost")
    with serving(tmp_path, port):
        expect(page.locator(".line")).to_have_text("Connected again.")
        page.get_by_role("button", name="Delete").click()
        page.wait_for_url(re.compile("#/$"))
    desk.context.close()
