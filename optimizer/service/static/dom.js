// Elements from plain words. Words of a project or a hand become text nodes, never markup.

const DRAWN = "http://www.w3.org/2000/svg";

/** An element; props: `class`, `on` (events by name), any attribute; null, undefined and false leave an attribute out. */
export function el(tag, props = {}, ...children) {
  return filled(document.createElement(tag), props, children);
}

/** The same for a part of a drawing. */
export function drawn(tag, props = {}, ...children) {
  return filled(document.createElementNS(DRAWN, tag), props, children);
}

function filled(made, props, children) {
  for (const [name, value] of Object.entries(props)) {
    if (value === null || value === undefined || value === false) continue;
    if (name === "on") {
      for (const [event, act] of Object.entries(value)) made.addEventListener(event, act);
    } else {
      made.setAttribute(name, value === true ? "" : String(value));
    }
  }
  made.append(...children.flat().filter((each) => each !== null && each !== undefined && each !== ""));
  return made;
}

/** Put new words into an element, only where they differ: what has not changed is not announced again. */
export function say(place, words) {
  if (place.textContent !== words) place.textContent = words;
}

/** Say something to those who listen to the page. */
export function announce(words) {
  say(document.getElementById("said"), words);
}

export const button = (words, act, props = {}) => el("button", { type: "button", ...props, on: { click: act } }, words);
export const link = (words, address, props = {}) => el("a", { href: address, ...props }, words);

/** A table in a box that scrolls by itself; heads: words, or {words, figures, node}; rows: lists of cells, words or nodes. */
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

function rowOf(row, heads) {
  const { cells, ...props } = Array.isArray(row) ? { cells: row } : row;
  const made = cells.map((cell, at) =>
    at === 0
      ? el("th", { scope: "row" }, cell)
      : el("td", { class: heads[at].figures ? "n" : heads[at].long ? "w" : null, "data-head": heads[at].words }, cell),
  );
  return el("tr", props, made);
}

/** A box that scrolls sideways where its content is wider than the page. */
export function scrolling(label, ...children) {
  return el("div", { class: "wide", tabindex: "0", role: "group", "aria-label": label }, ...children);
}

/** A field with its label above, and a line of help below. */
export function field(label, control, help = "") {
  const id = control.id || `field-${label.replace(/\W+/g, "-").toLowerCase()}`;
  control.id = id;
  const said = help ? el("p", { class: "help", id: `${id}-help` }, help) : null;
  if (said) control.setAttribute("aria-describedby", said.id);
  return el("div", { class: "field" }, el("label", { for: id }, label), control, said);
}

/** Choices of a list; each {value, words}. */
export function choices(options, props = {}) {
  return el("select", props, options.map((each) => el("option", { value: each.value }, each.words)));
}

/** Cautions, where what they warn of is done. */
export function cautions(title, sentences) {
  if (!sentences.length) return null;
  return el(
    "div",
    { class: "caution", role: "group", "aria-label": title },
    el("p", { class: "title" }, title),
    el("ul", {}, sentences.map((each) => el("li", {}, each))),
  );
}

/** A refusal in words, with each thing to mend. */
export function refusal(error) {
  const problems = error.problems ?? [];
  return el(
    "div",
    { class: "refusal", role: "alert" },
    el("p", {}, `${capital(error.message)}.`.replace(/([.!?])\.$/, "$1")),
    problems.length ? el("ul", {}, problems.map((each) => el("li", {}, each.message))) : null,
  );
}

export const capital = (words) => words.charAt(0).toUpperCase() + words.slice(1);

/** A part of a page that the service drew, as nodes. The only place where markup is read: it comes from the service
 * alone, which escapes every word of a project. */
export function drawnByService(markup) {
  const box = document.createElement("template");
  box.innerHTML = markup;
  return box.content;
}
