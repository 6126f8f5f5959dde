// What a run recommends of its front: a sentence for each layout to begin with, named before all others.

import { bullets, el, focusedNow, link } from "./dom.js";
import { pinButton } from "./pins.js";

/** @import { RecommendationRecord } from "./shapes.js" */

export class Recommended {
  /** @param {string} run */
  constructor(run) {
    this.run = run;
    this.shown = ""; // what stands there, so that the same is not put there anew
    this.place = el("section", { "aria-label": "recommended", hidden: true });
  }

  /** @param {RecommendationRecord | null} found null: there is nothing to recommend yet */
  show(found) {
    const now = JSON.stringify(found);
    if (now === this.shown) return;
    this.shown = now;
    const focused = focusedNow();
    const held = focused && this.place.contains(focused) ? focused.closest("li")?.dataset.entry : null;
    this.place.hidden = !found?.picks.length;
    this.place.replaceChildren(...(found ? this.told(found) : []));
    if (held) this.place.querySelector(`[data-entry="${CSS.escape(held)}"]`)?.querySelector("a")?.focus();
  }

  /** @param {RecommendationRecord} found */
  told(found) {
    const lines = found.picks.map((pick) =>
      el(
        "li",
        { "data-entry": pick.id },
        link(pick.id, `#/run/${this.run}/layout/${pick.id}`),
        `: ${pick.sentence} `,
        pinButton(`${this.run}/${pick.id}`, `layout ${pick.id}`),
      ),
    );
    const left = Object.entries(found.left_out).map(([role, why]) => `${role}: left out, as ${why}`);
    return [
      el("h2", {}, "Recommended"),
      el("ul", { class: "recommended" }, lines),
      ...(left.length ? [bullets(left, { class: "soft" })] : []),
    ];
  }
}
