// Lower notes: what it costs to carry an instrument on below its lowest note, three ways.

import { announce, bullets, button, capital, cautions, el, field, link, refusal, say, table } from "./dom.js";
import { API, ask, bare, every, left, pathOf, put, remove } from "./api.js";
import { filledIn } from "./inquiry.js";
import { pins } from "./pins.js";
import { draft, ProjectForm } from "./project_form.js";
import { atRest, extensionWords, figure, registerOf, signed, stateGlyph, when } from "./words.js";

/** @import { ExtensionRecord, ExtensionSummary, Redrilled, RunList, WayEntry } from "./shapes.js" */

/** @type {Record<WayEntry["way"], string>} */
const WAYS = { free: "All printed anew", kept: "Pieces kept as they are", redrilled: "Pieces kept, some holes opened up" };

/**
 * @param {HTMLElement} main
 * @param {AbortSignal} signal
 */
export function showLow(main, signal) {
  const kept = draft("low");
  const values = kept.read();
  /** @type {() => void} */
  const keep = () => kept.write({ ...form.values, present: present.value, minutes: minutes.value, keep: keepPieces.value, redrill: redrill.value });
  /** @type {(id: string, value: string, more: Record<string, unknown>) => HTMLInputElement} */
  const number = (id, value, more) => el("input", { id, type: "number", inputmode: "decimal", value, on: { input: () => keep() }, ...more });
  /** @type {HTMLInputElement} */
  const present = el("input", { id: "present", list: "presents", required: true, pattern: "[\\w.\\-]+(/[\\w\\-]+)?", value: values.present ?? pins()[0] ?? "", autocomplete: "off", on: { input: () => keep() } });
  const known = el("datalist", { id: "presents" });
  const minutes = number("low-minutes", values.minutes ?? "4", { min: "0.1", step: "any", required: true });
  const keepPieces = number("low-keep", values.keep ?? "", { min: "1", max: "20", step: "1" });
  const redrill = number("low-redrill", values.redrill ?? "3", { min: "0", max: "100", step: "1", required: true });
  const form = new ProjectForm(signal, values, keep);
  const trouble = el("div");
  const listed = el("div");
  const submit = el("button", { type: "submit", class: "main" }, "Work out what it costs");
  const send = form.sender(submit, trouble, () => "Being put in the queue…", async () => {
    const more = { present: present.value.trim(), ...filledIn({ minutes, redrill, keep: keepPieces }) };
    /** @type {ExtensionSummary} */
    const made = await put("extensions", { ...form.sent, ...more }, signal);
    location.hash = `#/low/${made.id}`;
  });
  main.append(
    el("h1", {}, "Lower notes"),
    el("p", {}, "What an instrument that is already printed loses when it is carried on to lower notes: printed anew, with its upper pieces kept, or with a few of their holes opened up."),
    listed,
    el("form", { on: { submit: send } },
      el("fieldset", {}, el("legend", {}, "Present instrument"),
        field("Run, or run and layout", present, "RUN for its best-tuned layout, or RUN/LAYOUT; pinned ones and runs are offered."), known),
      ...form.parts("Extended instrument"),
      el("fieldset", {}, el("legend", {}, "How"), el("div", { class: "fields" },
        field("Minutes at most", minutes), field("Pieces to keep, from the reed", keepPieces, "Left empty: all but the last."),
        field("Holes to open up, at most", redrill))),
      trouble, el("p", { class: "acts" }, submit)),
  );
  form.begin();
  offerPresent(known, signal);
  list(listed, signal);
}

/**
 * @param {HTMLDataListElement} known
 * @param {AbortSignal} signal
 */
async function offerPresent(known, signal) {
  try {
    /** @type {RunList} */
    const { runs } = await ask("runs?limit=100", { signal });
    const names = [...pins(), ...runs.filter((run) => run.layouts).map((run) => run.id)];
    known.append(...[...new Set(names)].map((name) => el("option", { value: name })));
  } catch {
    // the field takes any name
  }
}

/**
 * @param {HTMLElement} place
 * @param {AbortSignal} signal
 */
function list(place, signal) {
  let shown = "";
  const look = async () => {
    try {
      /** @type {ExtensionSummary[]} */
      const found = await ask("extensions", { signal });
      const now = JSON.stringify(found);
      if (now === shown) return;
      shown = now;
      const rows = found.map((each) => [link(each.id, `#/low/${each.id}`), each.present, each.extended, capital(extensionWords(each)), when(each.asked)]);
      place.replaceChildren(found.length ? table("Worked out so far", ["extension", "present", "extended", "state", "asked"], rows) : "");
    } catch (error) {
      if (left(error)) return;
      shown = "";
      place.replaceChildren(refusal(error));
    }
  };
  every(20, signal, look)();
}

/**
 * @param {HTMLElement} main
 * @param {AbortSignal} signal
 * @param {string} id
 */
export function showExtension(main, signal, id) {
  const state = el("p", { class: "state" });
  const lost = el("div");
  const trouble = el("div");
  const result = el("div");
  let rests = false;
  let drawn = false;
  const attempt = async (/** @type {() => Promise<void>} */ act) => {
    trouble.replaceChildren();
    try {
      await act();
    } catch (error) {
      trouble.replaceChildren(refusal(error));
    }
    look();
  };
  const cancel = button("Cancel", () => attempt(() => bare(pathOf("extensions", id, "cancel"))));
  const away = button("Delete", () => attempt(async () => {
    await remove(pathOf("extensions", id));
    location.hash = "#/low";
    announce("The extension is deleted; it can be brought back from the shelf's deleted runs.");
  }));
  const look = every(() => (rests ? 60 : 3), signal, async () => {
    try {
      /** @type {ExtensionSummary} */
      const found = await ask(pathOf("extensions", id), { signal });
      rests = atRest(found);
      cancel.hidden = rests;
      away.hidden = !rests;
      say(state, `${stateGlyph(found)} ${found.present} to ${found.extended}: ${extensionWords(found)}. ${found.message}`.trim());
      if (found.state === "ended" && !drawn) {
        result.replaceChildren(...outcome(await ask(pathOf("extensions", id, "record"), { signal }), id));
        drawn = true;
        announce("The extension is worked out.");
      }
      lost.replaceChildren();
    } catch (error) {
      if (left(error)) return;
      const told = refusal(error);
      if (told.textContent !== lost.textContent) lost.replaceChildren(told);
    }
  });
  main.append(el("p", { class: "trail" }, link("Lower notes", "#/low"), " / "), el("h1", {}, id), state,
    el("p", { class: "acts" }, cancel, away), lost, trouble, result);
  look();
}

/**
 * @param {ExtensionRecord} record
 * @param {string} id
 */
function outcome(record, id) {
  const ways = record.ways;
  const heads = ["way", ...ways.map((way) => WAYS[way.way])];
  /** @type {(words: string, of: (way: WayEntry) => string) => string[]} */
  const row = (words, of) => [words, ...ways.map(of)];
  const holes = (/** @type {Redrilled[]} */ found) => found.map((each) => `${each.hole}: ${each.from_mm.toFixed(2)} to ${each.to_mm.toFixed(2)} mm`).join(", ") || "none";
  const rows = [
    row("meets every limit", (way) => (way.fit.feasible ? "yes" : "NO")),
    row("notes of both, RMS cents", (way) => figure(way.common_rms_cents, 2)),
    row(`cost against ${figure(record.before_rms_cents, 2)} cents before`, (way) => signed(way.cost_cents, 2)),
    row("worst note of both, cents", (way) => figure(way.common_worst_cents, 1)),
    row("pieces to print, from the reed", (way) => way.print_pieces.join(", ") || "none"),
    row("holes to open up", (way) => holes(way.redrill)),
    row("reed volume, cm³", (way) => figure(way.reed_volume_cm3, 4)),
  ];
  return [
    el("h2", {}, "Three ways"),
    bullets(ways.map((way) => `${capital(way.sentence)}.`)),
    table("What the lower notes cost", heads, rows),
    el("p", {}, `New notes: ${record.new_notes.join(", ")}.`),
    el("p", { class: "acts" }, link("As a page, to print or keep", API + pathOf("extensions", id, "page"), { target: "_blank", rel: "noopener" })),
    notes(ways),
    cautions("Before anything is printed, drilled or glued", record.cautions) ?? "",
  ];
}

/** @param {WayEntry[]} ways */
function notes(ways) {
  const first = ways[0]?.notes ?? [];
  const rows = first.map((note, at) => [
    note.written, registerOf(note), signed(note.before_cents),
    ...ways.map((way) => signed(way.notes[at]?.after_cents)),
  ]);
  const heads = ["written", "register", { words: "before", figures: true }, ...ways.map((way) => ({ words: WAYS[way.way].toLowerCase(), figures: true }))];
  return table("Each note that was there before, in cents", heads, rows);
}
