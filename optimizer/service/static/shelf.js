// The shelf: all runs, whoever started them, and those that were deleted.

import { announce, button, capital, el, focusedNow, link, refusal, say, table } from "./dom.js";
import { ask, bare, every, left, pathOf, remove } from "./api.js";
import { actions } from "./run_actions.js";
import { atRest, bestTuning, stateGlyph, stateWords, when } from "./words.js";

/** @import { Removed, Restored, RunList, RunSummary } from "./shapes.js" */

const PAGE = 50;

/**
 * @param {HTMLElement} main
 * @param {AbortSignal} signal
 */
export function showShelf(main, signal) {
  const shelf = new Shelf(signal);
  main.append(
    el("h1", {}, "Shelf"),
    el("p", { class: "soft" }, "Every search there is, from this page or the command line. The list keeps itself fresh."),
    shelf.trouble,
    shelf.place,
    shelf.more,
    shelf.deleted,
  );
  shelf.look();
}

class Shelf {
  /** @param {AbortSignal} signal */
  constructor(signal) {
    this.signal = signal;
    /** @type {Map<string, Row>} */
    this.rows = new Map();
    this.limit = PAGE;
    this.busy = false;
    this.trouble = el("div");
    this.place = el("div", {}, el("p", {}, "Looking…"));
    this.more = button("Show older runs", () => this.older(), { hidden: true });
    this.names = el("ul", { class: "plain" });
    this.refused = el("div");
    this.deleted = el("details", { class: "drawer" }, el("summary", {}, "Deleted runs"), this.refused, this.names);
    this.deleted.addEventListener("toggle", () => this.deleted.open && this.showDeleted());
    this.look = every(() => (this.busy ? 3 : 20), signal, () => this.refresh());
  }

  older() {
    this.limit = Math.min(500, this.limit + PAGE);
    this.look();
  }

  async refresh() {
    try {
      /** @type {RunList} */
      const found = await ask(`runs?limit=${this.limit}`, { signal: this.signal });
      this.busy = found.runs.some((run) => !atRest(run));
      this.trouble.replaceChildren();
      this.show(found);
    } catch (error) {
      if (left(error)) return;
      this.busy = true;
      if (this.trouble.textContent === "") this.trouble.replaceChildren(refusal(error));
      if (!this.rows.size) this.place.replaceChildren();
    }
  }

  /** @param {RunList} found */
  show(found) {
    this.more.hidden = found.total <= found.runs.length || this.limit >= 500;
    const names = found.runs.map((run) => run.id);
    const same = names.length === this.rows.size && names.every((name) => this.rows.has(name));
    if (!same || !names.length) this.build(found.runs);
    for (const run of found.runs) this.rows.get(run.id)?.update(run);
  }

  /** @param {RunSummary[]} runs */
  build(runs) {
    this.rows = new Map(runs.map((run) => [run.id, this.rows.get(run.id) ?? new Row(run, () => this.changed())]));
    if (!runs.length) {
      this.place.replaceChildren(
        el("p", {}, "The shelf is empty. ", link("Begin a project", "#/begin"), " of your own, or ", link("search one", "#/new"), " that is there."),
      );
      return;
    }
    const heads = ["run", "instrument", "state", { words: "best tuning", figures: true }, { words: "trials", figures: true },
      { words: "layouts", figures: true }, "begun", "to do"];
    const active = focusedNow();
    const inRow = active?.closest("[data-run]");
    this.place.replaceChildren(table("Runs, the latest first", heads, [...this.rows.values()].map((row) => row.cells()), { class: "shelf" }));
    if (inRow) (active?.isConnected ? active : this.place.querySelector("tbody")?.querySelector("a"))?.focus({ preventScroll: true });
  }

  async changed() {
    await this.look();
    if (this.deleted.open) this.showDeleted();
  }

  async showDeleted() {
    try {
      /** @type {string[]} */
      const names = await ask("removed", { signal: this.signal });
      this.names.replaceChildren(...names.map((name) => this.deletedRun(name)));
      if (!names.length) this.names.replaceChildren(el("li", {}, "None."));
    } catch (error) {
      if (!left(error)) this.names.replaceChildren(el("li", {}, refusal(error)));
    }
  }

  /** @param {string} name */
  deletedRun(name) {
    const back = async () => {
      this.refused.replaceChildren();
      try {
        /** @type {Restored} */
        const { run } = await bare(pathOf("removed", name, "restore"));
        announce(`Run ${run} is back on the shelf.`);
        this.deleted.querySelector("summary")?.focus();
        await this.changed();
      } catch (error) {
        this.refused.replaceChildren(refusal(error));
      }
    };
    return el("li", {}, el("span", { class: "name" }, name), " ", button("Bring back", back, { "aria-label": `Bring back ${name}` }));
  }
}

/** A row whose cells are changed in place, so that focus and selection stay. */
class Row {
  /**
   * @param {RunSummary} run
   * @param {() => Promise<void>} changed
   */
  constructor(run, changed) {
    this.id = run.id;
    this.name = link(run.id, `#/run/${run.id}`);
    this.instrument = el("span");
    this.glyph = el("span", { class: "glyph", "aria-hidden": "true" });
    this.state = el("span");
    this.why = el("span", { class: "why bad" });
    this.best = el("span");
    this.trials = el("span");
    this.layouts = el("span");
    this.begun = el("span");
    this.acts = actions(run.id, changed, async () => {
      /** @type {Removed} */
      const { removed } = await remove(pathOf("runs", run.id));
      announce(`Run ${removed} is deleted; it can be brought back from the deleted runs below.`);
      document.querySelector("h1")?.focus();
    });
  }

  cells() {
    const state = el("span", {}, this.glyph, " ", this.state, this.why);
    return {
      cells: [this.name, this.instrument, state, this.best, this.trials, this.layouts, this.begun, this.acts.place],
      "data-run": this.id,
    };
  }

  /** @param {RunSummary} run */
  update(run) {
    say(this.instrument, run.instrument || "cannot be read");
    say(this.glyph, stateGlyph(run));
    this.glyph.className = `glyph ${run.state}`;
    say(this.state, capital(stateWords(run)));
    say(this.why, run.message ? ` ${run.message}` : "");
    say(this.best, bestTuning(run));
    say(this.trials, String(run.trials_done) + (run.trials_failed ? ` (${run.trials_failed} failed)` : ""));
    say(this.layouts, String(run.layouts));
    say(this.begun, when(run.started));
    this.acts.update(run);
  }
}
