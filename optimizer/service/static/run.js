// A run: its progress as it comes, its front to pick from, and what may be taken away.

import { announce, capital, cautions, el, link, refusal, say } from "./dom.js";
import { API, ask, cautionsOf, left, pathOf, remove } from "./api.js";
import { follow } from "./follow.js";
import { Front } from "./front.js";
import { pinButton } from "./pins.js";
import { actions } from "./run_actions.js";
import { AT_REST, counted, figure, size, spaced, span, stateGlyph, stateWords, UNITS, when } from "./words.js";

const QUIET_MS = 30_000;
const NO_FRONT = "0-0";

export function showRun(main, signal, id) {
  const view = new RunView(id, signal);
  main.append(
    el("p", { class: "trail" }, link("Shelf", "#/"), " / "),
    el("h1", {}, id),
    view.head,
    view.line,
    view.acts.place,
    view.figures,
    view.front.place,
    view.away,
  );
  view.begin();
}

class RunView {
  constructor(id, signal) {
    this.id = id;
    this.signal = signal;
    this.state = "";
    this.mark = null;
    this.told = 0;
    this.head = el("p", { class: "state" });
    this.line = el("p", { class: "line", role: "status" });
    this.bar = el("progress", { "aria-label": "share of the time or trials that is spent" });
    this.cells = new Map();
    this.best = el("dl", { class: "figures best" });
    this.figures = el("section", { "aria-label": "progress", class: "bench" }, this.bar, this.plain(), this.best);
    this.front = new Front(id, signal);
    this.away = el("section", { "aria-label": "take away" });
    this.acts = actions(id, () => this.glance(), async () => {
      const { removed } = await remove(pathOf("runs", id));
      location.hash = "#/";
      announce(`Run ${removed} is deleted; it can be brought back from the shelf.`);
    });
  }

  plain() {
    const names = ["Begun", "Searching for", "Time to go", "Trials", "Trials per second", "Workers", "Layouts", "Hypervolume"];
    const rows = names.map((name) => {
      this.cells.set(name, el("dd"));
      return el("div", {}, el("dt", {}, name), this.cells.get(name));
    });
    return el("dl", { class: "figures" }, rows);
  }

  begin() {
    this.takeAway();
    follow(this.id, this.signal, {
      moment: (moment) => this.show(moment.run, moment.progress, moment.front),
      gone: () => this.goneAway(),
      line: (words) => say(this.line, words),
    });
  }

  goneAway() {
    say(this.head, "This run was deleted. It can be brought back from the shelf.");
    this.acts.place.hidden = true;
  }

  async glance() {
    try {
      this.showState(await ask(pathOf("runs", this.id), { signal: this.signal }));
    } catch (error) {
      if (!left(error)) say(this.line, `${capital(error.message)}.`);
    }
  }

  show(run, progress, mark) {
    this.showState(run);
    this.showProgress(run, progress);
    if (mark !== this.mark) {
      this.mark = mark;
      if (mark !== NO_FRONT) this.front.refresh();
    }
  }

  showState(run) {
    const glyph = el("span", { class: `glyph ${run.state}`, "aria-hidden": "true" }, stateGlyph(run));
    const words = `${run.instrument || "A run that cannot be read"}: ${stateWords(run)}.${run.message ? ` ${run.message}` : ""}`;
    if (this.head.dataset.words !== words) {
      this.head.dataset.words = words;
      this.head.replaceChildren(glyph, " ", words);
    }
    this.acts.update(run);
    if (this.state && this.state !== run.state) {
      announce(`The run is now ${stateWords(run)}.`);
      if (AT_REST.includes(run.state)) this.takeAway();
    }
    this.state = run.state;
  }

  showProgress(run, progress) {
    const live = run.state === "running";
    const put = (name, words) => say(this.cells.get(name), words);
    put("Begun", when(run.started));
    put("Searching for", progress ? span(progress.elapsed_seconds) : "–");
    put("Time to go", live && progress ? span(progress.seconds_left) : "–");
    const done = progress ?? run;
    const failed = done.trials_failed ? `, ${done.trials_failed} failed` : "";
    put("Trials", `${done.trials_done}${run.trials_wanted >= done.trials_done ? ` of ${run.trials_wanted}` : ""}${failed}`);
    put("Trials per second", progress ? figure(progress.trials_per_second, 2) : "–");
    put("Workers", progress ? String(progress.workers) : "–");
    put("Layouts", String(progress?.layouts ?? run.layouts));
    put("Hypervolume", progress ? figure(progress.hypervolume, 4) : "–");
    this.showBest(progress?.best ?? run.best);
    this.showBar(run, progress, live);
    if (live && progress) this.tellNowAndThen(progress);
  }

  showBest(best) {
    for (const name of Object.keys(UNITS).filter((each) => each in best)) {
      const key = `best ${name}`;
      if (!this.cells.has(key)) {
        this.cells.set(key, el("dd"));
        this.best.append(el("div", {}, el("dt", {}, `Best ${spaced(name)}`), this.cells.get(key)));
      }
      say(this.cells.get(key), `${best[name].toFixed(2)} ${UNITS[name]}`);
    }
  }

  showBar(run, progress, live) {
    this.bar.hidden = !(live || ["starting", "waiting"].includes(run.state));
    const whole = progress ? progress.elapsed_seconds + (progress.seconds_left ?? 0) : 0;
    if (live && progress?.seconds_left !== null && whole > 0) this.bar.value = progress.elapsed_seconds / whole;
    else this.bar.removeAttribute("value");
  }

  /** For those who listen: how far it is, at most twice a minute. */
  tellNowAndThen(progress) {
    if (Date.now() - this.told < QUIET_MS) return;
    if (this.told) announce(`${counted(progress.trials_done, "trial")}, ${counted(progress.layouts, "layout")}.`);
    this.told = Date.now();
  }

  async takeAway() {
    const run = API + pathOf("runs", this.id);
    this.files = el("ul", { class: "plain" });
    const drawer = el("details", { class: "drawer" }, el("summary", {}, "Single files"), this.files);
    drawer.addEventListener("toggle", () => drawer.open && this.listFiles());
    const parts = [
      el("h2", {}, "Take away"),
      el(
        "ul",
        { class: "plain row" },
        el("li", {}, link("Everything as a ZIP archive", `${run}/archive`, { download: "" })),
        el("li", {}, link("Report, one page that needs no network", `${run}/report`, { target: "_blank", rel: "noopener" })),
        el("li", {}, link("Project file", `${run}/project`, { download: `${this.id}.toml` })),
        el("li", {}, pinButton(this.id, `the best of ${this.id}`), " its best-tuned layout"),
      ),
      drawer,
    ];
    try {
      parts.push(cautions("Before anything is printed, drilled or glued", (await cautionsOf()).making));
    } catch (error) {
      if (left(error)) return;
    }
    if (!this.signal.aborted) this.away.replaceChildren(...parts.filter(Boolean));
  }

  async listFiles() {
    try {
      const found = await ask(pathOf("runs", this.id, "files"), { signal: this.signal });
      this.files.replaceChildren(...found.map((each) => el("li", {}, link(each.name, API + pathOf("runs", this.id, "files", ...each.name.split("/")), { download: "" }), ` ${size(each.bytes)}`)));
    } catch (error) {
      if (!left(error)) this.files.replaceChildren(el("li", {}, refusal(error)));
    }
  }
}
