// A new run: a project, a hand, and how long to search.

import { announce, button, el, field } from "./dom.js";
import { aboutService, put } from "./api.js";
import { presentTables } from "./present.js";
import { draft, ProjectForm } from "./project_form.js";

/** @import { Draft } from "./project_form.js" */
/** @import { RunSummary } from "./shapes.js" */

const NUMBERS = ["minutes", "trials", "idle_minutes", "workers", "seed"];

/**
 * @param {HTMLElement} main
 * @param {AbortSignal} signal
 */
export function showNew(main, signal) {
  const kept = draft("new");
  const values = kept.read();
  const keep = () => kept.write({ ...form.values, ...limits.values });
  const form = new ProjectForm(signal, values, keep);
  const limits = new Limits(values, keep);
  const trouble = el("div");
  const room = button("Look for limits that conflict", () => form.check(true));
  const submit = el("button", { type: "submit", class: "main" }, "Put it in the queue");
  const saying = () => limits.anyway.checked ? "Being put in the queue…" : "Limits that conflict are looked for first; this may take a minute…";
  const send = form.sender(submit, trouble, saying, async () => {
    /** @type {RunSummary} */
    const run = await put("runs", { ...form.sent, ...limits.sent }, signal);
    location.hash = `#/run/${run.id}`;
    announce(`Run ${run.id} is in the queue.`);
  });
  main.append(
    el("h1", {}, "New run"),
    el("form", { on: { submit: send } }, ...form.parts("Project"), limits.place, trouble, el("p", { class: "acts" }, submit, room)),
    presentTables(form, signal),
  );
  form.begin();
  limits.tellMost();
}

class Limits {
  /**
   * @param {Draft} kept
   * @param {() => void} typed
   */
  constructor(kept, typed) {
    this.inputs = new Map(NUMBERS.map((name) => [name, number(name, kept[name], typed)]));
    this.anyway = el("input", { id: "anyway", type: "checkbox", on: { change: typed } });
    this.anyway.checked = Boolean(kept.anyway);
    this.most = el("p", { class: "help" });
    const of = (/** @type {string} */ name) => /** @type {HTMLInputElement} */ (this.inputs.get(name));
    this.place = el("fieldset", {}, el("legend", {}, "How long"),
      el("div", { class: "fields" },
        field("Minutes", of("minutes")), field("Trials", of("trials")),
        field("Minutes without gain", of("idle_minutes")), field("Workers", of("workers"), "Left empty: all cores."),
        field("Seed", of("seed"), "Left empty: the project's.")),
      el("p", { class: "help" }, "Whichever comes first ends it; all left empty: as long as the project says."), this.most,
      el("p", { class: "tick" }, this.anyway, " ", el("label", { for: "anyway" }, "Search also when limits conflict, for the layout that breaks them least")));
  }

  get values() {
    return { ...Object.fromEntries([...this.inputs].map(([name, input]) => [name, input.value])), anyway: this.anyway.checked };
  }

  get sent() {
    const given = [...this.inputs].filter(([, input]) => input.value !== "").map(([name, input]) => [name, Number(input.value)]);
    return { ...Object.fromEntries(given), anyway: this.anyway.checked };
  }

  async tellMost() {
    try {
      const about = await aboutService();
      this.most.textContent = `Here at most ${about.minutes_most} minutes; ${about.running_most} at once, the others wait.`;
    } catch {
      // the form works without it
    }
  }
}

/**
 * @param {string} name
 * @param {unknown} value
 * @param {() => void} typed
 */
function number(name, value, typed) {
  const whole = ["trials", "workers", "seed"].includes(name);
  return el("input", {
    id: `limit-${name}`, type: "number", min: name === "seed" ? "0" : whole ? "1" : "0.01", step: whole ? "1" : "any",
    inputmode: whole ? "numeric" : "decimal", value: value ?? "", on: { input: typed },
  });
}
