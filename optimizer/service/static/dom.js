// Elements from plain words. Words of a project or a hand become text nodes, never markup.

/** @import { Refused } from "./api.js" */

/**
 * @typedef {Node | string | null | undefined} Child
 * @typedef {Child | Child[]} Children
 * @typedef {{ [name: string]: unknown, on?: Record<string, (event: any) => unknown> }} Props
 * @typedef {object} Head of a column: its words or a node with them; figures: stand at the right; long: may wrap
 * @property {string} [words]
 * @property {Node} [node]
 * @property {boolean} [figures]
 * @property {boolean} [long]
 * @property {string | null} [sorted]
 * @typedef {Child[] | ({ cells: Child[] } & Record<string, unknown>)} Row cells, or those with attributes of the row
 */

const DRAWN = "http://www.w3.org/2000/svg";

/**
 * An element; props: `class`, `on` (events by name), any attribute; null, undefined and false leave an attribute out.
 * @template {keyof HTMLElementTagNameMap} Tag
 * @param {Tag} tag
 * @param {Props} props
 * @param {...Children} children
 */
export function el(tag, props = {}, ...children) {
  return filled(document.createElement(tag), props, children);
}

/**
 * The same for a part of a drawing.
 * @template {keyof SVGElementTagNameMap} Tag
 * @param {Tag} tag
 * @param {Props} props
 * @param {...Children} children
 */
export function drawn(tag, props = {}, ...children) {
  return filled(document.createElementNS(DRAWN, tag), props, children);
}

/**
 * @template {Element} Made
 * @param {Made} made
 * @param {Props} props
 * @param {Children[]} children
 */
function filled(made, { on = {}, ...attributes }, children) {
  for (const [event, act] of Object.entries(on)) made.addEventListener(event, act);
  for (const [name, value] of Object.entries(attributes)) {
    if (value === null || value === undefined || value === false) continue;
    made.setAttribute(name, value === true ? "" : String(value));
  }
  for (const each of children.flat()) {
    if (each !== null && each !== undefined && each !== "") made.append(each);
  }
  return made;
}

/**
 * Put new words into an element, only where they differ: what has not changed is not announced again.
 * @param {Element} place
 * @param {string} words
 */
export function say(place, words) {
  if (place.textContent !== words) place.textContent = words;
}

/**
 * The element of the page that goes by a name.
 * @param {string} id
 */
export function byId(id) {
  const found = document.getElementById(id);
  if (!found) throw new Error(`the page has no #${id}`);
  return found;
}

/** What has the focus, where that is an element of HTML or of a drawing. */
export function focusedNow() {
  const active = document.activeElement;
  return active instanceof HTMLElement || active instanceof SVGElement ? active : null;
}

/**
 * Say something to those who listen to the page.
 * @param {string} words
 */
export function announce(words) {
  say(byId("said"), words);
}

/** @type {(words: string, act: (event: MouseEvent) => unknown, props?: Props) => HTMLButtonElement} */
export const button = (words, act, props = {}) => el("button", { type: "button", ...props, on: { click: act } }, words);
/** @type {(words: string, address: string, props?: Props) => HTMLAnchorElement} */
export const link = (words, address, props = {}) => el("a", { href: address, ...props }, words);
/** @type {(lines: Child[], props?: Props) => HTMLUListElement} */
export const bullets = (lines, props = {}) => el("ul", props, lines.map((each) => el("li", {}, each)));

/**
 * A table in a box that scrolls by itself.
 * @param {string} caption
 * @param {(string | Head)[]} heads
 * @param {Row[]} rows
 * @param {Props} props
 */
export function table(caption, heads, rows, props = {}) {
  const told = heads.map((head) => (typeof head === "string" ? { words: head } : head));
  const head = told.map((each) =>
    el("th", { scope: "col", class: each.figures ? "n" : null, "aria-sort": each.sorted }, each.node ?? each.words),
  );
  const body = rows.map((row) => rowOf(row, told));
  return scrolling(
    caption,
    el("table", props, el("caption", {}, caption), el("thead", {}, el("tr", {}, head)), el("tbody", {}, body)),
  );
}

/**
 * @param {Row} row
 * @param {Head[]} heads
 */
function rowOf(row, heads) {
  const { cells, ...props } = Array.isArray(row) ? { cells: row } : row;
  const made = cells.map((cell, at) =>
    at === 0
      ? el("th", { scope: "row", class: heads[at].long ? "w" : null, "data-head": heads[at].words }, cell)
      : el("td", { class: heads[at].figures ? "n" : heads[at].long ? "w" : null, "data-head": heads[at].words }, cell),
  );
  return el("tr", props, made);
}

/**
 * A box that scrolls sideways where its content is wider than the page.
 * @param {string} label
 * @param {...Children} children
 */
export function scrolling(label, ...children) {
  return el("div", { class: "wide", tabindex: "0", role: "group", "aria-label": label }, ...children);
}

/**
 * A field with its label above, and a line of help below.
 * @param {string} label
 * @param {HTMLElement} control
 * @param {string} help
 */
export function field(label, control, help = "") {
  const id = control.id || `field-${label.replace(/\W+/g, "-").toLowerCase()}`;
  control.id = id;
  const said = help ? el("p", { class: "help", id: `${id}-help` }, help) : null;
  if (said) control.setAttribute("aria-describedby", said.id);
  return el("div", { class: "field" }, el("label", { for: id }, label), control, said);
}

/**
 * Choices of a list.
 * @param {{ value: string, words: string }[]} options
 * @param {Props} props
 */
export function choices(options, props = {}) {
  return el("select", props, options.map((each) => el("option", { value: each.value }, each.words)));
}

/**
 * Cautions, where what they warn of is done.
 * @param {string} title
 * @param {string[]} sentences
 */
export function cautions(title, sentences) {
  if (!sentences.length) return null;
  return el("div", { class: "caution", role: "group", "aria-label": title }, el("p", { class: "title" }, title), bullets(sentences));
}

/**
 * A refusal in words, with each thing to mend.
 * @param {any} error a Refused, or what else was thrown
 */
export function refusal(error) {
  /** @type {Refused["problems"]} */
  const problems = error.problems ?? [];
  return el(
    "div",
    { class: "refusal", role: "alert" },
    el("p", {}, `${capital(error.message)}.`.replace(/([.!?])\.$/, "$1")),
    problems.length ? bullets(problems.map((each) => each.message)) : null,
  );
}

/** @param {string} words */
export const capital = (words) => words.charAt(0).toUpperCase() + words.slice(1);

/**
 * A part of a page that the service drew, as nodes. The only place where markup is read: it comes from the service
 * alone, which escapes every word of a project.
 * @param {string} markup
 */
export function drawnByService(markup) {
  const box = document.createElement("template");
  box.innerHTML = markup;
  return box.content;
}
