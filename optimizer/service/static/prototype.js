// A layout once it is built: sheets for the bench, files from it, and the bench book of what they said.

import { announce, button, capital, choices, el, field, link, refusal, say, table } from "./dom.js";
import { aboutService, API, ask, left, pathOf, put, remove } from "./api.js";
import { correctionShown } from "./correction.js";
import { fitShown } from "./fit.js";
import { follow } from "./follow.js";
import { waits } from "./inquiry.js";
import { gaugedShown, heardShown, impedanceShown, notesShown } from "./measured.js";
import { when } from "./words.js";

/** @import { BookEntry, LayoutRecord } from "./shapes.js" */
/** @typedef {{ run: string, id: string, signal: AbortSignal, layout: LayoutRecord, entries: BookEntry[], go: (path: string, body: unknown, words: string) => Promise<void> }} Bench what all entries share; entries: those of the layout; go: ask for an entry and show it */

const SOUND = /\.(wav|flac|ogg|oga|mp3|aiff?)$/i;
const ACCEPTED = ".wav,.flac,.ogg,.oga,.mp3,.aiff,.csv,.toml,.txt,.s1p,audio/*";
/** @type {Record<BookEntry["kind"], (bench: Bench, entry: BookEntry, record: any) => Promise<(Node | string)[]> | (Node | string)[]>} */
const SHOWN = {
  recording: heardShown, "tuner table": notesShown, "gauge readings": gaugedShown, impedance: impedanceShown, fit: fitShown,
  correction: correctionShown,
};

/**
 * @param {HTMLElement} main
 * @param {AbortSignal} signal
 * @param {string} run
 * @param {string} id
 */
export function showPrototype(main, signal, run, id) {
  new Prototype(main, signal, run, id).begin();
}

class Prototype {
  /**
   * @param {HTMLElement} main
   * @param {AbortSignal} signal
   * @param {string} run
   * @param {string} id
   */
  constructor(main, signal, run, id) {
    this.run = run;
    this.id = id;
    this.signal = signal;
    /** @type {LayoutRecord | null} */
    this.layout = null;
    this.most = Infinity;
    this.said = el("div", { role: "log", "aria-label": "what became of the files" });
    this.stage = choices([{ value: "", words: "as it was printed" }], { id: "stage" });
    this.book = el("div");
    this.trouble = el("div");
    this.line = el("p", { class: "line", role: "status" });
    /** @type {BookEntry[]} */
    this.entries = [];
    /** @type {BookEntry | null} */
    this.shown = null;
    /** @type {string | null | undefined} */
    this.mark = undefined;
    this.open = el("section", { class: "other", "aria-label": "entry", tabindex: "-1" });
    this.sheets = el("p", {});
    this.stage.addEventListener("change", () => this.offerSheets());
    this.given = givenFields();
    main.append(
      el("p", { class: "trail" }, link("Shelf", "#/"), " / ", link(run, `#/run/${run}`), " / ", link(id, `#/run/${run}/layout/${id}`), " / "),
      el("h1", {}, `Prototype of layout ${id}`),
      el("p", {}, "Once it is built, the instrument answers: measure its notes, see what they say of reed, air, bore and holes, and which few changes bring it into tune."),
      el("section", { "aria-label": "bench sheets" }, el("h2", {}, "To the bench"), field("The instrument is", this.stage), this.sheets),
      el("section", { "aria-label": "files" }, el("h2", {}, "Back from the bench"), this.drop(), this.given.place, this.said),
      el("section", { "aria-label": "bench book" }, el("h2", {}, "Bench book"), this.line, this.book, this.trouble),
      this.open,
    );
    this.offerSheets();
  }

  async begin() {
    try {
      const [layout, about] = await Promise.all([ask(pathOf("runs", this.run, "layouts", this.id), { signal: this.signal }), aboutService()]);
      this.layout = layout;
      this.most = about.upload_bytes_most;
      const entries = await this.list();
      if (entries.length) await this.show(entries[entries.length - 1], false);
      follow(this.run, this.signal, {
        moment: (moment) => this.written(moment.book),
        gone: () => say(this.line, "This run was deleted."),
        line: (words) => say(this.line, words),
      });
    } catch (error) {
      if (!left(error)) this.book.replaceChildren(refusal(error));
    }
  }

  /**
   * List the book anew once something was written to it, be it in another window or by a command.
   * @param {string | null} mark
   */
  async written(mark) {
    const first = this.mark === undefined;
    if (mark === this.mark) return;
    this.mark = mark;
    if (first) return;
    try {
      await this.list();
    } catch (error) {
      if (!left(error)) this.trouble.replaceChildren(refusal(error));
      return;
    }
    const { shown } = this;
    const now = this.entries.find((each) => each.id === shown?.id);
    if (!shown || JSON.stringify(now) === JSON.stringify(shown)) return;
    const words = now ? `Entry ${shown.id} was changed elsewhere. ` : `Entry ${shown.id} was taken out of the book.`;
    this.open.querySelector(".elsewhere")?.remove();
    this.open.prepend(el("p", { class: "elsewhere", role: "status" }, words, now && button("Show it as it is now", () => this.show(now, true))));
  }

  offerSheets() {
    const after = this.stage.value ? `?after=${this.stage.value}` : "";
    const base = `${API}${pathOf("runs", this.run, "layouts", this.id)}`;
    this.sheets.replaceChildren(
      link("Table of its notes to fill in", `${base}/bench-sheet${after}`, { download: "", class: "download" }),
      " for a tuner, the most telling notes first; ",
      link("table of gauge readings", `${base}/gauge-sheet${after}`, { download: "", class: "download" }),
      " for pins, calipers and rulers.",
    );
  }

  /** The place where files are dropped, and a button for those who do not drop. */
  drop() {
    const place = el("div", { class: "drop" });
    const file = el("input", { id: "files", type: "file", multiple: true, accept: ACCEPTED, on: { change: () => {
      this.take([...(file.files ?? [])]);
      file.value = "";
    } } });
    const over = (/** @type {DragEvent} */ event) => {
      event.preventDefault();
      place.classList.add("over");
    };
    const off = () => place.classList.remove("over");
    const dropped = (/** @type {DragEvent} */ event) => {
      event.preventDefault();
      off();
      this.take([...(event.dataTransfer?.files ?? [])]);
    };
    for (const [event, act] of Object.entries({ dragenter: over, dragover: over, dragleave: off, drop: dropped })) {
      place.addEventListener(event, /** @type {EventListener} */ (act));
    }
    place.append(
      field("Recordings, tuner tables, gauge readings, impedances", file,
        "Choose files, or drop them here. Recordings that come together count as one session; WAV, FLAC or OGG, tables as CSV, impedances as CSV or .s1p."));
    return place;
  }

  /** @param {File[]} files */
  async take(files) {
    let into = "";
    /** @type {BookEntry | null} */
    let last = null;
    for (const file of files) {
      const line = el("div", {}, waits(`${file.name}: being read…`));
      this.said.append(line);
      try {
        const sound = SOUND.test(file.name);
        last = await this.send(file, sound ? into : "");
        if (sound && last.kind === "recording") into = last.id;
        line.replaceChildren(`${file.name}: read as ${last.kind}, entry ${last.id}.`);
      } catch (error) {
        if (left(error)) return;
        line.replaceChildren(el("span", {}, `${file.name}: `), refusal(error));
      }
    }
    if (!last) return;
    await this.list();
    await this.show(last, true);
  }

  /**
   * @param {File} file
   * @param {string} into
   * @returns {Promise<BookEntry>}
   */
  send(file, into) {
    if (file.size > this.most) throw new Error(`a file may have at most ${this.most / 1e6} MB; cut a recording into takes, or save it as FLAC`);
    const asked = new URLSearchParams({ name: file.name.slice(-60).replace(/^\.+/, ""), ...this.given.values(), ...(into ? { into } : {}), ...(this.stage.value ? { after: this.stage.value } : {}) });
    return ask(`${pathOf("runs", this.run, "layouts", this.id, "book")}?${asked}`, { method: "POST", body: file, signal: this.signal });
  }

  /** List the book, and the stages that the instrument can be at. */
  async list() {
    /** @type {BookEntry[]} */
    const entries = await ask(`${pathOf("runs", this.run, "book")}?layout=${encodeURIComponent(this.id)}`, { signal: this.signal });
    if (entries.length && JSON.stringify(entries) === JSON.stringify(this.entries)) return entries;
    this.entries = entries;
    const rows = entries.map((each) => [each.id, capital(each.kind), each.title.replace(`${each.kind} `, "").replace(/^of /, ""), this.stageOf(each.after), when(each.written),
      el("span", { class: "acts" }, button("Show", () => this.show(each, true), { "aria-label": `Show entry ${each.id}` }),
        button("Take out", () => this.takeOut(each), { "aria-label": `Take out entry ${each.id}` }))]);
    const heads = ["entry", "what", { words: "of", long: true }, "instrument", "written", "to do"];
    this.book.replaceChildren(entries.length ? table("What was measured and found, in order", heads, rows, { class: "shelf" }) : el("p", {}, "Nothing was measured yet."));
    const chosen = this.stage.value;
    const corrections = entries.filter((each) => each.kind === "correction");
    this.stage.replaceChildren(...[{ value: "", words: "as it was printed" }, ...corrections.map((each) => ({ value: each.id, words: this.stageOf(each.id) }))]
      .map((each) => el("option", { value: each.value }, each.words)));
    if ([...this.stage.options].some((each) => each.value === chosen)) this.stage.value = chosen;
    return entries;
  }

  /** @param {string | null} after */
  stageOf(after) {
    return after ? `corrected as in entry ${after}` : "as it was printed";
  }

  /** @param {BookEntry} entry */
  async takeOut(entry) {
    try {
      await remove(pathOf("runs", this.run, "book", entry.id));
      if (this.shown?.id === entry.id) {
        this.shown = null;
        this.open.replaceChildren();
      }
      await this.list();
      this.trouble.replaceChildren();
      announce(`Entry ${entry.id} is out of the book.`);
    } catch (error) {
      if (!left(error)) this.trouble.replaceChildren(refusal(error));
    }
  }

  /**
   * Show an entry.
   * @param {BookEntry} entry
   * @param {boolean} focus
   */
  async show(entry, focus) {
    this.shown = entry;
    const heading = el("h2", { tabindex: "-1" }, `Entry ${entry.id}: ${entry.kind}`);
    this.open.replaceChildren(heading, el("p", {}, "Being read…"));
    try {
      const record = await ask(pathOf("runs", this.run, "book", entry.id, "record"), { signal: this.signal });
      const told = el("p", { class: "soft" }, `${capital(entry.title)}; the instrument ${this.stageOf(entry.after)}.`);
      this.open.replaceChildren(heading, told, ...(await SHOWN[entry.kind](this.bench(), entry, record)));
    } catch (error) {
      if (!left(error)) this.open.replaceChildren(heading, refusal(error));
    }
    if (focus) heading.focus();
  }

  /** @returns {Bench} */
  bench() {
    if (!this.layout) throw new Error("the layout has not come yet");
    const go = async (/** @type {string} */ path, /** @type {unknown} */ body, /** @type {string} */ words) => {
      const waiting = el("p", { role: "status" }, waits(words));
      this.open.append(waiting);
      try {
        const made = await put(path, body, this.signal);
        await this.list();
        await this.show(made, true);
      } catch (error) {
        if (!left(error)) waiting.replaceWith(refusal(error));
      }
    };
    return { run: this.run, id: this.id, signal: this.signal, layout: this.layout, entries: this.entries, go };
  }
}

/** What files do not say of themselves; left empty where they do. */
function givenFields() {
  const number = (/** @type {string} */ id, /** @type {string} */ low, /** @type {string} */ high) =>
    el("input", { id, type: "number", min: low, max: high, step: "any", inputmode: "decimal" });
  const a4 = number("given-a4", "380", "480");
  const air = number("given-air", "0", "45");
  const note = el("input", { id: "given-note", maxlength: "20", autocomplete: "off" });
  const order = el("textarea", { id: "given-order", rows: "3", maxlength: "4000", autocomplete: "off" });
  const temperament = choices([{ value: "", words: "as the table says" }, { value: "equal", words: "equal" }], { id: "given-temperament" });
  const inputs = { a4_hz: a4, temperament, bell_degC: air, note, order };
  return {
    place: el("details", { class: "drawer" }, el("summary", {}, "What the files do not say"),
      el("div", { class: "fields" }, field("A4 that the tuner stood at, Hz", a4), field("Its temperament", temperament), field("Air at the bell end, °C", air),
        field("Note that was fingered, for an impedance", note)),
      field("Notes in the order they were played, for a recording", order, "With commas between, such as D4, E4, F4', G4; without it each tone is taken for the nearest note.")),
    values: () => Object.fromEntries(Object.entries(inputs).filter(([, input]) => input.value.trim()).map(([name, input]) => [name, input.value.trim()])),
  };
}
