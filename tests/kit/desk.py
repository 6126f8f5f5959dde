"""The service as a process of its own, and a browser at its page that notes what is asked for and complained of."""

import json
import os
import re
import shutil
import signal
import subprocess
import urllib.error
import urllib.request
from contextlib import contextmanager
from importlib import resources
from urllib.parse import urlsplit

import numpy as np
from places import CONFIGS
from postgres import free_port
from processes import COMMAND, wait_for

BROWSERS = "chromium-headless-shell", "chromium", "chromium-browser", "google-chrome"
BROWSER = next(filter(None, map(shutil.which, BROWSERS)), None)
"""A Chromium, where there is one; without windows it takes a quarter less processor time."""

PATIENT_MS = 300_000


@contextmanager
def serving(folder, port=None, **changes):
    """Address of a service of its own with a results folder, and changes to its environment."""
    port = port or free_port()
    process = subprocess.Popen(
        [COMMAND, "serve", "--results", folder / "results", "--projects", CONFIGS, "--port", str(port)],
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True, env=os.environ | changes,
    )  # fmt: skip
    address = f"http://127.0.0.1:{port}"
    try:
        assert wait_for(lambda: answers(address) or process.poll() is not None, 120), "the service did not begin"
        assert process.poll() is None, "the service ended at once"
        yield address
    finally:
        process.send_signal(signal.SIGTERM)
        process.wait(timeout=60)


def answers(address):
    """Whether a service is there."""
    try:
        return bool(asked(address, ""))
    except urllib.error.HTTPError:
        return True
    except OSError:
        return False


def asked(address, path):
    """What the API answers, read."""
    with urllib.request.urlopen(f"{address}/api/v1/{path}", timeout=60) as answer:
        return json.load(answer)


def layouts(service, run):
    """The front's layouts, best in tune first."""
    found = asked(service, f"runs/{run}/front")["layouts"]
    return [each["id"] for each in sorted(found, key=lambda each: each["objectives"]["tuning"])]


def posted(address, path, body):
    """What the API answers to a POST, read."""
    sent = None if body is None else json.dumps(body).encode()
    request = urllib.request.Request(
        f"{address}/api/v1/{path}", sent, {"content-type": "application/json"}, method="POST"
    )
    with urllib.request.urlopen(request, timeout=60) as answer:
        return json.load(answer)


def studied(page):
    """The layout's view with all three studies of it shown; what the service answered, by the last word of its path."""
    answers = {}
    for path, words, shown in (
        ("tolerance", "Work out the bands", "table.bands"),
        ("prices", "Price the limits", ".outcome:has-text('solved for tuning alone')"),
        ("reliefs", "Look for ways out", ".outcome:has-text('nothing changed')"),
    ):
        with page.expect_response(lambda answer, path=path: answer.url.endswith(f"/{path}")) as waiting:
            page.get_by_role("button", name=words).focus()
            page.keyboard.press("Enter")
            page.wait_for_selector(shown, timeout=PATIENT_MS)
        answers[path] = waiting.value.json()
    return answers


@contextmanager
def opened(sync_api):
    """A browser, by Playwright's plain interface."""
    with sync_api.sync_playwright() as play:
        browser = play.chromium.launch(executable_path=BROWSER, args=["--no-sandbox"])
        yield browser
        browser.close()


UNHEARD = """
window.AudioContext = class extends OfflineAudioContext {
  constructor() { super(1, 22050 * 5, 22050); window.made = [...(window.made ?? []), this]; }
  close() { window.hushed = (window.hushed ?? 0) + 1; return Promise.resolve(); }
};
"""
"""In place of a browser's sound: what would be heard is kept, for `heard` to work out."""


def heard(page):
    """Five seconds of samples of what the page was last asked to play, and their rate."""
    whole = "Array.from(done.getChannelData(0), each => Math.round(1e6 * each))"
    return 1e-6 * np.array(page.evaluate(f"made.at(-1).startRendering().then(done => {whole})")), 22_050


class Desk:
    """A browser's context that notes what its pages ask for and complain of."""

    def __init__(self, browser, address, **look):
        self.address = address
        self.context = browser.new_context(bypass_csp=False, **look)
        self.asked, self.complaints = [], []
        self.context.on("request", lambda request: self.asked.append(request.url))
        self.context.on("console", self._heard)
        self.context.on("weberror", lambda error: self.complaints.append(str(error.error)))

    def _heard(self, message):
        slow = "GL Driver Message (OpenGL, Performance" in message.text  # where no graphics card draws
        if message.type in ("error", "warning") and not slow:
            self.complaints.append(message.text)

    def page(self, place=""):
        page = self.context.new_page()
        page.set_default_timeout(60_000)
        page.goto(f"{self.address}/{place}")
        return page

    def check(self, refusals=0):
        """Nothing left this machine and nothing was complained of, but for as many refusals as were provoked."""
        own = urlsplit(self.address).netloc
        away = [
            url for url in self.asked if urlsplit(url).scheme not in ("data", "blob") and urlsplit(url).netloc != own
        ]
        assert away == []
        others = [said for said in self.complaints if not re.search(r"status of 4(22|01|03|09)", said)]
        assert others == []
        assert len(self.complaints) <= refusals


def whole_desk(browser, service, run, **look):
    """A desk with two layouts pinned."""
    desk = Desk(browser, service, **look)
    names = layouts(service, run)
    pinned = json.dumps([f"{run}/{names[0]}", f"{run}/{names[-1]}"])
    keep = f"localStorage.setItem('holewright.pins', {json.dumps(pinned)})"
    desk.context.add_init_script(f"if (location.protocol === 'http:') {keep}")
    return desk


def views(service, run):
    """Every view by its address, and what stands there once it is whole."""
    one = layouts(service, run)[0]
    return {
        "#/": f"tr[data-run='{run}']",
        "#/begin": "#answer-stock",
        "#/new": "#hand option >> nth=1",
        f"#/run/{run}": "table.front tbody tr",
        f"#/run/{run}/layout/{one}": "a.download",
        "#/beside": ".of-2 section.layout >> nth=1",
        "#/low": "#hand option >> nth=1",
    }


def wait_in(page, expression):
    """Wait until an expression of the page's script is true. Playwright's own `wait_for_function` asks again from
    within the page, which its content security policy forbids: only what is true at once passes there."""
    assert wait_for(lambda: page.evaluate(expression)), expression


def violations(page, rules=None):
    """What axe-core finds in the page as it stands, by all its rules or a few."""
    if not page.evaluate("'axe' in window"):
        axe = resources.files("axe_core_python").joinpath("axe.min.js")
        page.evaluate(axe.read_text(encoding="utf-8"))
    found = page.evaluate('rules => axe.run({resultTypes: ["violations"], ...(rules ? {runOnly: rules} : {})})', rules)
    assert found["passes"], "axe-core looked at nothing"
    return [(each["impact"], each["id"], each["nodes"][0]["html"][:200]) for each in found["violations"]]
