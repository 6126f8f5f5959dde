// All ways to finger a note on a layout; one of them becomes a line of the chart in a project to submit.

import { announce, bullets, button, choices, el, field, refusal, table } from "./dom.js";
import { left, pathOf, put } from "./api.js";
import { filledIn, inquiry, number } from "./inquiry.js";
import { draft, openAsNew } from "./project_form.js";
import { figure, signed } from "./words.js";

/** @import { BegunProject, FingeringsRecord, FoundFingering, LayoutRecord } from "./shapes.js" */

const KINDS = { chart: "in the chart", trill: "trill", alternate: "alternate" };
const MEANING = [
  "Effort: from both neighbours in the scale; fingers that move, slides and contrary motion counted more (rules of thumb, no source).",
  "Over the lower peak: below 1.2 a note may fall to the one below. Sharpness: of its resonance, over that of the main fingering.",
  "Trill: one finger alone moves from a neighbour.",
];

/**
 * @param {string} run
 * @param {LayoutRecord} record
 * @param {AbortSignal} signal
 */
export function fingerings(run, record, signal) {
  const notes = [...new Set(record.notes.map((each) => each.written))];
  const which = choices(notes.map((note) => ({ value: note, words: note })), { id: "fingered" });
  const inputs = {
    off_cents: number("off-cents", 0, { min: -100, max: 100 }),
    within_cents: number("fingered-within", 15, { min: 1, max: 50 }),
  };
  const { form, result } = inquiry({
    fields: [
      field("Note", which), field("Beside it, cents", inputs.off_cents, "50: the quarter tone above"),
      field("Off by at most, cents", inputs.within_cents),
    ],
    words: "Find fingerings",
    waiting: "Looking through all fingerings…",
    ask: () => put(pathOf("runs", run, "layouts", record.id, "fingerings"), { ...filledIn(inputs), notes: [which.value] }, signal),
    show: (/** @type {FingeringsRecord} */ found) => told(run, found, signal),
  });
  return [el("h2", {}, "Other fingerings"),
    el("p", { class: "soft" }, "Every fingering that two hands can hold is looked through; those near the note are worked out as the layout's own notes are."),
    form, result];
}

/**
 * @param {string} run
 * @param {FingeringsRecord} found
 * @param {AbortSignal} signal
 */
function told(run, found, signal) {
  const [note] = found.notes;
  const looked = el("p", { class: "soft" }, `Of ${found.fingerings} fingerings; ${note.left_out ? `${note.left_out} more are not shown.` : "all that fit are shown."}`);
  if (!note.ways.length) return [el("p", { class: "outcome" }, `No way within ${found.within_cents} cents.`), looked];
  const trouble = el("div");
  const heads = ["fingering", "kind", ...["register", "cents", "±", "effort", "over the lower peak", "sharpness"].map((words) => ({ words, figures: true })), "chart"];
  const rows = note.ways.map((way) => [
    way.touches, KINDS[way.kind], String(way.register_number), signed(way.cents), figure(way.sd_cents), String(way.effort),
    figure(way.height_over_lower, 2), figure(way.quality_over_main, 2),
    way.kind === "chart" || note.off_cents ? "" : adding(run, way, trouble, signal),
  ]);
  const beside = note.off_cents ? ` ${signed(note.off_cents, 0)} cents` : "";
  return [table(`Ways to ${note.written}${beside}, the best first`, heads, rows, { class: "ways-to-a-note" }), looked, trouble, bullets(MEANING, { class: "soft" })];
}

/**
 * @param {string} run
 * @param {FoundFingering} way
 * @param {HTMLElement} trouble
 * @param {AbortSignal} signal
 */
function adding(run, way, trouble, signal) {
  const add = async () => {
    trouble.replaceChildren();
    try {
      const added = draft("added"), typed = draft("new").read().project;
      const earlier = added.read().run === run ? added.read() : { lines: [], project: undefined, before: typed };
      const lines = [...new Set([...earlier.lines, way.line])];
      /** @type {BegunProject} */
      const made = await put(pathOf("runs", run, "chart-lines"), { lines }, signal);
      const before = earlier.project === typed ? earlier.before : typed; // what was typed since is not lost either
      added.write({ run, lines, project: made.project, before });
      openAsNew(made.project, before);
      announce("The line is in the chart; look at the project before it is searched.");
    } catch (error) {
      if (!left(error)) trouble.replaceChildren(refusal(error));
    }
  };
  return button("Add", add, { "aria-label": `Add ${way.touches} to the chart` });
}
