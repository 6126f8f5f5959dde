// Layouts of a run that were changed by hand, to look at or to hold beside others.

import { el, link, table } from "./dom.js";
import { ask, left, pathOf } from "./api.js";
import { pinButton } from "./pins.js";
import { counted, figure } from "./words.js";

/** @import { ByHandEntry } from "./shapes.js" */

/**
 * A place for them, empty while there is none.
 * @param {string} run
 * @param {AbortSignal} signal
 */
export function keptByHand(run, signal) {
  const place = el("section", { "aria-label": "changed by hand", hidden: true });
  fill(place, run, signal);
  return place;
}

/**
 * @param {HTMLElement} place
 * @param {string} run
 * @param {AbortSignal} signal
 */
async function fill(place, run, signal) {
  try {
    /** @type {ByHandEntry[]} */
    const found = await ask(pathOf("runs", run, "by-hand"), { signal });
    if (!found.length) return;
    const rows = found.map((each) => [
      link(each.id, `#/run/${run}/layout/${each.id}`), link(each.parentage.layout, `#/run/${run}/layout/${each.parentage.layout}`),
      each.parentage.moved.map((number) => number.name.replace(/_mm\b|_cm3\b|_deg\b/, "").replace(".", " ")).join(", ") || "–",
      figure(each.objectives.tuning, 2), !each.feasible ? "breaks limits" : each.better_on_front.length ? `beaten by ${counted(each.better_on_front.length, "layout")}` : "not beaten",
      pinButton(`${run}/${each.id}`, `layout ${each.id}`),
    ]);
    place.append(el("h2", {}, "Changed by hand"), table("Kept beside the front, which they are no part of", ["layout", "from", { words: "moved", long: true }, { words: "tuning, cents", figures: true }, "against the front", "pin"], rows));
    place.hidden = false;
  } catch (error) {
    if (!left(error)) place.hidden = true; // the run's own view says what is wrong
  }
}
