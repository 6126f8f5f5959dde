// What the page asks of the service, and what it makes of a refusal.

export const API = "api/v1/";

/** A path from its parts, each of which may hold any sign. */
export const pathOf = (...parts) => parts.map((each) => encodeURIComponent(each)).join("/");

/** A refusal: `status` (0: the service was not reached), `message` in plain words, `problems` with path and line. */
export class Refused extends Error {
  constructor(status, message, problems = []) {
    super(message);
    this.status = status;
    this.problems = problems;
  }
}

/** Ask the service; `as`: json or text; null where there is nothing to read. Aborting through `signal` throws the browser's own AbortError. */
export async function ask(path, { method = "GET", body, signal, as = "json" } = {}) {
  const sent = { method, signal, headers: {} };
  if (body !== undefined) {
    sent.body = JSON.stringify(body);
    sent.headers["content-type"] = "application/json";
  }
  let answer;
  try {
    answer = await fetch(API + path, sent);
  } catch (error) {
    if (error.name === "AbortError") throw error;
    throw new Refused(0, "the service cannot be reached; is it still running?");
  }
  if (!answer.ok) throw await refused(answer);
  if (answer.status === 204) return null;
  return as === "json" ? answer.json() : answer.text();
}

async function refused(answer) {
  if (answer.status === 401) document.dispatchEvent(new CustomEvent("token-wanted"));
  try {
    const problem = await answer.json();
    return new Refused(answer.status, problem.detail || problem.title, problem.problems);
  } catch {
    return new Refused(answer.status, `the service answered ${answer.status}, and no more`);
  }
}

/** Why a stream is refused, which its EventSource does not tell; null where it is not, or is not reached. */
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

export const put = (path, body, signal) => ask(path, { method: "POST", body: body ?? {}, signal });
export const bare = (path, signal) => ask(path, { method: "POST", signal });
export const remove = (path) => ask(path, { method: "DELETE" });
export const text = (path, signal) => ask(path, { signal, as: "text" });

/** Whether an error only says that the view was left. */
export const left = (error) => error.name === "AbortError";

let about = null;

/** What the service says of itself, asked once. */
export async function aboutService() {
  about ??= ask("").catch((error) => {
    about = null;
    throw error;
  });
  return about;
}

/** The service's cautions: those that concern hands, and those that concern making. */
export async function cautionsOf() {
  const said = (await aboutService()).cautions;
  const hands = said.filter((each) => /\bhands?\b/i.test(each));
  return { hands, making: said.filter((each) => !hands.includes(each)) };
}

/** Do something every so often while the view stands and the page is looked at; again at once when it is looked at. */
export function every(seconds, signal, act) {
  let timer = 0;
  const next = async () => {
    clearTimeout(timer);
    if (signal.aborted) return;
    if (!document.hidden) await act();
    if (!signal.aborted) timer = setTimeout(next, 1000 * (typeof seconds === "function" ? seconds() : seconds));
  };
  document.addEventListener("visibilitychange", () => document.hidden || next(), { signal });
  signal.addEventListener("abort", () => clearTimeout(timer));
  timer = setTimeout(next, 1000 * (typeof seconds === "function" ? seconds() : seconds));
  return next;
}
