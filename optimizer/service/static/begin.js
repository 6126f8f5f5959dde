// A project of one's own, begun from answers: the questions of `begin`, each with what is wrong with its answer.

import { announce, capital, choices, el, field, refusal } from "./dom.js";
import { ask, left, put, Refused } from "./api.js";
import { number } from "./inquiry.js";
import { draft, openAsNew } from "./project_form.js";

/** @import { BegunProject, Question } from "./shapes.js" */
/** @import { Draft } from "./project_form.js" */

const OTHER_QUESTIONS = ["family", "note_names"];

/**
 * @param {HTMLElement} main
 * @param {AbortSignal} signal
 */
export function showBegin(main, signal) {
  const form = new Answers(signal);
  main.append(
    el("h1", {}, "Begin a project"),
    el("p", {}, "Some answers make a whole project file: holes, keys, chart and limits, each number with where it comes from. What you leave open is taken from the pitch, the family or the usual. It opens as a new run, to be looked at and changed before it is searched."),
    form.place,
  );
  form.begin();
}

class Answers {
  /** @param {AbortSignal} signal */
  constructor(signal) {
    this.signal = signal;
    this.kept = draft("begin");
    /** @type {Draft} */
    this.said = this.kept.read();
    /** @type {Map<string, HTMLInputElement | HTMLSelectElement | HTMLTextAreaElement>} */
    this.controls = new Map();
    /** @type {Question[]} */
    this.questions = [];
    /** @type {AbortController | null} */
    this.asking = null;
    this.fields = el("div", { class: "questions" });
    this.trouble = el("div", { "aria-live": "polite" });
    this.go = el("button", { type: "submit", class: "main", disabled: true }, "Write the project");
    this.place = el("form", { novalidate: true, on: { submit: (/** @type {SubmitEvent} */ event) => this.send(event) } }, this.fields, this.trouble, el("p", { class: "acts" }, this.go));
  }

  /** Ask the questions of the family, in place of those that stood there. */
  async begin() {
    const of = new URLSearchParams(OTHER_QUESTIONS.flatMap((each) => (this.said[each] ? [[each, this.said[each]]] : [])));
    this.asking?.abort();
    const asking = (this.asking = new AbortController());
    try {
      this.questions = await ask(`beginnings/questions?${of}`, { signal: AbortSignal.any([asking.signal, this.signal]) });
    } catch (error) {
      if (!left(error)) this.trouble.replaceChildren(refusal(error));
      return;
    }
    const stood = document.activeElement?.id;
    this.controls = new Map(this.questions.map((each) => [each.answer, this.control(each)]));
    this.fields.replaceChildren(...this.questions.map((each) => this.asked(each)));
    if (stood && this.fields.contains(document.getElementById(stood))) document.getElementById(stood)?.focus();
    this.go.disabled = false;
  }

  /** @param {Question} question */
  control(question) {
    const id = `answer-${question.answer}`;
    const said = this.said[question.answer] ?? question.usual;
    const on = { input: () => this.changed(question.answer) };
    if (question.kind === "table") return filled(el("textarea", { id, rows: 4, spellcheck: "false", on }), said);
    if (question.choices.length) {
      const open = question.usual ? [] : [{ value: "", words: question.left_open }];
      return filled(choices([...open, ...question.choices.map(([value, words]) => ({ value, words }))], { id, on }), said);
    }
    const made = question.kind === "words" ? el("input", { id, autocomplete: "off" }) : number(id, "", { step: question.kind === "whole number" ? 1 : undefined });
    made.addEventListener("input", on.input);
    return filled(made, said);
  }

  /** @param {Question} question */
  asked(question) {
    const control = /** @type {HTMLElement} */ (this.controls.get(question.answer));
    const open = question.left_open && !question.choices.length ? `Left open: ${question.left_open}.` : "";
    const made = field(question.words, control, open);
    made.append(el("p", { class: "wrong", id: `${control.id}-wrong`, hidden: true }));
    return made;
  }

  /** @param {string} answer */
  changed(answer) {
    const said = this.controls.get(answer)?.value ?? "";
    const usual = this.questions.find((each) => each.answer === answer)?.usual ?? "";
    if (said === usual) delete this.said[answer];
    else this.said[answer] = said;
    this.kept.write(this.said);
    this.tell(answer, "");
    if (OTHER_QUESTIONS.includes(answer)) this.begin();
  }

  /** What the service is sent: of the questions that stand here, what is not left open. */
  get sent() {
    const given = this.questions.map((each) => /** @type {const} */ ([each, this.controls.get(each.answer)?.value.trim() ?? ""]));
    return Object.fromEntries(given.filter(([, said]) => said).map(([{ answer, kind }, said]) => [answer, kind.endsWith("number") ? Number(said) : said]));
  }

  /** @param {SubmitEvent} event */
  async send(event) {
    event.preventDefault();
    this.go.disabled = true;
    this.trouble.replaceChildren();
    for (const each of this.controls.keys()) this.tell(each, "");
    try {
      /** @type {BegunProject} */
      const begun = await put("beginnings", this.sent, this.signal);
      openAsNew(begun.project, draft("new").read().project);
      announce("The project is written; look at it before it is searched.");
    } catch (error) {
      if (!left(error)) this.refuse(error);
    }
    this.go.disabled = false;
  }

  /**
   * Each thing to mend beside its answer; what is about none of them below.
   * @param {unknown} error
   */
  refuse(error) {
    const problems = error instanceof Refused ? error.problems : [];
    const here = problems.filter((each) => this.controls.has(each.path));
    for (const each of here) this.tell(each.path, capital(each.message.replace(`${each.path}: `, "")));
    if (here.length) this.controls.get(here[0].path)?.focus();
    if (here.length < problems.length || !here.length) this.trouble.replaceChildren(refusal(error));
  }

  /**
   * @param {string} answer
   * @param {string} wrong empty where nothing is
   */
  tell(answer, wrong) {
    const control = this.controls.get(answer);
    const note = document.getElementById(`answer-${answer}-wrong`);
    if (!control || !note) return;
    note.textContent = wrong;
    note.hidden = !wrong;
    if (wrong) control.setAttribute("aria-invalid", "true");
    else control.removeAttribute("aria-invalid");
    const said = [document.getElementById(`${control.id}-help`), wrong ? note : null].flatMap((each) => (each ? [each.id] : []));
    if (said.length) control.setAttribute("aria-describedby", said.join(" "));
    else control.removeAttribute("aria-describedby");
  }
}

/**
 * @template {{ value: string }} Control
 * @param {Control} control
 * @param {string} value
 */
function filled(control, value) {
  control.value = value;
  return control;
}
