// What the page asks of the service, and what it makes of a refusal.

/** @import { About, Finding, OfferedHand, Problem } from "./shapes.js" */

export const API = "api/v1/";

/**
 * A path from its parts, each of which may hold any sign.
 * @param {...string} parts
 */
export const pathOf = (...parts) => parts.map((each) => encodeURIComponent(each)).join("/");

/** A refusal: `status` (0: the service was not reached), `message` in plain words, `problems` with path and line. */
export class Refused extends Error {
  /**
   * @param {number} status
   * @param {string} message
   * @param {Finding[]} problems
   */
  constructor(status, message, problems = []) {
    super(message);
    this.status = status;
    this.problems = problems;
  }
}

/**
 * @typedef {object} Asking
 * @property {"GET" | "POST" | "DELETE"} [method]
 * @property {unknown} [body] sent as JSON, a file as it is
 * @property {AbortSignal} [signal]
 * @property {"json" | "text"} [as]
 */

/**
 * Ask the service; null where there is nothing to read. Aborting through `signal` throws the browser's own AbortError.
 * @param {string} path
 * @param {Asking} [asking]
 * @returns {Promise<any>} one of the shapes in shapes.js, which the caller names
 */
export async function ask(path, { method = "GET", body, signal, as = "json" } = {}) {
  const written = body === undefined ? {} : body instanceof Blob
    ? { body, headers: { "content-type": "application/octet-stream" } }
    : { body: JSON.stringify(body), headers: { "content-type": "application/json" } };
  let answer;
  try {
    answer = await fetch(API + path, { method, signal, ...written });
  } catch (error) {
    if (left(error)) throw error;
    throw new Refused(0, "the service cannot be reached; is it still running?");
  }
  if (!answer.ok) throw await refused(answer);
  if (answer.status === 204) return null;
  return as === "json" ? answer.json() : answer.text();
}

/**
 * @param {Response} answer
 * @returns {Promise<Refused>}
 */
async function refused(answer) {
  if (answer.status === 401) document.dispatchEvent(new CustomEvent("token-wanted"));
  try {
    /** @type {Problem} */
    const problem = await answer.json();
    return new Refused(answer.status, problem.detail || problem.title, problem.problems);
  } catch {
    return new Refused(answer.status, `the service answered ${answer.status}, and no more`);
  }
}

/**
 * Why a stream is refused, which its EventSource does not tell; null where it is not, or is not reached.
 * @param {string} path
 * @param {AbortSignal} signal
 */
export async function whyRefused(path, signal) {
  const inner = new AbortController();
  signal.addEventListener("abort", () => inner.abort(), { signal: inner.signal });
  try {
    const answer = await fetch(API + path, { signal: inner.signal });
    return answer.ok ? null : await refused(answer);
  } catch (error) {
    if (signal.aborted) throw error;
    return null;
  } finally {
    inner.abort();
  }
}

/** @type {(path: string, body?: unknown, signal?: AbortSignal) => Promise<any>} */
export const put = (path, body, signal) => ask(path, { method: "POST", body: body ?? {}, signal });
/** @type {(path: string, signal?: AbortSignal) => Promise<any>} */
export const bare = (path, signal) => ask(path, { method: "POST", signal });
/** @type {(path: string) => Promise<any>} */
export const remove = (path) => ask(path, { method: "DELETE" });
/** @type {(path: string, signal: AbortSignal) => Promise<string>} */
export const text = (path, signal) => ask(path, { signal, as: "text" });

/**
 * Whether an error only says that the view was left.
 * @param {unknown} error
 */
export const left = (error) => error instanceof Error && error.name === "AbortError";

/** @type {Promise<About> | null} */
let about = null;

/** What the service says of itself, asked once. */
export function aboutService() {
  about ??= ask("").catch((error) => {
    about = null;
    throw error;
  });
  return /** @type {Promise<About>} */ (about);
}

/**
 * Hands that are offered.
 * @param {AbortSignal} signal
 * @returns {Promise<OfferedHand[]>}
 */
export const handsOffered = (signal) => ask("hands", { signal });

/**
 * Do something every so often while the view stands and the page is looked at; again at once when it is looked at.
 * @param {number | (() => number)} seconds
 * @param {AbortSignal} signal
 * @param {() => Promise<void>} act
 * @returns {() => Promise<void>} does it now
 */
export function every(seconds, signal, act) {
  let timer = 0;
  const later = () => {
    timer = window.setTimeout(next, 1000 * (typeof seconds === "function" ? seconds() : seconds));
  };
  const next = async () => {
    clearTimeout(timer);
    if (signal.aborted) return;
    if (!document.hidden) await act();
    if (!signal.aborted) later();
  };
  document.addEventListener("visibilitychange", () => document.hidden || next(), { signal });
  signal.addEventListener("abort", () => clearTimeout(timer));
  later();
  return next;
}
