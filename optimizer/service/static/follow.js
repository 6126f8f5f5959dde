// Following a run by server-sent events, through breaks of the connection. A tab that nobody looks at lets go of its
// connection, for a browser has but few to one service.

import { API, left, pathOf, whyRefused } from "./api.js";
import { capital } from "./dom.js";

/** @import { Moment } from "./shapes.js" */

const AGAIN_MS = 4000;
const WELCOME_MS = 6000;
const OLD = "trying again. What is shown may be old.";

/**
 * Follow a run while the view stands.
 * @param {string} id
 * @param {AbortSignal} signal
 * @param {object} told
 * @param {(moment: Moment) => void} told.moment
 * @param {() => void} told.gone
 * @param {(words: string) => void} told.line about the connection
 */
export function follow(id, signal, told) {
  const path = pathOf("runs", id, "events");
  /** @type {EventSource | null} */
  let source = null;
  let timer = 0;
  let welcome = 0;
  let lost = false;
  let over = false;

  const line = (/** @type {string} */ words) => {
    clearTimeout(welcome);
    told.line(words);
  };
  const close = () => {
    clearTimeout(timer);
    source?.close();
    source = null;
  };
  const open = () => {
    close();
    if (over || signal.aborted || document.hidden) return;
    source = new EventSource(API + path);
    source.addEventListener("open", () => {
      if (lost) {
        line("Connected again.");
        welcome = window.setTimeout(() => line(""), WELCOME_MS);
      }
      lost = false;
    });
    source.addEventListener("moment", (event) => told.moment(JSON.parse(event.data)));
    source.addEventListener("gone", () => {
      over = true;
      close();
      told.gone();
    });
    source.addEventListener("error", broken);
  };
  const broken = async () => {
    lost = true;
    const refusedForGood = source?.readyState === EventSource.CLOSED;
    if (!refusedForGood) return line(`The connection is lost; ${OLD}`);
    close();
    timer = window.setTimeout(open, AGAIN_MS);
    try {
      const error = await whyRefused(path, signal);
      if (source || signal.aborted) return undefined;
      const gone = error !== null && [404, 422].includes(error.status); // no such run, or no name of one
      const why = capital(error?.message ?? "the connection is lost or refused");
      line(gone ? `${why}.` : `${why}; ${OLD}`);
      if (gone) {
        over = true;
        close();
      }
    } catch (error) {
      if (!left(error)) throw error;
    }
    return undefined;
  };
  document.addEventListener("visibilitychange", () => (document.hidden ? close() : open()), { signal });
  window.addEventListener("pagehide", close, { signal });
  signal.addEventListener("abort", () => {
    clearTimeout(welcome);
    close();
  });
  open();
}
