// The few changes that bring a prototype into tune: a list to tick, what was measured afterwards, and the history.

import { bullets, cautions, el, link, table } from "./dom.js";
import { API, pathOf } from "./api.js";
import { picture } from "./measured.js";
import { counted, figure, registerOf, signed, typeset } from "./words.js";

/** @import { Bench } from "./prototype.js" */
/** @import { BookEntry, CorrectionRecord, CorrectionStep } from "./shapes.js" */

/** @type {(words: string) => { words: string, figures: boolean }} */
const figures = (words) => ({ words, figures: true });
/** @type {(words: string) => { words: string, long: boolean }} */
const long = (words) => ({ words, long: true });

/**
 * @param {Bench} bench
 * @param {BookEntry} entry
 * @param {CorrectionRecord} found
 */
export function correctionShown(bench, entry, found) {
  const [before, after] = [found.history.filter((each) => each.what === "measured").at(-1), found.history.filter((each) => each.what === "corrected").at(-1)];
  const now = found.steps.filter((step) => step.now);
  const reprint = found.reprint ? [`${found.reprint.words}, to ${figure(found.reprint.rms_cents)} cents RMS`] : [];
  return [
    el("p", { class: "outcome" }, now.length
      ? `Pass ${found.number}: ${counted(now.length, "change")}, from ${figure(before?.rms_cents)} to ${figure(after?.rms_cents)} cents RMS, worst note from ${figure(before?.worst_cents)} to ${figure(after?.worst_cents)}.`
      : `Pass ${found.number}: nothing to change now, at ${figure(before?.rms_cents)} cents RMS.`),
    ...(found.steps.length ? [stepList(bench, entry, found.steps)] : []),
    bullets([...found.remarks ?? [], ...reprint]),
    cautions("Before anything is cut or reamed", found.cautions ?? []) ?? "",
    el("h3", {}, "History"),
    picture(bench, entry, "How far each main note was off, as designed, measured and corrected; the figures stand in the table below"),
    table("How far the main notes were off, cents", ["when", figures("RMS"), figures("worst")], found.history.map((each) => [stageWords(each), figure(each.rms_cents), figure(each.worst_cents)])),
    notes(found),
    el("p", {}, link("The list as a page to print", `${API}${pathOf("runs", bench.run, "book", entry.id, "page")}`, { target: "_blank", rel: "noopener" })),
  ];
}

/**
 * The list, in bench order: ticked and with what was measured where that is noted already.
 * @param {Bench} bench
 * @param {BookEntry} entry
 * @param {CorrectionStep[]} steps
 */
function stepList(bench, entry, steps) {
  const done = new Map((entry.done ?? []).map((each) => [each.number, each.amount]));
  const lines = steps.map((step) => new Line(step, done));
  const save = el("button", { type: "submit", class: "main" }, "Note what was done");
  const submit = (/** @type {SubmitEvent} */ event) => {
    event.preventDefault();
    const sent = lines.filter((line) => line.tick.checked).map((line) => ({ number: line.step.number, amount: Number(line.amount.value) }));
    bench.go(pathOf("runs", bench.run, "book", entry.id, "done"), { steps: sent }, "Working out what the instrument is by now…");
  };
  const heads = ["done", long("step"), figures("in the end"), "measured afterwards"];
  const said = entry.done
    ? `Noted: ${counted(entry.done.length, "step")} done. Choose above that the instrument is corrected as in entry ${entry.id}, and measure it again.`
    : "Tick what you did, and write how much it came to; what the next measurement is held against follows from that.";
  return el("form", { on: { submit } }, table("In the order they are done; what can be taken back comes first", heads, lines.map((line) => line.cells), { class: "shelf cards" }),
    el("p", { class: "soft" }, said), el("p", { class: "acts" }, save));
}

class Line {
  /**
   * @param {CorrectionStep} step
   * @param {Map<number, number>} done
   */
  constructor(step, done) {
    this.step = step;
    const unit = step.unit === "mm3" ? "mm³" : "mm";
    const name = `step ${step.number}`;
    this.tick = el("input", { type: "checkbox", "aria-label": `${name} done` });
    this.tick.checked = done.has(step.number);
    this.amount = el("input", { type: "number", step: "any", value: done.get(step.number) ?? step.now, "aria-label": `${name}, measured afterwards, ${unit}` });
    this.cells = [this.tick, `${step.number}. ${typeset(step.words)}`, typeset(`${figure(step.whole, step.unit === "mm3" ? 0 : 2)} ${unit}`), el("span", {}, this.amount, ` ${unit}`)];
  }
}

/** @param {CorrectionRecord["history"][number]} stage */
function stageWords({ what, number }) {
  return what === "designed" ? "as designed" : what === "measured" ? `measured, pass ${number}` : `as pass ${number} should leave it`;
}

/** @param {CorrectionRecord} found */
function notes(found) {
  const rows = found.notes.map((note) => [note.written, registerOf(note), signed(note.cents), figure(note.sd_cents), signed(note.after_pass_cents), signed(note.after_cents)]);
  return table("Each note, cents", ["note", "register", ...["as measured", "±", "after this pass", "after the whole list"].map(figures)], rows);
}
