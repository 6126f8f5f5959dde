// What was measured of a prototype: notes of a recording or a tuner, sizes, an impedance; and wrong notes put right.

import { bullets, button, el, table } from "./dom.js";
import { API, ask, pathOf } from "./api.js";
import { figure, signed } from "./words.js";

/** @import { Bench } from "./prototype.js" */
/** @import { BookEntry, GaugedRecord, ImpedanceRecord, MeasurementRecord, NoteRecord, Taken, TakesRecord, TakenTone } from "./shapes.js" */

const OUT = "out";
/** @type {(words: string) => { words: string, figures: boolean }} */
const figures = (words) => ({ words, figures: true });
/** @type {(words: string) => { words: string, long: boolean }} */
const long = (words) => ({ words, long: true });

/**
 * The notes of a tuner table, or of a recording.
 * @param {Bench} bench
 * @param {BookEntry} entry
 * @param {MeasurementRecord} record
 */
export function notesShown(bench, entry, record) {
  const rows = record.notes.map((each) => [each.written, String(each.register_number), each.fingering, signed(each.cents), figure(each.sd_cents),
    String(each.takes.length), each.flags?.join(", ") || "–"]);
  const heads = ["note", "register", long("fingering"), figures("cents"), figures("±"), figures("takes"), "remark"];
  const sizes = sizesBeside(bench, entry);
  const fit = button("What do these notes say?", () => bench.go(pathOf("runs", bench.run, "book", entry.id, "fit"), { gauged: sizes.chosen() }, "Looking for the likeliest reed, air, bore and holes…"), { class: "main" });
  const remarks = record.remarks ?? [];
  return [
    table(`Cents above what is wanted at A4 = ${record.a4_hz} Hz, with one standard deviation of each note's own`, heads, rows),
    remarks.length ? bullets(remarks) : "",
    ...sizes.places,
    el("p", { class: "acts" }, fit),
  ];
}

/**
 * Gauge readings of the instrument as it was measured, to count beside its notes.
 * @param {Bench} bench
 * @param {BookEntry} entry
 */
function sizesBeside(bench, entry) {
  const gauged = bench.entries.filter((each) => each.kind === "gauge readings" && each.after === entry.after);
  const ticks = gauged.map((each) => ({ each, tick: el("input", { type: "checkbox", checked: true }) }));
  return {
    places: ticks.map(({ each, tick }) => el("label", { class: "tick" }, tick, ` with the sizes of entry ${each.id}, ${each.title}`)),
    chosen: () => ticks.filter(({ tick }) => tick.checked).map(({ each }) => each.id),
  };
}

/**
 * A recording: its picture, its notes, and its tones to be put right.
 * @param {Bench} bench
 * @param {BookEntry} entry
 * @param {MeasurementRecord} record
 */
export async function heardShown(bench, entry, record) {
  /** @type {TakesRecord} */
  const { takes } = await ask(pathOf("runs", bench.run, "book", entry.id, "takes"), { signal: bench.signal });
  return [picture(bench, entry, "Pitch of each take in time, with the notes found; all of it stands in the tables below"),
    ...notesShown(bench, entry, record), ...tonesShown(bench, entry, takes)];
}

/**
 * A picture of an entry, anew each time that it is shown.
 * @param {Bench} bench
 * @param {BookEntry} entry
 * @param {string} words
 */
export function picture(bench, entry, words) {
  const address = `${API}${pathOf("runs", bench.run, "book", entry.id, "picture")}`;
  return el("div", { class: "wide picture", tabindex: "0", role: "group", "aria-label": "picture" }, el("img", { src: `${address}?seen=${Date.now()}`, alt: words }));
}

/**
 * @param {Bench} bench
 * @param {BookEntry} entry
 * @param {Taken[]} takes
 */
function tonesShown(bench, entry, takes) {
  /** @type {{ take: number, tone: number, input: HTMLSelectElement, before: string }[]} */
  const chosen = [];
  const rows = takes.flatMap((taken, take) => taken.tones.map((tone, number) => {
    const before = tone.line === null ? OUT : String(tone.line);
    const input = lineChoice(bench, tone, before, `Note of the tone at ${tone.begin_s.toFixed(1)} s of ${taken.source}`);
    chosen.push({ take, tone: number, input, before });
    return [taken.source, figure(tone.begin_s), figure(tone.hz, 2), input, tone.by_hand ? `${tone.why} by hand`.trim() : tone.why || "–"];
  }));
  const changed = () => chosen.filter(({ input, before }) => input.value !== before);
  const send = button("Put these notes right", () => {
    const tones = changed().map(({ take, tone, input }) => ({ take, tone, line: input.value === OUT ? null : Number(input.value) }));
    if (tones.length) bench.go(pathOf("runs", bench.run, "book", entry.id, "assignments"), { tones }, "Counting anew…");
  }, { disabled: true });
  for (const { input } of chosen) input.addEventListener("change", () => { send.disabled = !changed().length; });
  const rest = takes.flatMap((taken) => taken.left_out.map((each) => `${taken.source}, ${figure(each.at_s)} s: ${each.why}`));
  return [
    el("h3", {}, "Was a note taken wrong?"),
    el("p", {}, "Choose what was played, or leave the tone out; then the cents follow."),
    table("Every tone that was heard, and what it was taken for", ["take", figures("at, s"), figures("pitch, Hz"), "note", long("why")], rows, { class: "tones" }),
    el("p", { class: "acts" }, send),
    rest.length ? el("details", { class: "drawer" }, el("summary", {}, "What sounds and is no tone"), bullets(rest)) : "",
  ];
}

/**
 * The notes that a tone can be, within three semitones in any octave, the nearest first.
 * @param {Bench} bench
 * @param {TakenTone} tone
 * @param {string} before
 * @param {string} label
 */
function lineChoice(bench, tone, before, label) {
  const away = (/** @type {NoteRecord} */ note) => {
    const cents = 1200 * Math.log2(tone.hz / note.target_hz);
    return Math.abs(cents - 1200 * Math.round(cents / 1200));
  };
  const notes = bench.layout.notes.map((note, line) => ({ note, line, cents: away(note) })).filter(({ cents, line }) => cents < 290 || String(line) === before);
  notes.sort((one, other) => one.cents - other.cents);
  const input = el("select", { "aria-label": label }, el("option", { value: OUT }, "left out"),
    ...notes.map(({ note, line }) => el("option", { value: String(line) }, `${note.written}${note.alternate ? "'" : ""}, ${note.touches}`)));
  input.value = before;
  return input;
}

/**
 * @param {Bench} _bench
 * @param {BookEntry} _entry
 * @param {GaugedRecord} record
 */
export function gaugedShown(_bench, _entry, record) {
  const rows = record.values.map((each) => [each.what.replace("_", " "), each.where, figure(each.drawn_mm, 2), figure(each.value_mm, 2), figure(each.sd_mm, 2),
    signed(each.drawn_mm === null || each.drawn_mm === undefined ? null : each.value_mm - each.drawn_mm, 2), each.tools.join(", ")]);
  const heads = ["what", "where", ...["as designed, mm", "gauged, mm", "±", "off by, mm"].map(figures), "with"];
  return [table("Sizes as they came out", heads, rows), record.remarks.length ? bullets(record.remarks) : ""];
}

/**
 * @param {Bench} bench
 * @param {BookEntry} entry
 * @param {ImpedanceRecord} record
 */
export function impedanceShown(bench, entry, record) {
  const rows = record.resonances.map((each) => [each.number === null ? "–" : String(each.number), figure(each.computed_hz), figure(each.measured_hz), signed(each.cents)]);
  const heads = ["resonance", ...["computed, Hz", "measured, Hz", "off by, cents"].map(figures)];
  return [
    el("p", { class: "outcome" }, `${record.note} (${record.touches}) in air of ${record.temperature_degC} °C: ${signed(record.median_cents)} cents in the middle of all resonances.`),
    picture(bench, entry, "Phase of the reflectance over frequency, measured and computed; the resonances stand in the table below"),
    table("Resonances of the duct without reed and player", heads, rows),
  ];
}
