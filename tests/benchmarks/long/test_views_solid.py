"""The solid in a report, in a real browser."""

import importlib.util

import pytest
from desk import BROWSER, Desk, opened
from made_records import run_folder
from places import CONFIGS

from optimizer.commands.cli import main
from optimizer.records.files import read_record
from optimizer.records.layout import LayoutRecord


@pytest.fixture(scope="module")
def tenor():
    return read_record(CONFIGS / "prototypes" / "lantern-tenor.json", LayoutRecord)


@pytest.mark.skipif(BROWSER is None, reason="no Chromium is on the path here (Debian: chromium)")
@pytest.mark.skipif(importlib.util.find_spec("playwright") is None, reason="playwright is not installed")
@pytest.mark.parametrize("width", [1200, 390])
def test_a_report_shows_the_solid_where_scripts_may_run_and_drawings_elsewhere(tenor, tmp_path, width):
    from playwright import sync_api

    assert main(["report", str(run_folder(tmp_path / "run", [tenor]))]) == 0
    with opened(sync_api) as browser:
        for scripts in (True, False):
            desk = Desk(
                browser, f"file://{tmp_path}/run", java_script_enabled=scripts, viewport={"width": width, "height": 800}
            )
            figure = desk.page("report.html").locator("figure.solid")
            figure.scroll_into_view_if_needed()
            if scripts:
                _cut_open(figure)
            assert figure.locator("canvas").count() == int(scripts)
            assert figure.locator(".views").is_visible() is not scripts
            assert figure.locator("svg").count() == 3
            assert [url for url in desk.asked if not url.startswith(("file:", "data:"))] == []
            assert desk.complaints == []


def _cut_open(figure):
    """Cutting a solid open shows its section, in a colour that nothing has while it is closed."""
    canvas = figure.locator("canvas")
    canvas.wait_for()
    closed = canvas.screenshot()
    figure.get_by_label("cut open along the bore").check()
    figure.page.wait_for_timeout(300)
    open_ = canvas.screenshot()
    assert open_ != closed
    canvas.focus()
    figure.page.keyboard.press("ArrowUp")
    figure.page.wait_for_timeout(300)
    assert canvas.screenshot() != open_
