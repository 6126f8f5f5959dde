// Following a run by server-sent events, through breaks of the connection. A tab that nobody looks at lets go of its
// connection, for a browser has but few to one service.

import { ask, left } from "./api.js";

const AGAIN_MS = 4000;

/** Follow a run while the view stands: told.moment(moment), told.gone(), told.line(words about the connection). */
export function follow(id, signal, told) {
  let source = null;
  let timer = 0;
  let lost = false;
  let over = false;

  const close = () => {
    clearTimeout(timer);
    source?.close();
    source = null;
  };
  const open = () => {
    close();
    if (over || signal.aborted || document.hidden) return;
    source = new EventSource(`api/v1/runs/${encodeURIComponent(id)}/events`);
    source.addEventListener("open", () => {
      if (lost) told.line("Connected again.");
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
    told.line("The connection is lost; trying again. What is shown may be old.");
    if (!refusedForGood) return;
    close();
    timer = setTimeout(open, AGAIN_MS);
    try {
      await ask(`runs/${encodeURIComponent(id)}`, { signal });
    } catch (error) {
      if (left(error) || error.status === 0) return;
      told.line(`${error.message}.`);
      if (error.status === 404) {
        over = true;
        close();
      }
    }
  };
  document.addEventListener("visibilitychange", () => (document.hidden ? close() : open()), { signal });
  window.addEventListener("pagehide", close, { signal });
  signal.addEventListener("abort", close);
  open();
}
