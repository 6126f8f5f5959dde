// Notes and how far they are off: bars to a zero line, marks by letter, bands.

import { drawn } from "./dom.js";

/** @import { Figure } from "./words.js" */

const HALF = 60;
const BAND_HALF = 110;
const BAND_HEIGHT = 20;
export const MARKS = ["a", "b", "c"];

/**
 * The largest error of all, for a common scale; at least 10 cents.
 * @param {Figure[]} values
 */
export function widest(values) {
  return Math.max(10, ...values.map((each) => Math.abs(each ?? 0)));
}

/**
 * A small drawing: a zero line, and a mark for each value; values in the order of MARKS.
 * @param {Figure[]} values
 * @param {number} most
 * @param {string} label
 */
export function marks(values, most, label) {
  const at = (/** @type {number} */ value) => HALF + ((HALF - 6) * value) / most;
  const shapes = values.map((value, number) => {
    if (value === null || value === undefined) return null;
    const kind = `dot mark-${MARKS[number]}`;
    const x = at(value);
    if (number === 1) return drawn("rect", { class: kind, x: x - 4, y: 4, width: 8, height: 8 });
    if (number === 2) return drawn("polygon", { class: kind, points: `${x},2.5 ${x + 5},12 ${x - 5},12` });
    return drawn("circle", { class: kind, cx: x, cy: 8, r: 4.5 });
  });
  return drawn(
    "svg",
    { class: "drawing strip", viewBox: `0 0 ${2 * HALF} 16`, width: 2 * HALF, height: 16, role: "img", "aria-label": label },
    drawn("line", { class: "rule", x1: 0, y1: 8, x2: 2 * HALF, y2: 8 }),
    drawn("line", { class: "axis", x1: HALF, y1: 0, x2: HALF, y2: 16 }),
    ...shapes,
  );
}

/**
 * A small drawing: a band from low to high with a line at its middle, a circle for what was designed or measured, null
 * for none, a zero line, and dashed ones at `within` either way; bands below each other with one scale make one picture.
 * @param {{ low: number, middle: number, high: number, designed: Figure }} cents
 * @param {number} within
 * @param {number} most
 * @param {string} label
 */
export function band({ low, middle, high, designed }, within, most, label) {
  const at = (/** @type {number} */ value) => BAND_HALF + ((BAND_HALF - 6) * value) / most;
  const upright = (/** @type {string} */ kind, /** @type {number} */ value, margin = 0) =>
    drawn("line", { class: kind, x1: at(value), y1: margin, x2: at(value), y2: BAND_HEIGHT - margin });
  return drawn(
    "svg",
    { class: "drawing strip", viewBox: `0 0 ${2 * BAND_HALF} ${BAND_HEIGHT}`, width: 2 * BAND_HALF, height: BAND_HEIGHT, role: "img", "aria-label": label },
    drawn("rect", { class: "band", x: at(low), y: 3, width: at(high) - at(low), height: BAND_HEIGHT - 6 }),
    upright("axis", 0),
    upright("within", -within),
    upright("within", within),
    upright("middle", middle, 3),
    designed === null || designed === undefined ? null : drawn("circle", { class: "dot mark-a", cx: at(designed), cy: BAND_HEIGHT / 2, r: 3.5 }),
  );
}
