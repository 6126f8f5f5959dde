// A layout handed over to its maker: an archive of files for CAD, printer and bench, and the test coupon of its printer.

import { choices, el, field, link, refusal } from "./dom.js";
import { ask, left, pathOf } from "./api.js";
import { inquiry } from "./inquiry.js";

/** @import { KindOfFiles } from "./shapes.js" */

const STATES = [
  { value: "ream", words: "printed, holes left to ream" },
  { value: "printed", words: "printed, holes at their size" },
  { value: "finished", words: "finished" },
];

const PAPERS = [
  { value: "a4", words: "A4" },
  { value: "a3", words: "A3" },
  { value: "letter", words: "US letter" },
  { value: "tabloid", words: "US tabloid" },
];

/**
 * A form that asks for the archive, and the link to save it by.
 * @param {string} run
 * @param {string} id
 * @param {AbortSignal} signal
 */
export function handoff(run, id, signal) {
  const states = new Ticks("Sizes of the pieces", STATES.map((each, at) => ({ ...each, ticked: at === 0 })));
  const kinds = new Ticks("Files", []);
  const paper = choices(PAPERS, { id: "handoff-paper" });
  const path = pathOf("runs", run, "layouts", id, "handoff");
  const body = () => {
    const wanted = { only: kinds.ticked, states: states.ticked, paper: paper.value };
    if (!wanted.only.length || !wanted.states.length) throw new Error("tick at least one kind of files and one size");
    return wanted;
  };
  const { form, result } = inquiry({
    fields: [kinds.place, states.place, field("Paper of the sheets", paper)],
    words: "Make the files",
    waiting: "Drawing every piece; a large instrument may take some minutes, five at the most…",
    ask: async () => ask(path, { method: "POST", body: body(), signal, as: "blob" }),
    show: (/** @type {Blob} */ archive) => saved(archive, `${run}-${id}-handoff.zip`, signal),
  });
  fillKinds(kinds, result, signal);
  return [el("p", {}, "One archive, with a page to begin with:"), form, result, ...coupon(run, signal)];
}

/**
 * @param {Ticks} kinds
 * @param {HTMLElement} result
 * @param {AbortSignal} signal
 */
async function fillKinds(kinds, result, signal) {
  try {
    /** @type {KindOfFiles[]} */
    const found = await ask(pathOf("handoff-kinds"), { signal });
    kinds.offer(found.map(({ name, told, lacking }) => ({
      value: name, words: `${name}: ${told}${lacking ? ` (left out: ${lacking})` : ""}`, ticked: !lacking, held: Boolean(lacking),
    })));
  } catch (error) {
    if (!left(error)) result.replaceChildren(refusal(error));
  }
}

/**
 * @param {string} run
 * @param {AbortSignal} signal
 */
function coupon(run, signal) {
  const { form, result } = inquiry({
    fields: [],
    words: "Make the test coupon",
    waiting: "Drawing the coupon…",
    ask: () => ask(pathOf("runs", run, "coupon"), { method: "POST", body: {}, signal, as: "blob" }),
    show: (/** @type {Blob} */ archive) => saved(archive, `${run}-coupon.zip`, signal),
  });
  return [
    el("h3", {}, "Your printer first"),
    el("p", {}, "A short pipe with holes, steps, a tenon and a socket, printed as the pieces are: gauged, it says what your printer makes of a size. Print it before the pieces."),
    form, result,
  ];
}

/** Boxes to tick, in a frame with a title. */
class Ticks {
  /**
   * @param {string} title
   * @param {Tick[]} options
   */
  constructor(title, options) {
    /** @type {HTMLInputElement[]} */
    this.boxes = [];
    this.lines = el("div", {});
    this.place = el("fieldset", { class: "ticks" }, el("legend", {}, title), this.lines);
    this.offer(options);
  }

  /** @param {Tick[]} options */
  offer(options) {
    this.boxes = options.map(({ value, ticked, held }) => el("input", { type: "checkbox", value, checked: ticked, disabled: held ?? false }));
    this.lines.replaceChildren(...options.map(({ words }, at) => el("label", { class: "tick" }, this.boxes[at], " ", words)));
  }

  get ticked() {
    return this.boxes.filter((box) => box.checked).map((box) => box.value);
  }
}

/**
 * @typedef {object} Tick
 * @property {string} value
 * @property {string} words
 * @property {boolean} ticked
 * @property {boolean} [held]
 */

/**
 * @param {Blob} archive
 * @param {string} name
 * @param {AbortSignal} signal
 */
function saved(archive, name, signal) {
  const address = URL.createObjectURL(archive);
  signal.addEventListener("abort", () => URL.revokeObjectURL(address), { once: true });
  const megabytes = (archive.size / 1e6).toFixed(1);
  return [el("p", { class: "outcome" }, link(`Save ${name}`, address, { download: name, class: "download" }), ` (${megabytes} MB)`)];
}
