// What the notes of a prototype say: of reed, air, bore and holes; bands before and after; what to measure next.

import { bullets, button, el, link, table } from "./dom.js";
import { API, pathOf } from "./api.js";
import { band, widest } from "./notes.js";
import { counted, figure, registerOf, signed, typeset } from "./words.js";

/** @import { Bench } from "./prototype.js" */
/** @import { BookEntry, CalibrationRecord, FittedNote } from "./shapes.js" */

const BAND = 1.645;
/** A band from 5 to 95 % is so many standard deviations wide either way. */
const WITHIN = 10;
/** @type {(words: string) => { words: string, figures: boolean }} */
const figures = (words) => ({ words, figures: true });

/**
 * @param {Bench} bench
 * @param {BookEntry} entry
 * @param {CalibrationRecord} found
 */
export function fitShown(bench, entry, found) {
  const place = pathOf("runs", bench.run, "book", entry.id);
  const correct = button("What is to be changed?", () => bench.go(`${place}/correction`, {}, "Weighing changes against all notes; this may take half a minute…"), { class: "main" });
  return [
    el("p", { class: "outcome" }, `By ${fittedOn(found)}: each main note is now known to ${figure(found.doubt_cents)} cents.`),
    ...told("What the notes say", found.says.length ? found.says : ["nothing beyond what was known"]),
    ...told("What they cannot say", found.cannot_say),
    ...told("Look at this first", found.looks_like),
    ...told("Outside of what was stated", found.outside),
    ...told("Of the measurement", found.remarks),
    bands(found.notes),
    ...next(found),
    el("p", { class: "acts" }, correct, " ", link("What other instruments take from it (TOML)", `${API}${place}/learned`, { download: "learned.toml" })),
  ];
}

/** @param {CalibrationRecord} found */
function fittedOn({ fitted_on: [notes, ...sizes] }) {
  return sizes.length ? `${notes} and ${counted(sizes.length, "gauged size")}` : notes;
}

/**
 * @param {string} heading
 * @param {string[]} lines
 */
const told = (heading, lines) => (lines.length ? [el("h3", {}, heading), bullets(lines.map(typeset))] : []);

/** @param {FittedNote[]} notes */
function bands(notes) {
  const reach = (/** @type {number} */ cents, /** @type {number} */ sd) => [cents - BAND * sd, cents + BAND * sd];
  const most = 1.05 * widest(notes.flatMap((each) => [...reach(each.designed_cents, each.designed_sd_cents), ...reach(each.cents, each.sd_cents)]));
  const drawn = (/** @type {FittedNote} */ note, /** @type {number} */ cents, /** @type {number} */ sd, /** @type {string} */ words) => {
    const [low, high] = reach(cents, sd);
    return band({ low, middle: cents, high, designed: note.measured_cents }, WITHIN, most, `${words} from ${signed(low)} to ${signed(high)} cents`);
  };
  const rows = notes.map((note) => [note.written, registerOf(note),
    drawn(note, note.designed_cents, note.designed_sd_cents, "before"), drawn(note, note.cents, note.sd_cents, "now"),
    signed(note.measured_cents), signed(note.cents), figure(note.sd_cents),
    note.alone_cents === null || note.alone_cents === undefined ? "–" : `${signed(note.alone_cents)} ± ${figure(note.alone_sd_cents)}`]);
  const heads = ["note", "register", "before", "now", ...["measured", "fitted", "±", "off what others say"].map(figures)];
  return table(`Notes in cents, bands from 5 to 95 %, ±${most.toFixed(0)} cents wide; circle: as measured; dashed: ±${WITHIN}`, heads, rows, { class: "bands" });
}

/** @param {CalibrationRecord} found */
function next(found) {
  const steps = found.next_best ?? [];
  if (!steps.length) return [];
  const verb = (/** @type {typeof steps[number]} */ { kind, name }) => (kind === "note" ? "play" : name === "temperature" ? "take the" : "gauge");
  const rows = steps.map((step) => [`${verb(step)} ${step.name}`, figure(step.doubt_cents, 2)]);
  return [el("h3", {}, "What to measure next"), table(`The ${counted(steps.length, "measurement")} that would say most, in order`, ["measure", figures("then known to, cents")], rows)];
}
