// What can be done with a run in its present state: cancel, go on, delete.

import { announce, button, el, field, refusal } from "./dom.js";
import { bare, pathOf, put } from "./api.js";
import { AT_REST } from "./words.js";

/** Buttons for a run: `place`, and `update(run)`, which shows those that its state allows. */
export function actions(id, changed, deleteIt) {
  const trouble = el("div");
  const attempt = async (act) => {
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
    if (!form.hidden) form.querySelector("input").focus();
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
  const update = (run) => {
    const rests = AT_REST.includes(run.state);
    cancel.hidden = rests;
    more.hidden = away.hidden = !rests;
    more.disabled = !run.started;
    if (!rests) form.hidden = true;
  };
  return { place: el("div", { class: "acts" }, el("span", {}, cancel, more, away), form, trouble), update };
}

function goOn(id, resume) {
  const minutes = el("input", { id: `more-minutes-${id}`, type: "number", min: "0.1", step: "any", inputmode: "decimal" });
  const trials = el("input", { id: `more-trials-${id}`, type: "number", min: "1", step: "1", inputmode: "numeric" });
  const send = (event) => {
    event.preventDefault();
    const limits = {};
    if (minutes.value) limits.minutes = Number(minutes.value);
    if (trials.value) limits.trials = Number(trials.value);
    resume(limits);
  };
  return el(
    "form",
    { class: "goon", hidden: true, on: { submit: send } },
    field("Minutes more", minutes),
    field("or trials more", trials, "Left empty: as long as its project says."),
    el("button", { type: "submit" }, "Go on"),
  );
}
