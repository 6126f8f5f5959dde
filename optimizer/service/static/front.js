// The front of a run: what it recommends, all of it drawn, to pick a dot from, and as a table; each leads to a layout.

import { announce, bullets, button, drawnByService, el, focusedNow, link, refusal, say, table } from "./dom.js";
import { ask, left, pathOf, Refused, text } from "./api.js";
import { pinButton } from "./pins.js";
import { Recommended } from "./recommended.js";
import { counted, heading, spaced, worth } from "./words.js";

/** @import { FrontRecord, RecommendationRecord } from "./shapes.js" */

const AT_MOST_EVERY_MS = 2000;

/**
 * How many limits bind, and how many ranges are at an end.
 * @param {string[]} binds
 */
function boundBy(binds) {
  const ranges = binds.filter((name) => name.startsWith("range.")).length;
  return [String(binds.length - ranges), String(ranges)];
}

export class Front {
  /**
   * @param {string} run
   * @param {AbortSignal} signal
   */
  constructor(run, signal) {
    this.run = run;
    this.signal = signal;
    this.by = ""; // the objective in whose order layouts are listed; none before there is a front
    this.fetching = false;
    this.again = false;
    this.said = el("p", { class: "soft" }, "Looking for layouts…");
    this.same = el("p", { class: "soft" }); // below which difference in tuning layouts are the same
    this.inTheWay = el("div", { "aria-label": "what was in the way", role: "group", hidden: true });
    this.drawn = el("div", { class: "panels front" });
    this.listed = el("div");
    this.recommended = new Recommended(run);
    this.place = el("section", { "aria-label": "front" }, el("h2", {}, "Layouts to choose from"), this.said, this.inTheWay, this.same, this.drawn, this.listed);
  }

  /** @param {string[]} sentences on a run that found nothing so far */
  tellInTheWay(sentences) {
    this.inTheWay.hidden = !sentences.length;
    const now = sentences.join("\n");
    if (now === this.inTheWay.dataset.words) return;
    this.inTheWay.dataset.words = now;
    this.inTheWay.replaceChildren(bullets(sentences));
  }

  /** Fetch the front anew; calls that come meanwhile become one. */
  async refresh() {
    this.again = true;
    if (this.fetching) return;
    this.fetching = true;
    while (this.again && !this.signal.aborted) {
      this.again = false;
      await this.fetch();
      if (this.again) await new Promise((done) => setTimeout(done, AT_MOST_EVERY_MS));
    }
    this.fetching = false;
  }

  async fetch() {
    try {
      /** @type {FrontRecord} */
      const record = await ask(pathOf("runs", this.run, "front"), { signal: this.signal });
      /** @type {RecommendationRecord | null} */
      const found = record.feasible ? await ask(pathOf("runs", this.run, "recommendation"), { signal: this.signal }) : null;
      const drawing = record.feasible ? await text(pathOf("runs", this.run, "front", "figure"), this.signal) : "";
      this.recommended.show(found);
      this.show(record, drawing);
    } catch (error) {
      if (left(error)) return;
      if (error instanceof Refused && error.status === 404) say(this.said, "No layout yet.");
      else this.said.replaceChildren(refusal(error));
    }
  }

  /**
   * @param {FrontRecord} record
   * @param {string} drawing
   */
  show(record, drawing) {
    this.by ||= record.objectives[0];
    const many = counted(record.layouts.length, "layout");
    const worth = record.sought_otherwise ? "sought by an older evenness, so some may be beaten" : "none of which another beats in everything";
    say(
      this.said,
      record.feasible
        ? `${many}, ${worth}. Pick a dot, or a line of the table; lower and further left is better. In a drawing the arrow keys go from dot to dot.`
        : "Nothing meets every limit yet; the layout that breaks them least is listed.",
    );
    const focused = focusedNow();
    const held = this.drawn.contains(focused) ? focused?.dataset.layout : null;
    const panel = held ? [...this.drawn.children].findIndex((each) => each.contains(focused)) : -1;
    this.drawn.replaceChildren(drawnByService(drawing));
    for (const each of this.drawn.querySelectorAll("svg")) dotsToPick(each, this.run);
    if (held) {
      const dot = this.drawn.children[panel] && dotsOf(this.drawn.children[panel]).find((each) => each.dataset.layout === held);
      (dot ?? this.listed.querySelector("a"))?.focus();
    }
    this.list(record);
  }

  /** @param {FrontRecord} record */
  list(record) {
    const names = record.objectives;
    const entries = [...record.layouts].sort((one, other) => one.objectives[this.by] - other.objectives[this.by]);
    const heads = [
      "layout",
      ...names.map((name) => ({
        figures: true,
        sorted: name === this.by ? "ascending" : null,
        node: button(heading(name, record.units[name]), () => this.sortBy(record, name), { class: "sort" }),
      })),
      { words: "limits that bind", figures: true },
      { words: "ranges at an end", figures: true },
      "side by side",
    ];
    const rows = entries.map((each) => ({
      cells: [
        link(each.id, `#/run/${this.run}/layout/${each.id}`),
        ...names.map((name) => worth(name, each.objectives[name])),
        ...boundBy(each.binds),
        pinButton(`${this.run}/${each.id}`, `layout ${each.id}`),
      ],
      "data-entry": each.id,
    }));
    const active = focusedNow();
    const focused = this.listed.contains(active) ? active : null;
    const where = focused?.closest("tr")?.dataset.entry;
    const wasPin = focused?.classList.contains("pin");
    this.listed.replaceChildren(table(`Layouts of the front, by ${spaced(this.by)}`, heads, rows, { class: "front" }));
    if (where) {
      this.listed.querySelector(`[data-entry="${CSS.escape(where)}"]`)?.querySelector(wasPin ? "button" : "a")?.focus();
    }
  }

  /**
   * @param {FrontRecord} record
   * @param {string} name
   */
  sortBy(record, name) {
    this.by = name;
    this.list(record);
    this.listed.querySelector("[aria-sort]")?.querySelector("button")?.focus();
    announce(`In order of ${spaced(name)}.`);
  }
}

/**
 * Dots of a panel, each the link of a layout.
 * @param {Element} panel
 * @returns {SVGAElement[]}
 */
const dotsOf = (panel) => [...panel.querySelectorAll("a[data-layout]")].filter((each) => each instanceof SVGAElement);

/**
 * Dots of a panel as links to their layouts: one stop of the tab key for a panel, arrow keys from dot to dot.
 * @param {SVGSVGElement} panel
 * @param {string} run
 */
function dotsToPick(panel, run) {
  const dots = dotsOf(panel);
  panel.setAttribute("role", "group");
  const across = (/** @type {SVGAElement} */ dot) => Number(dot.querySelector(".dot")?.getAttribute("cx"));
  dots.sort((one, other) => across(one) - across(other));
  for (const [at, dot] of dots.entries()) {
    dot.setAttribute("href", `#/run/${run}/layout/${dot.dataset.layout}`);
    dot.setAttribute("tabindex", at ? "-1" : "0");
    dot.setAttribute("aria-label", dot.querySelector("title")?.textContent ?? "");
    dot.addEventListener("keydown", (event) => step(event, dots, at));
  }
}

/**
 * @param {KeyboardEvent} event
 * @param {SVGAElement[]} dots
 * @param {number} at
 */
function step(event, dots, at) {
  /** @type {Record<string, number>} */
  const places = { ArrowRight: at + 1, ArrowDown: at + 1, ArrowLeft: at - 1, ArrowUp: at - 1, Home: 0, End: dots.length - 1 };
  const to = places[event.key];
  if (to === undefined) return;
  event.preventDefault();
  const next = dots[Math.min(Math.max(to, 0), dots.length - 1)];
  dots[at].setAttribute("tabindex", "-1");
  next.setAttribute("tabindex", "0");
  next.focus();
}
