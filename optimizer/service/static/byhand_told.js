// What a moved layout comes to: cents of every note, reach, and what binds, put into the same places with every move.

import { drawn, el, say } from "./dom.js";
import { counted, figure, signed, spaced } from "./words.js";

/** @import { Binding, MovedLayout, NoteRecord, ReachRecord } from "./shapes.js" */

/** Bars end at so many cents. */
const MOST_CENTS = 30;
const LISTED = 12;

/** @type {(binding: Binding) => boolean} */
export const isRange = (binding) => binding.name.startsWith("range.");
/** @type {(binding: Binding) => boolean} */
const isNote = (binding) => binding.name.startsWith("note.");

export class Told {
  /** @param {MovedLayout} found */
  constructor(found) {
    this.notes = found.notes.map((note) => new Line(note.written, `${note.register_number}${note.alternate ? " alt." : ""}`, "middle"));
    this.reach = found.reach.map((pair) => new Line(pair.pair, "", "left"));
    this.binds = el("ul", { class: "binds" });
    this.count = el("p", { class: "soft" });
    this.nearest = el("h2");
    this.clear = el("ul", { class: "plain" });
    this.place = [
      el("section", { "aria-label": "notes" }, el("h2", {}, "Notes"), el("p", { class: "help" }, `Cents from in tune, bars to ${MOST_CENTS}; then how high the note's resonance stands over the one below it.`), el("ul", { class: "lines" }, this.notes.map((each) => each.place))),
      el("section", { "aria-label": "what binds" }, el("h2", {}, "What binds"), this.count, this.binds),
      this.reach.length ? el("section", { "aria-label": "reach" }, el("h2", {}, "Reach"), el("ul", { class: "lines" }, this.reach.map((each) => each.place))) : null,
      el("section", { "aria-label": "clearances" }, this.nearest, el("p", { class: "help" }, "Millimetres beyond what each kind of limit asks, the tightest of each kind; of a hole that is picked, its own."), this.clear),
    ];
  }

  /**
   * The tightest limit of each kind: of a hole's own where one is picked.
   * @param {MovedLayout} found
   * @param {string} picked
   */
  showClearances(found, picked) {
    const finger = found.holes.find((hole) => hole.id === picked)?.by;
    /** @type {Map<string, [number, string]>} */
    const tightest = new Map();
    for (const [name, margin] of Object.entries(found.margins_mm)) {
      const kind = name.split(".")[0], where = name.slice(kind.length + 1);
      const mine = !picked || where.split("-").some((word) => word === picked || word === finger);
      if (mine && margin < (tightest.get(kind)?.[0] ?? Infinity)) tightest.set(kind, [margin, where]);
    }
    const rows = [...tightest].sort(([, one], [, other]) => one[0] - other[0]).slice(0, LISTED);
    say(this.nearest, picked ? `Clearances of ${picked}` : "Clearances");
    this.clear.replaceChildren(...rows.map(([kind, [margin, where]]) => el("li", {}, `${spaced(kind)} ${where}: ${margin < 0 ? "✕ " : ""}${signed(margin, 2)} mm`)));
  }

  /** @param {MovedLayout} found */
  show(found) {
    found.notes.forEach((note, at) => showNote(this.notes[at], note));
    found.reach.forEach((pair, at) => showPair(this.reach[at], pair));
    const broken = found.binds.filter((each) => each.margin_mm < 0 || isNote(each));
    const rest = found.binds.filter((each) => !broken.includes(each)).sort((one, other) => Number(isRange(one)) - Number(isRange(other)) || one.margin_mm - other.margin_mm);
    const told = [...broken.sort((one, other) => one.margin_mm - other.margin_mm), ...rest];
    say(this.count, `${counted(broken.length, "limit")} broken; ${counted(rest.filter((each) => !isRange(each)).length, "limit")} touched, ${counted(rest.filter(isRange).length, "number")} at the end of its range.`);
    const listed = Math.max(LISTED, broken.length);
    this.binds.replaceChildren(...told.slice(0, listed).map((each) => el("li", { class: broken.includes(each) ? "broken" : null }, `${mark(each)} ${each.sentence}`)));
    if (told.length > listed) this.binds.append(el("li", { class: "soft" }, `and ${told.length - listed} more that just touch`));
  }
}

/** @param {Binding} each */
function mark(each) {
  if (isNote(each)) return "✕";
  if (each.margin_mm < 0) return `✕ broken by ${(-each.margin_mm).toFixed(2)} mm:`;
  return isRange(each) ? "┤" : `• ${each.margin_mm.toFixed(2)} mm left:`;
}

/** A line with a name, a bar and figures. */
class Line {
  /**
   * @param {string} name
   * @param {string} more
   * @param {"middle" | "left"} from where its bar begins
   */
  constructor(name, more, from) {
    this.from = from;
    this.bar = drawn("rect", { y: 2, height: 8 });
    this.limit = drawn("line", { class: "rule", y1: 0, y2: 12, x1: from === "middle" ? 50 : 0, x2: from === "middle" ? 50 : 0 });
    this.figure = el("span", { class: "n" });
    this.more = el("span", { class: "soft" });
    this.place = el("li", {}, el("span", { class: "who" }, name, more ? el("span", { class: "soft" }, ` ${more}`) : ""), drawn("svg", { class: "strip", viewBox: "0 0 100 12", preserveAspectRatio: "none", "aria-hidden": "true" }, this.bar, this.limit), this.figure, this.more);
  }

  /**
   * @param {number} share -1 to 1 from the middle, 0 to 1 from the left
   * @param {string} state class of the line
   * @param {string} words
   * @param {string} more
   */
  put(share, state, words, more) {
    const [x, width] = this.from === "left" ? [0, 100 * share] : share < 0 ? [50 + 50 * share, -50 * share] : [50, 50 * share];
    this.bar.setAttribute("x", String(x));
    this.bar.setAttribute("width", String(width));
    this.place.className = state;
    say(this.figure, words);
    say(this.more, more);
  }
}

/**
 * @param {Line} line
 * @param {NoteRecord} note
 */
function showNote(line, note) {
  const share = Math.max(-1, Math.min(1, (note.cents ?? 0) / MOST_CENTS));
  const beyond = note.cents !== null && Math.abs(note.cents) > MOST_CENTS ? (note.cents > 0 ? " »" : " «") : "";
  const over = note.height_over_lower === null ? "" : `${figure(note.height_over_lower, 2)} ×`;
  const wrong = { ok: "", weak: " weak", silent: "silent", "other register": ` sounds register ${note.resonance_number}` }[note.status];
  line.put(share, note.status === "ok" ? (Math.abs(share) === 1 ? "far" : "") : "broken", `${note.cents === null ? "" : signed(note.cents)}${beyond}`, `${over}${wrong ? ` ✕${wrong}` : ""}`);
}

/**
 * @param {Line} line
 * @param {ReachRecord} pair
 */
function showPair(line, pair) {
  const beyond = pair.spacing_mm - pair.working_mm;
  const words = beyond > 0 ? `✕ ${beyond.toFixed(1)} mm too far` : pair.spacing_mm > pair.comfortable_mm ? "strains" : "";
  line.put(Math.min(1, pair.spacing_mm / pair.working_mm), beyond > 0 ? "broken" : "", `${pair.spacing_mm.toFixed(1)} mm`, `of ${pair.working_mm.toFixed(1)} ${words}`);
}

/**
 * How a layout stands, in one sentence: the worst note, and what is broken.
 * @param {MovedLayout} found
 */
export function verdict(found) {
  const sounding = found.notes.filter((note) => note.cents !== null && !note.alternate);
  const worst = sounding.reduce((/** @type {NoteRecord | null} */ one, other) => (one && Math.abs(one.cents ?? 0) >= Math.abs(other.cents ?? 0) ? one : other), null);
  const wrong = found.notes.filter((note) => note.status !== "ok").length;
  const broken = found.binds.filter((each) => each.margin_mm < 0);
  const parts = [`Tuning ${figure(found.objectives.tuning, 2)} cents`];
  if (worst) parts.push(`worst note ${worst.written} ${signed(worst.cents)}`);
  if (wrong) parts.push(`${counted(wrong, "note")} not as wanted`);
  parts.push(broken.length ? `${counted(broken.length, "limit")} broken, first: ${broken[0].sentence}` : "all limits kept");
  return `${parts.join("; ")}.`;
}
