// Other conditions: a layout's notes in other air or at another pitch, and how it lies under another hand.

import { bullets, cautions, choices, el, field, refusal, table } from "./dom.js";
import { aboutService, handsOffered, left, pathOf, put } from "./api.js";
import { filledIn, inquiry, number } from "./inquiry.js";
import { marks, widest } from "./notes.js";
import { figure, registerOf, signed } from "./words.js";

/** @import { LayoutRecord, NoteRecord, HandRecord, PredictionRecord } from "./shapes.js" */

/**
 * The view's part on other conditions.
 * @param {string} run
 * @param {LayoutRecord} record
 * @param {AbortSignal} signal
 */
export function conditions(run, record, signal) {
  const { air, a4_hz: a4 } = record.reference;
  const degrees = { min: 0, max: 40 };
  const inputs = {
    reed_degC: number("reed-degC", air.reed_degC, degrees),
    bell_degC: number("bell-degC", air.bell_degC, degrees),
    a4_hz: number("a4-hz", a4, { min: 380, max: 480 }),
  };
  const hand = choices([{ value: "", words: "as designed" }], { id: "other-hand" });
  const care = el("div");
  const trouble = el("div");
  const { form, result } = inquiry({
    fields: [
      field("Air at the reed, °C", inputs.reed_degC), field("Air at the bell, °C", inputs.bell_degC),
      field("Pitch of A4, Hz", inputs.a4_hz), field("Hand", hand),
    ],
    words: "Predict",
    waiting: "Working it out…",
    ask: () => put(pathOf("runs", run, "layouts", record.id, "prediction"), { ...filledIn(inputs), ...(hand.value ? { hand: hand.value } : {}) }, signal),
    show: (/** @type {PredictionRecord} */ found) => told(found, record.notes),
  });
  offerHands(hand, trouble, signal);
  aboutService().then((about) => care.replaceChildren(cautions("Hands", about.cautions_of_hands) ?? ""), () => {}); // its failure is the hands' too
  return [el("h2", {}, "Other conditions"),
    el("p", { class: "soft" }, "As it was designed stands in the fields; change what differs."),
    form, trouble, care, result];
}

/**
 * Put the hands that are offered into a list of choices; why not, where that fails, into a place for it.
 * @param {HTMLSelectElement} list
 * @param {HTMLElement} trouble
 * @param {AbortSignal} signal
 */
export async function offerHands(list, trouble, signal) {
  try {
    list.append(...(await handsOffered(signal)).map((each) => el("option", { value: each.name }, each.title)));
  } catch (error) {
    if (!left(error)) trouble.replaceChildren(refusal(error));
  }
}

/**
 * @param {PredictionRecord} found
 * @param {NoteRecord[]} designed
 */
function told(found, designed) {
  const air = `${figure(found.air.reed_degC, 1)} °C at the reed, ${figure(found.air.bell_degC, 1)} °C at the bell, A4 at ${figure(found.a4_hz, 1)} Hz`;
  const said = found.mean_cents === null ? "No note sounds." :
    `On average ${signed(found.mean_cents)} cents, from ${signed(found.least_cents)} to ${signed(found.most_cents)}.`;
  return [el("h3", {}, `At ${air}`), el("p", { class: "outcome" }, said), noteTable(found.notes, designed), ...(found.hand ? underHand(found.hand) : [])];
}

/**
 * @param {NoteRecord[]} notes
 * @param {NoteRecord[]} designed
 */
function noteTable(notes, designed) {
  const most = widest([...notes, ...designed].map((note) => note.cents));
  const rows = notes.map((note, at) => {
    const was = designed[at]?.cents ?? null;
    const change = note.cents === null || was === null ? null : note.cents - was;
    const label = `designed ${signed(was)}, then ${signed(note.cents)} cents`;
    return [note.written, registerOf(note), signed(was), signed(note.cents), signed(change),
      marks([was, note.cents], most, label), note.status === "ok" ? "" : note.status];
  });
  const heads = ["written", "register", { words: "designed, cents", figures: true }, { words: "then, cents", figures: true },
    { words: "change", figures: true }, `circle designed, square then; ±${most.toFixed(0)}`, "remark"];
  return table("Each note under these conditions", heads, rows, { class: "prediction" });
}

/** @param {HandRecord} hand */
function underHand(hand) {
  return [
    el("h3", {}, `Under the ${hand.name}`),
    el("p", { class: "soft" }, hand.source),
    hand.troubles.length ? el("div", { class: "bad" }, bullets(hand.troubles)) : el("p", { class: "good" }, "Every limit of this hand is kept."),
    hand.remarks.length ? bullets(hand.remarks) : "",
  ];
}
