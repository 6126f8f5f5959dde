// Notes and how far they are off: bars to a zero line, marks by letter.

import { drawn } from "./dom.js";

const HALF = 60;
export const MARKS = ["a", "b", "c"];

/** The largest error of all, for a common scale; at least 10 cents. */
export function widest(values) {
  return Math.max(10, ...values.filter((each) => each !== null && each !== undefined).map(Math.abs));
}

/** A small drawing: a zero line, and a mark for each value; values in the order of MARKS. */
export function marks(values, most, label) {
  const at = (value) => HALF + ((HALF - 6) * value) / most;
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
