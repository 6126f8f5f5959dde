// A question that takes the service a while: its form, and what came of it.

import { el, refusal } from "./dom.js";
import { left } from "./api.js";

/**
 * A number to fill in.
 * @param {string} id
 * @param {string | number} value
 * @param {{ min?: number, max?: number, step?: number }} limits
 */
export function number(id, value, { min, max, step }) {
  const whole = step === 1;
  return el("input", { id, type: "number", min, max, step: step ?? "any", inputmode: whole ? "numeric" : "decimal", value });
}

/**
 * Numbers that are filled in, by their names.
 * @param {Record<string, HTMLInputElement>} inputs
 * @returns {Record<string, number>}
 */
export function filledIn(inputs) {
  const filled = Object.entries(inputs).filter(([, input]) => input.value !== "");
  return Object.fromEntries(filled.map(([name, input]) => [name, Number(input.value)]));
}

/**
 * Words for as long as one waits, with the seconds since; these are not read out.
 * @param {string} words
 */
export function waits(words) {
  const since = Date.now();
  const clock = el("span", { class: "soft", "aria-hidden": "true" });
  const timer = window.setInterval(() => {
    clock.textContent = ` ${Math.round((Date.now() - since) / 1000)} s`;
    if (!clock.isConnected) clearInterval(timer);
  }, 1000);
  return el("span", {}, words, clock);
}

/**
 * A form that asks, and the place where it shows what was found, or why nothing was.
 * @template Found
 * @param {object} question
 * @param {HTMLElement[]} question.fields
 * @param {string} question.words on its button
 * @param {string} question.waiting said meanwhile
 * @param {() => Promise<Found>} question.ask
 * @param {(found: Found) => (Node | string)[]} question.show
 */
export function inquiry({ fields, words, waiting, ask, show }) {
  const go = el("button", { type: "submit", class: "main" }, words);
  const result = el("div", { "aria-live": "polite" });
  const submit = async (/** @type {SubmitEvent} */ event) => {
    event.preventDefault();
    go.disabled = true;
    result.replaceChildren(el("p", {}, waits(waiting)));
    try {
      result.replaceChildren(...show(await ask()));
    } catch (error) {
      if (!left(error)) result.replaceChildren(refusal(error));
    }
    go.disabled = false;
  };
  const form = el("form", { class: "conditions", on: { submit } }, el("div", { class: "fields" }, fields), el("p", { class: "acts" }, go));
  return { form, result };
}
