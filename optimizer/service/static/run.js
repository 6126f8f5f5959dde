// A run: its progress as it comes, its front to pick from, and what may be taken away.

import { announce, capital, cautions, el, link, refusal, say } from "./dom.js";
import { aboutService, API, ask, left, pathOf, Refused, remove } from "./api.js";
import { keptByHand } from "./byhand_kept.js";
import { follow } from "./follow.js";
import { Front } from "./front.js";
import { pinButton } from "./pins.js";
import { actions } from "./run_actions.js";
import { atRest, counted, figure, size, spaced, span, stateGlyph, stateWords, UNITS, when, worth } from "./words.js";

/** @import { ProgressRecord, Removed, ResultFile, RunSummary, State } from "./shapes.js" */

const QUIET_MS = 30_000;

/**
 * @param {HTMLElement} main
 * @param {AbortSignal} signal
 * @param {string} id
 */
export function showRun(main, signal, id) {
  const view = new RunView(id, signal);
  main.append(
    el("p", { class: "trail" }, link("Shelf", "#/"), " / "),
    el("h1", {}, id),
    view.head,
    view.line,
    view.acts.place,
    view.figures,
    view.front.recommended.place,
    view.front.place,
    keptByHand(id, signal),
    view.away,
  );
  view.begin();
}

class RunView {
  /**
   * @param {string} id
   * @param {AbortSignal} signal
   */
  constructor(id, signal) {
    this.id = id;
    this.signal = signal;
    /** @type {State | null} */
    this.state = null;
    /** @type {string | null} */
    this.mark = null;
    this.told = 0;
    this.head = el("p", { class: "state" });
    this.line = el("p", { class: "line", role: "status" });
    this.bar = el("progress", { "aria-label": "share of the time or trials that is spent" });
    /** @type {Map<string, HTMLElement>} */
    this.cells = new Map();
    this.best = el("dl", { class: "figures best" });
    this.figures = el("section", { "aria-label": "progress", class: "bench" }, this.bar, this.plain(), this.best);
    this.front = new Front(id, signal);
    this.away = el("section", { "aria-label": "take away" });
    this.acts = actions(id, () => this.glance(), async () => {
      /** @type {Removed} */
      const { removed } = await remove(pathOf("runs", id));
      location.hash = "#/";
      announce(`Run ${removed} is deleted; it can be brought back from the shelf.`);
    });
  }

  plain() {
    const names = ["Begun", "Searching for", "Time to go", "Trials", "Trials per second", "Workers", "Layouts", "Hypervolume"];
    return el("dl", { class: "figures" }, names.map((name) => this.cell(name, name)));
  }

  /**
   * A figure with its name, to be filled in.
   * @param {string} key
   * @param {string} name
   */
  cell(key, name) {
    const made = el("dd");
    this.cells.set(key, made);
    return el("div", {}, el("dt", {}, name), made);
  }

  /**
   * @param {string} key
   * @param {string} words
   */
  put(key, words) {
    const cell = this.cells.get(key);
    if (cell) say(cell, words);
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
      if (error instanceof Refused) say(this.line, `${capital(error.message)}.`);
      else if (!left(error)) throw error;
    }
  }

  /**
   * @param {RunSummary} run
   * @param {ProgressRecord | null} progress
   * @param {string | null} mark
   */
  show(run, progress, mark) {
    this.showState(run);
    this.showProgress(run, progress);
    if (mark !== this.mark) {
      this.mark = mark;
      if (mark !== null) this.front.refresh();
    }
  }

  /** @param {RunSummary} run */
  showState(run) {
    const glyph = el("span", { class: `glyph ${run.state}`, "aria-hidden": "true" }, stateGlyph(run));
    const words = `${run.instrument || "A run that cannot be read"}: ${stateWords(run)}.${run.message ? ` ${run.message}` : ""}`;
    if (this.head.dataset.words !== words) {
      this.head.dataset.words = words;
      this.head.replaceChildren(glyph, " ", words);
    }
    this.acts.update(run);
    say(this.front.same, run.same && `${capital(run.same)}.`);
    this.front.tellInTheWay(run.in_the_way ?? []);
    if (this.state && this.state !== run.state) {
      announce(`The run is now ${stateWords(run)}.`);
      if (atRest(run)) this.takeAway();
    }
    this.state = run.state;
  }

  /**
   * @param {RunSummary} run
   * @param {ProgressRecord | null} progress
   */
  showProgress(run, progress) {
    const live = run.state === "running";
    this.put("Begun", when(run.started));
    this.put("Searching for", progress ? span(progress.elapsed_seconds) : "–");
    this.put("Time to go", live && progress ? span(progress.seconds_left) : "–");
    const done = progress ?? run;
    const wanted = run.trials_wanted;
    const failed = done.trials_failed ? `, ${done.trials_failed} failed` : "";
    this.put("Trials", `${done.trials_done}${wanted !== null && wanted >= done.trials_done ? ` of ${wanted}` : ""}${failed}`);
    this.put("Trials per second", progress ? figure(progress.trials_per_second, 2) : "–");
    this.put("Workers", progress ? String(progress.workers) : "–");
    this.put("Layouts", String(progress?.layouts ?? run.layouts));
    this.put("Hypervolume", progress ? figure(progress.hypervolume, 4) : "–");
    this.showBest(progress?.best ?? run.best);
    this.showBar(run, live ? progress : null);
    if (live && progress) this.tellNowAndThen(progress);
  }

  /** @param {Record<string, number>} best */
  showBest(best) {
    for (const name of Object.keys(UNITS).filter((each) => each in best)) {
      const key = `best ${name}`;
      if (!this.cells.has(key)) this.best.append(this.cell(key, `Best ${spaced(name)}`));
      this.put(key, `${worth(name, best[name])} ${UNITS[name]}`);
    }
  }

  /**
   * @param {RunSummary} run
   * @param {ProgressRecord | null} progress of a run that is under way
   */
  showBar(run, progress) {
    this.bar.hidden = !["running", "starting", "waiting"].includes(run.state);
    const { elapsed_seconds: elapsed, seconds_left: togo } = progress ?? { elapsed_seconds: 0, seconds_left: null };
    if (togo !== null && elapsed + togo > 0) this.bar.value = elapsed / (elapsed + togo);
    else this.bar.removeAttribute("value");
  }

  /**
   * For those who listen: how far it is, at most twice a minute.
   * @param {ProgressRecord} progress
   */
  tellNowAndThen(progress) {
    if (Date.now() - this.told < QUIET_MS) return;
    if (this.told) announce(`${counted(progress.trials_done, "trial")}, ${counted(progress.layouts, "layout")}.`);
    this.told = Date.now();
  }

  async takeAway() {
    const run = API + pathOf("runs", this.id);
    const files = el("ul", { class: "plain" });
    const drawer = el("details", { class: "drawer" }, el("summary", {}, "Single files"), files);
    drawer.addEventListener("toggle", () => drawer.open && this.listFiles(files));
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
      const care = cautions("Before anything is printed, drilled or glued", (await aboutService()).cautions_of_making);
      if (care) parts.push(care);
    } catch (error) {
      if (left(error)) return;
    }
    if (!this.signal.aborted) this.away.replaceChildren(...parts);
  }

  /** @param {HTMLElement} files */
  async listFiles(files) {
    try {
      /** @type {ResultFile[]} */
      const found = await ask(pathOf("runs", this.id, "files"), { signal: this.signal });
      files.replaceChildren(...found.map((each) => el("li", {}, link(each.name, API + pathOf("runs", this.id, "files", ...each.name.split("/")), { download: "" }), ` ${size(each.bytes)}`)));
    } catch (error) {
      if (!left(error)) files.replaceChildren(el("li", {}, refusal(error)));
    }
  }
}
