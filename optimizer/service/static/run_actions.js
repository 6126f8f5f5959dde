// What can be done with a run in its present state: cancel, go on, delete.

import { announce, button, el, field, refusal } from "./dom.js";
import { bare, pathOf, put } from "./api.js";
import { filledIn } from "./inquiry.js";
import { atRest } from "./words.js";

/** @import { RunSummary } from "./shapes.js" */

/** @typedef {ReturnType<typeof actions>} Actions */

/**
 * Buttons for a run: `place`, and `update(run)`, which shows those that its state allows.
 * @param {string} id
 * @param {() => Promise<void>} changed
 * @param {() => Promise<void>} deleteIt
 */
export function actions(id, changed, deleteIt) {
  const trouble = el("div");
  const attempt = async (/** @type {() => Promise<void>} */ act) => {
    try {
      await act();
      trouble.replaceChildren();
    } catch (error) {
      trouble.replaceChildren(refusal(error));
    }
    await changed();
  };
  const cancel = button("Cancel", () => attempt(async () => {
    await bare(pathOf("runs", id, "cancel"));
    announce(`Run ${id} was asked to end; what it found stays.`);
  }), { "aria-label": `Cancel ${id}` });
  const more = button("Go on", () => {
    form.hidden = !form.hidden;
    more.setAttribute("aria-expanded", String(!form.hidden));
    if (!form.hidden) form.querySelector("input")?.focus();
  }, { "aria-label": `Go on with ${id}`, "aria-expanded": "false" });
  const away = button("Delete", () => attempt(deleteIt), { "aria-label": `Delete ${id}` });
  const form = goOn(id, async (limits) => {
    await attempt(async () => {
      await put(pathOf("runs", id, "resume"), limits);
      announce(`Run ${id} goes on when its turn comes.`);
      form.hidden = true;
      more.setAttribute("aria-expanded", "false");
    });
    more.focus();
  });
  const update = (/** @type {RunSummary} */ run) => {
    const rests = atRest(run);
    cancel.hidden = rests;
    more.hidden = away.hidden = !rests;
    more.disabled = !run.started;
    if (!rests) form.hidden = true;
  };
  return { place: el("div", { class: "acts" }, el("span", {}, cancel, more, away), form, trouble), update };
}

/**
 * @param {string} id
 * @param {(limits: Record<string, number>) => Promise<void>} resume
 */
function goOn(id, resume) {
  const minutes = el("input", { id: `more-minutes-${id}`, type: "number", min: "0.1", step: "any", inputmode: "decimal" });
  const trials = el("input", { id: `more-trials-${id}`, type: "number", min: "1", step: "1", inputmode: "numeric" });
  const send = (/** @type {SubmitEvent} */ event) => {
    event.preventDefault();
    resume(filledIn({ minutes, trials }));
  };
  return el(
    "form",
    { class: "goon", hidden: true, on: { submit: send } },
    field("Minutes more", minutes),
    field("or trials more", trials, "Left empty: as long as its project says."),
    el("button", { type: "submit" }, "Go on"),
  );
}
