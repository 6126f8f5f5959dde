"""A layout's notes heard in a report: nothing by itself, pitches by counting what the browser would play."""

import importlib.util
import json

import numpy as np
import pytest
from counted_pitch import counted_hz, first_partial
from desk import BROWSER, UNHEARD, Desk, heard, opened, wait_in
from made_records import run_folder
from places import CONFIGS

from optimizer.commands.cli import main
from optimizer.records.files import read_record
from optimizer.records.layout import LayoutRecord

RATE = 22_050
BEGIN, LONG, STEP = 0.1, 2.0, 2.08
"""Of the player: its first tone's begin, a tone's length, and from one to the next [s]."""


def cents(one, other):
    return 1200.0 * np.log2(one / other)


@pytest.mark.skipif(BROWSER is None, reason="no Chromium is on the path here (Debian: chromium)")
@pytest.mark.skipif(importlib.util.find_spec("playwright") is None, reason="playwright is not installed")
def test_a_report_plays_what_is_asked_for(tmp_path):
    from playwright import sync_api

    read = read_record(CONFIGS / "prototypes" / "lantern-tenor.json", LayoutRecord)
    tenor = read.model_copy(update={"objectives": read.objectives | {"tuning": 1.0, "stretch": 90.0}})
    sharp = [each.model_copy(update={"frequency_hz": each.frequency_hz * 1.01}) for each in tenor.notes]
    other = tenor.model_copy(
        update={"id": "t000000999", "notes": sharp, "objectives": read.objectives | {"tuning": 3.0, "stretch": 10.0}}
    )
    assert main(["report", str(run_folder(tmp_path / "run", [tenor, other]))]) == 0
    with opened(sync_api) as browser:
        desk = Desk(browser, f"file://{tmp_path}/run", viewport={"width": 390, "height": 800})
        desk.context.add_init_script(UNHEARD)
        page = desk.page("report.html")
        player = page.locator("section.shown .hear")
        shown = json.loads(player.locator("script.sound").text_content())
        assert page.evaluate("window.made") is None, "something plays by itself"
        _alone(player, shown)
        _beats(player, shown)
        _in_turn(player, shown)
        _one_alone(player)
        assert page.evaluate("document.documentElement.scrollWidth") == 390
        assert [url for url in desk.asked if not url.startswith(("file:", "data:"))] == []
        assert desk.complaints == []


def _pressed(player, **chosen):
    for name, words in chosen.items():
        player.locator(f"select[name={name}]").select_option(label=words)
    player.get_by_role("button", name="Play").focus()
    player.page.keyboard.press("Enter")
    wait_in(player.page, "!!document.querySelector('section.shown button[name=stop]:enabled')")
    return heard(player.page)[0]


def _tone(samples, at):
    begin = int((BEGIN + at * STEP) * RATE)
    return samples[begin : begin + int(LONG * RATE)]


def _alone(player, shown):
    """The scale from its first note on, until it is stopped by the keyboard."""
    samples = _pressed(player)
    main = [each for each in shown["notes"] if not each["alternate"]]
    for at, each in enumerate(main[:2]):
        found = counted_hz(_tone(samples, at), RATE, each["frequency_hz"])
        assert cents(found, each["frequency_hz"]) == pytest.approx(0.0, abs=0.5)
    assert np.max(np.abs(samples)) < 1.0
    assert np.max(np.abs(samples[: int(BEGIN * RATE)])) == 0.0


def _beats(player, shown):
    """Two tones that differ by d beat d times a second: over a tone's length their levels' sum turns so far."""
    off = max(shown["notes"], key=lambda each: 0.0 if each["alternate"] else abs(each["cents"]))
    samples = _tone(_pressed(player, track="both at once, beating where they differ", note=off["written"]), 0)
    level = np.abs(first_partial(samples, RATE, off["target_hz"])) / np.hanning(len(samples)).clip(1e-3)
    at = np.arange(len(samples)) / RATE
    wanted = np.abs(np.cos(np.pi * (off["frequency_hz"] - off["target_hz"]) * at))
    middle = slice(len(at) // 5, -len(at) // 5)
    assert level[middle] / level[middle].max() == pytest.approx(wanted[middle] / wanted[middle].max(), abs=0.02)


def _in_turn(player, shown):
    then = player.locator("select[name=then] option").nth(1).text_content()
    samples = _pressed(player, track="as predicted", note="A4", then=then)
    one, two = (counted_hz(_tone(samples, at), RATE, 293.0) for at in (0, 1))
    sharp = 17.226 if then == "t000000999" else -17.226  # 1 % is 17.226 cents
    assert cents(two, one) == pytest.approx(sharp, abs=0.5)


def _one_alone(player):
    """Asked twice before the other layout was there, it plays once."""
    begun = "made.length - (window.hushed ?? 0)"
    wait_in(player.page, "!!document.querySelector('section.shown button[name=stop]:disabled')")
    assert player.page.evaluate(begun) == 0
    player.get_by_role("button", name="Play").evaluate("button => { button.click(); button.click(); }")
    wait_in(player.page, "!!document.querySelector('section.shown button[name=stop]:enabled')")
    assert player.page.evaluate(begun) == 1
