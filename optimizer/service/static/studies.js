// Studies of a layout: what becomes of its notes when it is made, what its limits cost, and ways out of a reach.

import { bullets, capital, cautions, choices, el, field, table } from "./dom.js";
import { pathOf, put } from "./api.js";
import { offerHands } from "./conditions.js";
import { filledIn, inquiry, number } from "./inquiry.js";
import { band, widest } from "./notes.js";
import { counted, figure, registerOf, signed } from "./words.js";

/** @import { DeviationRecord, FitSummary, HoleAdvice, NoteTolerance, PricesRecord, ReliefEntry, ReliefsRecord, ToleranceRecord } from "./shapes.js" */

const MOST_SHARES = 5;
const MOST_FREE = 8;
const BEFORE_MAKING = "Before anything is printed, drilled or glued";

/** @type {(share: number, places?: number) => string} */
const percent = (share, places = 0) => `${(100 * share).toFixed(places)} %`;
/** @type {(words: string) => { words: string, figures: boolean }} */
const figures = (words) => ({ words, figures: true });
/** @type {(words: string) => { words: string, long: boolean }} */
const long = (words) => ({ words, long: true });

/**
 * What making and playing do to its notes.
 * @param {string} run
 * @param {string} id
 * @param {AbortSignal} signal
 */
export function tolerance(run, id, signal) {
  const inputs = {
    samples: number("samples", 400, { min: 20, max: 10_000, step: 1 }),
    within_cents: number("within-cents", 10, { min: 0.1, max: 1200 }),
    worth_cents: number("worth-cents", 0.5, { min: 0.01, max: 100 }),
  };
  const { form, result } = inquiry({
    fields: [
      field("Instruments to draw at random", inputs.samples), field("All notes within, cents", inputs.within_cents),
      field("Worth reaming from, cents per 0.1 mm", inputs.worth_cents),
    ],
    words: "Work out the bands",
    waiting: "Drawing instruments at random…",
    ask: () => put(pathOf("runs", run, "layouts", id, "tolerance"), filledIn(inputs), signal),
    show: toleranceTold,
  });
  return [el("h2", {}, "What becomes of its notes"),
    el("p", { class: "soft" }, "No print comes out as drawn, and no day is like another. The layout is made and played many times over by chance, with the deviations of its project."),
    form, result];
}

/** @param {ToleranceRecord} found */
function toleranceTold(found) {
  const { chance, shares } = found;
  const matters = shares.slice(0, MOST_SHARES).map((each) => `${each.name}: ${percent(each.percent / 100)}`);
  const sources = (found.doubt ?? []).filter((each) => each.percent >= 0.5).map((each) => `${each.name} ${percent(each.percent / 100)}`);
  return [
    el("p", { class: "outcome" }, `In ${percent(chance.share)} of ${counted(found.samples, "instrument")} all ${counted(chance.notes, "main note")} lie within ±${chance.within_cents} cents.`),
    el("p", { class: "soft" }, `With 95 % confidence the share is between ${percent(chance.low)} and ${percent(chance.high)}.`),
    bands(found.notes, chance.within_cents),
    found.left_out.length ? el("p", { class: "warn" }, `Left out, as they do not sound: ${found.left_out.join(", ")}.`) : "",
    el("h3", {}, "What matters most, by its share of all variances"),
    matters.length ? bullets(matters) : el("p", {}, "Nothing: every deviation is 0."),
    sources.length ? el("p", { class: "soft" }, `By source, the formulas among them: ${sources.join(", ")}.`) : "",
    ...reaming(found),
    deviations(found.deviations),
    cautions(BEFORE_MAKING, found.cautions) ?? "",
  ];
}

/**
 * @param {NoteTolerance[]} notes
 * @param {number} within
 */
function bands(notes, within) {
  const most = 1.05 * widest([within, ...notes.flatMap(({ cents, drawn }) => [cents, drawn.p05, drawn.p95])]);
  const rows = notes.map(({ drawn, ...note }) => [
    note.written, registerOf(note),
    band({ low: drawn.p05, middle: drawn.p50, high: drawn.p95, designed: note.cents }, within, most,
      `designed ${signed(note.cents)}, made from ${signed(drawn.p05)} to ${signed(drawn.p95)} cents`),
    ...[note.cents, drawn.p05, drawn.p50, drawn.p95].map((each) => signed(each)), figure(note.making_sd_cents), figure(note.playing_sd_cents),
  ]);
  const heads = ["written", "register", `bands, ±${most.toFixed(0)} cents wide`,
    ...["designed", "5 % below", "half below", "95 % below", "± by making", "± by playing"].map(figures)];
  return table(`Each note over all the instruments, in cents; band: from 5 to 95 % of them; circle: as designed; dashed: ±${within}; ± by making and by playing: one standard deviation of the note, by bore, holes and shrinkage, and by air and reed`, heads, rows, { class: "bands" });
}

/** @param {ToleranceRecord} found */
function reaming({ holes, worth_cents: worth }) {
  const under = holes.filter((hole) => hole.under_mm);
  const heading = el("h3", {}, "Print under size and ream, from the bell up");
  if (!under.length) return [heading, el("p", {}, `No hole is worth it: none moves a note by ${worth} cents for 0.1 mm.`)];
  const heads = ["hole", ...["print at, mm", "under by, mm", "draw, mm"].map(figures), "listen to",
    ...["then flat by, cents", "certainly not sharp", "ream toward, mm", "until it stands at, cents"].map(figures)];
  return [heading, table(`Holes worth ${worth} cents or more for 0.1 mm; sizes at the layout's temperature, with the reed to be played`, heads, under.map(reamed))];
}

/** @param {HoleAdvice} hole */
function reamed(hole) {
  const drawn = [...new Set(hole.drawn_mm?.map((size) => size.toFixed(2)))].join(" × ");
  return [hole.hole, figure(hole.finished_mm, 2), figure(hole.under_mm, 2), drawn || "–", hole.note,
    figure(hole.flat_cents, 0), percent(hole.certainty ?? 0), figure(hole.diameter_mm, 2), signed(hole.reading_cents)];
}

/** @param {DeviationRecord[]} found */
function deviations(found) {
  const rows = found.map((each) => [capital(each.kind), `${each.sd} ${each.unit === "degC" ? "°C" : each.unit}`, each.varies, each.source]);
  const heads = ["what", figures("deviation, ±"), "how", long("where the figure comes from")];
  return el("details", { class: "drawer" }, el("summary", {}, "What may deviate"), table("One standard deviation of each", heads, rows));
}

/**
 * What each of its limits costs.
 * @param {string} run
 * @param {string} id
 * @param {AbortSignal} signal
 */
export function prices(run, id, signal) {
  const { form, result } = inquiry({
    fields: [],
    words: "Price the limits",
    waiting: "Solving again, with one limit after the other tightened; this may take a minute…",
    ask: () => put(pathOf("runs", run, "layouts", id, "prices"), undefined, signal),
    show: pricesTold,
  });
  return [el("h2", {}, "What its limits cost"),
    el("p", { class: "soft" }, "How much nearer in tune it could be, were a limit less tight: cents for each unit, where the layout rests when it is solved for tuning alone."),
    form, result];
}

/** @param {PricesRecord} found */
function pricesTold(found) {
  const rest = `As saved it is out by ${figure(found.saved_cents, 3)} cents RMS; solved for tuning alone from there, by ${figure(found.cents, 3)}.${found.rests === false ? " It had not come to rest when the time was up, so prices are rough." : ""}`;
  const rows = found.prices.map((each) => [each.sentence, signed(each.by_solving ?? each.by_multiplier, 2),
    each.most_moved ? `${each.most_moved.written} ${signed(each.most_moved.grows_cents, 2)}` : "–", each.remark,
    figure(each.by_multiplier, 3), figure(each.by_solving, 3)]);
  const heads = [long("tightened by a unit"), figures("costs, cents RMS"), "moves most, cents", long("remark"), figures("by multiplier"), figures("by solving again")];
  const nothing = found.kept ? "No limit costs anything: tuning is as good as it gets." : "No limit costs anything; but the layout breaks one, so prices say little.";
  const shown = found.free.slice(0, MOST_FREE).join(", ") + (found.free.length > MOST_FREE ? ` and ${found.free.length - MOST_FREE} more` : "");
  const bare = found.plates_off.map(({ hole, dearer_cents: dearer }) =>
    `${hole} bare, without its plate: ${dearer === null ? "no layout near by keeps all limits" : `${signed(dearer, 2)} cents RMS`}`);
  return [
    el("p", { class: "outcome" }, rest),
    rows.length ? table("Prices, dearest first", heads, rows) : el("p", {}, nothing),
    found.free.length ? el("p", { class: "soft" }, `These bind, and cost less than ${found.least_cents} cents a unit: ${shown}.`) : "",
    bare.length ? bullets(bare) : "",
  ];
}

/**
 * Ways out of the limits of a hand that bind in its run's project.
 * @param {string} run
 * @param {AbortSignal} signal
 */
export function waysOut(run, signal) {
  const hand = choices([{ value: "", words: "the project's own" }], { id: "relieved-hand" });
  const trouble = el("div");
  const { form, result } = inquiry({
    fields: [field("Whose hand", hand)],
    words: "Look for ways out",
    waiting: "Solving the project anew with each change; this may take a minute…",
    ask: () => put(pathOf("runs", run, "reliefs"), hand.value ? { hand: hand.value } : {}, signal),
    show: waysTold,
  });
  offerHands(hand, trouble, signal);
  return [el("h2", {}, "Ways out of a reach"),
    el("p", { class: "soft" }, "Where a limit of the hand stands in the way: what single changes of this run's project cost, each solved anew. What was found is kept with the run."),
    form, trouble, result];
}

/** @param {ReliefsRecord} found */
function waysTold(found) {
  const tried = found.reliefs.filter((each) => each.tried);
  const untried = found.reliefs.length - tried.length;
  const heads = [long("way out"), "keeps everything", ...["cents RMS", "cost, cents"].map(figures), long("binds no more")];
  const base = `Under the ${found.hand}, nothing changed: ${found.as_it_is.feasible ? "everything is kept" : keeps(found.as_it_is)}, ${figure(found.as_it_is.objectives.tuning, 2)} cents RMS.`;
  if (!found.hand_limits.length) {
    return [el("p", { class: "outcome" }, base), el("p", {}, "No limit of the hand binds in the layout nearest in tune: there is nothing to relieve.")];
  }
  return [
    el("p", { class: "outcome" }, base),
    el("p", {}, `Of the hand binds: ${found.hand_limits.join(", ")}.`),
    table("Single ways out, cheapest first", heads, tried.map(wayRow)),
    untried ? el("p", { class: "warn" }, `${counted(untried, "way")} of ${found.reliefs.length} not tried, for want of time.`) : "",
    el("p", { class: "soft" }, "Each is the best of a few solves: some tenths of a cent mean little."),
    cautions("Hands", found.cautions) ?? "",
  ];
}

/** @param {ReliefEntry} entry */
function wayRow({ sentence, fit, cost_cents: cost, relieved = [] }) {
  return [sentence, fit ? keeps(fit) : "–", figure(fit?.objectives.tuning, 2), signed(cost, 2), relieved.join(", ") || "–"];
}

/** @param {FitSummary} fit */
function keeps(fit) {
  if (fit.feasible) return "yes";
  const wrong = fit.violation_mm > 0 ? [`a limit broken by ${figure(fit.violation_mm, 2)} mm`] : [];
  if (fit.wrong_notes) wrong.push(`${counted(fit.wrong_notes, "note")} not as wanted`);
  return `no: ${wrong.join(", ")}`;
}
