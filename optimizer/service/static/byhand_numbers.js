// All numbers of a layout that may be moved, as tables to type into, each with whether it stays when the others settle.

import { el, table } from "./dom.js";

/** @import { FreeNumber, MovedLayout } from "./shapes.js" */
/**
 * @typedef {object} Typing
 * @property {(name: string, value: number) => void} typed
 * @property {(names: string[], held: boolean) => void} hold
 */

/** @type {Record<string, string>} */
const QUANTITIES = {
  position_mm: "position, mm", diameter_mm: "width, mm", chimney_mm: "chimney, mm", touch_offset_mm: "touch from its hole, mm",
  end_mm: "bell end, mm", reed_volume_cm3: "reed volume, cm3", bore_scale: "scale of the bore", joint_mm: "joint, mm", row_mm: "row of touches, mm",
  reed_end_diameter_mm: "bore at the reed end, mm", crook_end_diameter_mm: "bore at the crook's end, mm",
  crook_half_angle_deg: "half angle of the crook, degrees", cone_half_angle_deg: "half angle of the cone, degrees",
  lower_cone_half_angle_deg: "half angle of the lower cone, degrees", bell_length_mm: "bell, mm", bell_flare_mm: "flare of the bell, mm",
};
const OF_HOLES = ["position_mm", "diameter_mm", "chimney_mm", "touch_offset_mm"];
/** @type {(name: string) => [string, string]} */
export const parted = (name) => [name.split(".")[0], name.split(".").slice(1).join(".")];
/** @type {(number: FreeNumber) => number} */
const places = ({ name }) => (name.startsWith("reed") || name.startsWith("bore") || name.endsWith("_deg") ? 4 : 2);

/**
 * Words for a number that is of no hole, such as `joint 1, mm`.
 * @param {string} name
 */
function named(name) {
  const [quantity, which] = parted(name), [what, unit] = (QUANTITIES[quantity] ?? quantity).split(", ");
  return `${what}${which ? ` ${which}` : ""}${unit ? `, ${unit}` : ""}`;
}

export class Numbers {
  /**
   * @param {MovedLayout} found
   * @param {Typing} typing
   */
  constructor(found, typing) {
    this.typing = typing;
    /** @type {Map<string, HTMLInputElement>} */
    this.fields = new Map();
    /** @type {Map<HTMLInputElement, string[]>} checks, and the numbers that each holds */
    this.checks = new Map();
    const free = new Map(found.numbers.map((each) => [each.name, each]));
    const shown = OF_HOLES.filter((quantity) => found.numbers.some((each) => parted(each.name)[0] === quantity));
    const holes = found.holes.map((hole) => {
      const names = OF_HOLES.map((quantity) => `${quantity}.${hole.id}`).filter((name) => free.has(name));
      const fixed = /** @type {Record<string, number>} */ (/** @type {unknown} */ (hole));
      return [hole.id, ...shown.map((quantity) => this.field(free.get(`${quantity}.${hole.id}`), hole.id) ?? (fixed[quantity]?.toFixed(2) ?? "–")), this.check(names, hole.id)];
    });
    const others = found.numbers.filter((each) => !OF_HOLES.includes(parted(each.name)[0])).map((each) => {
      const words = named(each.name);
      return [words, this.field(each, ""), `${each.least.toFixed(places(each))} to ${each.most.toFixed(places(each))}`, this.check([each.name], words)];
    });
    this.place = el("section", { "aria-label": "numbers" }, el("h2", {}, "Numbers"),
      table("Holes", ["hole", ...shown.map((quantity) => QUANTITIES[quantity]), "stays"], holes, { class: "numbers-by-hand" }),
      others.length ? table("Other numbers", ["number", "value", "range", "stays"], others, { class: "numbers-by-hand" }) : null);
  }

  /**
   * @param {FreeNumber | undefined} number
   * @param {string} hole
   */
  field(number, hole) {
    if (!number) return null;
    const quantity = parted(number.name)[0], step = places(number) === 4 ? 0.01 : 0.1;
    const input = el("input", { type: "number", step: "any", min: number.least, max: number.most, "aria-label": hole ? `${hole} ${QUANTITIES[quantity]}` : named(number.name), on: {
      change: () => {
        if (input.value.trim() !== "") this.typing.typed(number.name, Number(input.value));
      },
      keydown: (/** @type {KeyboardEvent} */ event) => {
        const way = { ArrowUp: 1, ArrowDown: -1 }[event.key];
        if (!way) return;
        event.preventDefault();
        this.typing.typed(number.name, Number(input.value) + way * step * (event.shiftKey ? 10 : 1));
      },
    } });
    this.fields.set(number.name, input);
    return input;
  }

  /**
   * @param {string[]} names
   * @param {string} words
   */
  check(names, words) {
    if (!names.length) return "fixed";
    const box = el("input", { type: "checkbox", "aria-label": `${words} stays when the others settle`, on: { change: () => { this.typing.hold(names, box.checked); } } });
    this.checks.set(box, names);
    return box;
  }

  /**
   * @param {FreeNumber[]} numbers
   * @param {string[]} touched
   */
  show(numbers, touched) {
    for (const number of numbers) {
      const input = this.fields.get(number.name), words = number.value.toFixed(places(number));
      if (input && input.value !== words) input.value = words;
    }
    for (const [box, names] of this.checks) box.checked = names.some((name) => touched.includes(name));
  }
}
