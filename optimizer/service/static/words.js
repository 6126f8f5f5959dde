// Figures and states in words of the trade.

/** @import { ExtensionSummary, RunSummary, State } from "./shapes.js" */

/** @type {Record<string, string>} */
export const UNITS = { tuning: "cents", worst_note: "cents", stretch: "%", unevenness: "%", robustness: "cents", plates: "holes", joints: "joints" };
/** Objectives that count things. */
const WHOLE = ["plates", "joints"];
/** @type {State[]} */
const AT_REST = ["ended", "stopped", "failed"];
/** @type {Record<string, string>} */
const ENDED = {
  time: "its time was up",
  trials: "its trials were done",
  "no gain": "nothing got better any more",
  interrupt: "it was told to end",
  termination: "it was told to end",
};
/** @type {Record<State, string>} */
const EXTENDING = {
  waiting: "waits for its turn", starting: "starting", running: "working it out", ended: "worked out", stopped: "stopped",
  failed: "failed",
};
/** @type {Record<State, string>} */
const GLYPHS = { waiting: "○", starting: "◐", running: "●", ended: "◉", stopped: "◌", failed: "✕" };

/** @typedef {number | null | undefined} Figure null and undefined: there is none */

/**
 * Whether nothing goes on with a run or an extension any more.
 * @param {{ state: State }} one
 */
export const atRest = ({ state }) => AT_REST.includes(state);

/** @param {string} name */
export const spaced = (name) => name.replaceAll("_", " ");
/**
 * An objective's name with its unit; of what is counted the name says both.
 * @param {string} name
 * @param {string} unit
 */
export const heading = (name, unit) => (WHOLE.includes(name) ? spaced(name) : `${spaced(name)}, ${unit}`);
/** @type {(number: number, what: string) => string} */
export const counted = (number, what) => `${number} ${what}${number === 1 ? "" : "s"}`;
/** @type {(value: Figure, places?: number) => string} */
export const figure = (value, places = 1) => (value === null || value === undefined ? "–" : value.toFixed(places));
/**
 * An objective's figure; whole where it counts things.
 * @param {string} name
 * @param {Figure} value
 */
export const worth = (name, value) => figure(value, WHOLE.includes(name) ? 0 : 2);

/**
 * With its sign, a minus of proper width.
 * @param {Figure} value
 * @param {number} places
 */
export function signed(value, places = 1) {
  if (value === null || value === undefined) return "–";
  const words = Math.abs(value).toFixed(places);
  return Number(words) === 0 ? words : (value < 0 ? "−" : "+") + words;
}

/** @param {Figure} seconds */
export function span(seconds) {
  if (seconds === null || seconds === undefined) return "–";
  const whole = Math.max(0, Math.round(seconds));
  const [hours, minutes] = [Math.floor(whole / 3600), Math.floor((whole % 3600) / 60)];
  if (hours) return `${hours} h ${minutes} min`;
  return minutes ? `${minutes} min ${whole % 60} s` : `${whole} s`;
}

/** @param {string} iso */
export function when(iso) {
  const then = new Date(iso);
  if (!iso || Number.isNaN(then.getTime())) return "–";
  return then.toLocaleString([], { dateStyle: "medium", timeStyle: "short" });
}

/** @param {number} bytes */
export function size(bytes) {
  return bytes < 1000 ? `${bytes} B` : bytes < 1e6 ? `${Math.round(bytes / 1000)} kB` : `${(bytes / 1e6).toFixed(1)} MB`;
}

/**
 * How a run stands, as a sentence's beginning.
 * @param {RunSummary} run
 */
export function stateWords(run) {
  if (run.state === "waiting") {
    const before = run.waiting_before;
    return before ? `waits, ${before} before it` : before === 0 ? "waits, next in turn" : "waits for its turn";
  }
  if (run.state === "starting") return "starting";
  if (run.state === "running") return "searching";
  if (run.state === "ended") return `ended: ${run.ended_by ? ENDED[run.ended_by] ?? run.ended_by : "in order"}`;
  if (run.state === "stopped") return run.trials_done ? "stopped short" : "never begun";
  return "failed";
}

/**
 * The same for an extension.
 * @param {ExtensionSummary} extension
 */
export const extensionWords = (extension) => EXTENDING[extension.state];

/** @param {{ state: State }} one */
export const stateGlyph = ({ state }) => GLYPHS[state];

/**
 * Best tuning of a run in words.
 * @param {RunSummary} run
 */
export function bestTuning(run) {
  if (run.feasible && "tuning" in run.best) return `${run.best.tuning.toFixed(2)} cents`;
  return atRest(run) && run.trials_done ? "nothing feasible" : "–";
}

/**
 * Which register a note is of, and whether it is an alternate one.
 * @param {{ register_number: number, alternate: boolean }} note
 */
export const registerOf = (note) => `${note.register_number}${note.alternate ? " alternate" : ""}`;

/**
 * A sentence of the program with the signs that a page has and a terminal may not.
 * @param {string} words
 */
export const typeset = (words) => words.replaceAll("+-", "±").replace(/(^|[ (])-(?=[0-9])/g, "$1−").replaceAll("mm3", "mm³").replaceAll("cm3", "cm³");
