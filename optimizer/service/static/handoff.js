// A layout handed over to its maker: an archive of files for CAD, printer and bench.

import { choices, el, field, link } from "./dom.js";
import { ask, pathOf } from "./api.js";
import { inquiry } from "./inquiry.js";

const STATES = [
  { value: "ream", words: "printed, holes left to ream" },
  { value: "printed", words: "printed, holes at their size" },
  { value: "finished", words: "finished" },
];

/**
 * A form that asks for the archive, and the link to save it by.
 * @param {string} run
 * @param {string} id
 * @param {AbortSignal} signal
 */
export function handoff(run, id, signal) {
  const state = choices(STATES, { id: "handoff-state" });
  const path = pathOf("runs", run, "layouts", id, "handoff");
  const { form, result } = inquiry({
    fields: [field("Sizes of the pieces", state)],
    words: "Make the files",
    waiting: "Drawing every piece; this may take half a minute…",
    ask: () => ask(path, { method: "POST", body: { state: state.value }, signal, as: "blob" }),
    show: (/** @type {Blob} */ archive) => saved(archive, `${run}-${id}-handoff.zip`, signal),
  });
  return [
    el("p", {}, "Tables of every figure, parts and cuts, half profiles, templates to wrap round each piece, drilling sheets, the keys at 1:1, and the pieces for the slicer, as one archive with a page to begin with:"),
    form, result,
  ];
}

/**
 * @param {Blob} archive
 * @param {string} name
 * @param {AbortSignal} signal
 */
function saved(archive, name, signal) {
  const address = URL.createObjectURL(archive);
  signal.addEventListener("abort", () => URL.revokeObjectURL(address), { once: true });
  const megabytes = (archive.size / 1e6).toFixed(1);
  return [el("p", { class: "outcome" }, link(`Save ${name}`, address, { download: name, class: "download" }), ` (${megabytes} MB)`)];
}
