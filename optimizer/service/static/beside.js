// Layouts that are pinned, side by side: figures, every note, and their sheets.

import { bullets, button, el, link, refusal, table } from "./dom.js";
import { API, ask, left, pathOf, text } from "./api.js";
import { heardBeside, sheetOf } from "./layout.js";
import { marks, MARKS, widest } from "./notes.js";
import { pins, unpin } from "./pins.js";
import { heading, registerOf, signed, UNITS, worth } from "./words.js";

/** @import { ComparedLayout, ComparedNote, ComparisonRecord, FrontRecord } from "./shapes.js" */

/**
 * @param {HTMLElement} main
 * @param {AbortSignal} signal
 */
export function showBeside(main, signal) {
  const names = pins();
  const place = el("div");
  main.append(el("h1", {}, "Side by side"), pinnedList(names), place);
  const again = () => {
    const focused = main.contains(document.activeElement);
    main.replaceChildren();
    showBeside(main, signal);
    if (focused) main.querySelector(".pinned")?.querySelector("button")?.focus();
  };
  const inner = new AbortController();
  signal.addEventListener("abort", () => inner.abort(), { signal: inner.signal });
  document.addEventListener("pins", () => {
    inner.abort();
    again();
  }, { signal: inner.signal, once: true });
  if (names.length > 1) compare(place, names, inner.signal);
  sheets(main, names, inner.signal);
}

/** @param {string[]} names */
function pinnedList(names) {
  if (!names.length) {
    return el("p", {}, "Nothing is pinned. Pin up to three layouts, of one run or of several, where they are listed or drawn; ", link("to the shelf", "#/"), ".");
  }
  const lines = names.map((name, at) => el("li", {},
    el("span", { class: `tag mark-${MARKS[at]}` }, MARKS[at].toUpperCase()), " ",
    link(name, address(name)), " ", button("Unpin", () => unpin(name), { "aria-label": `Unpin ${name}` })));
  const said = names.length < 2 ? el("p", { class: "soft" }, "Pin one more to hold it against this one.") : null;
  return el("div", {}, el("ul", { class: "plain pinned" }, lines), said);
}

/** @param {string} name */
function address(name) {
  const [run, layout] = name.split("/");
  return layout ? `#/run/${run}/layout/${layout}` : `#/run/${run}`;
}

/**
 * @param {HTMLElement} place
 * @param {string[]} names
 * @param {AbortSignal} signal
 */
async function compare(place, names, signal) {
  const asked = names.map((name) => `of=${encodeURIComponent(name)}`).join("&");
  place.append(el("p", {}, "Comparing…"));
  try {
    /** @type {ComparisonRecord} */
    const found = await ask(`comparison?${asked}`, { signal });
    place.replaceChildren(
      figures(found.layouts),
      notes(found),
      ...changes(found),
      el("p", { class: "acts" }, link("The whole comparison as a page, to print or keep", `${API}comparison/page?${asked}`, { target: "_blank", rel: "noopener" })),
    );
  } catch (error) {
    if (!left(error)) place.replaceChildren(refusal(error));
  }
}

/** @param {ComparedLayout[]} layouts */
function figures(layouts) {
  const sought = Object.keys(UNITS).filter((name) => layouts.some((each) => each.objectives[name] !== undefined));
  /** @type {(words: string, of: (layout: ComparedLayout) => string) => string[]} */
  const row = (words, of) => [words, ...layouts.map(of)];
  const rows = [
    row("instrument", (each) => each.instrument),
    row("layout", (each) => each.id),
    row("meets every limit", (each) => (each.feasible ? "yes" : "NO")),
    ...sought.map((name) => row(heading(name, UNITS[name]), (each) => worth(name, each.objectives[name]))),
    row("holes", (each) => String(each.holes)),
    row("length, mm", (each) => each.body_length_mm.toFixed(2)),
    row("bell, mm", (each) => each.bell_diameter_mm.toFixed(2)),
    row("printed, g", (each) => each.printed.mass_g.toFixed(1)),
  ];
  const heads = ["figure", ...layouts.map((each, at) => ({ figures: true, node: el("span", { class: `tag mark-${MARKS[at]}` }, each.mark) }))];
  return table("Key figures", heads, rows, { class: "key-figures" });
}

/**
 * Every note once, with the cents of each layout.
 * @param {ComparisonRecord} found
 */
function notes(found) {
  /** @type {Map<string, { note: ComparedNote, cents: (number | null)[] }>} */
  const lines = new Map();
  const many = found.layouts.length;
  found.comparisons.forEach((comparison, at) => {
    for (const note of comparison.notes) {
      const key = `${note.alternate}|${note.register_number}|${note.written}|${note.touches.find(Boolean)}`;
      const line = lines.get(key) ?? { note, cents: Array(many).fill(null) };
      lines.set(key, line);
      const { cents } = line;
      cents[0] ??= note.cents[0];
      cents[at + 1] = note.cents[1];
    }
  });
  const most = widest([...lines.values()].flatMap((each) => each.cents));
  const letters = found.layouts.map((each) => each.mark);
  const rows = [...lines.values()].map(({ note, cents }) => [
    note.written,
    registerOf(note),
    ...cents.map((each) => signed(each)),
    marks(cents, most, letters.map((letter, at) => `${letter} ${signed(cents[at])}`).join(", ")),
  ]);
  const heads = ["written", "register", ...letters.map((letter, at) => ({ figures: true, node: el("span", {}, el("span", { class: `tag mark-${MARKS[at]}` }, letter), ", cents") })),
    `A circle, B square${many > 2 ? ", C triangle" : ""}; ±${most.toFixed(0)} cents`];
  return el("section", {}, el("h2", {}, "Each note"), table("How far each note is off, in cents", heads, rows, { class: "notes-beside" }));
}

/** @param {ComparisonRecord} found */
function changes(found) {
  return found.comparisons.filter((each) => each.remarks.length).flatMap((each) => [
    el("h3", {}, `${each.other} against ${each.first}`),
    bullets(each.remarks, { class: "soft" }),
  ]);
}

/**
 * @param {HTMLElement} main
 * @param {string[]} names
 * @param {AbortSignal} signal
 */
async function sheets(main, names, signal) {
  if (!names.length) return;
  const columns = names.map((name, at) => {
    const column = el("section", { class: "column", "aria-label": name }, el("p", {}, "Drawing…"));
    draw(column, names, at, signal);
    return column;
  });
  main.append(el("h2", {}, "Sheets"), el("div", { class: `columns-of-sheets of-${names.length}` }, columns));
}

/**
 * @param {HTMLElement} column
 * @param {string[]} names
 * @param {number} at
 * @param {AbortSignal} signal
 */
async function draw(column, names, at, signal) {
  const name = names[at];
  const tag = el("p", {}, el("span", { class: `tag mark-${MARKS[at]}` }, MARKS[at].toUpperCase()), " ", name);
  try {
    let [run, layout] = name.split("/");
    layout ??= best(await ask(pathOf("runs", run, "front"), { signal }));
    column.replaceChildren(tag, sheetOf(await text(pathOf("runs", run, "layouts", layout, "sheet"), signal)));
    heardBeside(column, names.filter((each) => each !== name && each.includes("/")), signal);
  } catch (error) {
    if (!left(error)) column.replaceChildren(tag, refusal(error));
  }
}

/** @param {FrontRecord} front */
function best(front) {
  return front.layouts.reduce((one, other) => (other.objectives.tuning < one.objectives.tuning ? other : one)).id;
}
