// A project in the making: taken from those offered, from a file or typed; a hand; and what is wrong with it. What is
// typed is kept by the browser's tab, through reloads and refusals.

import { button, capital, cautions, choices, el, field, link, refusal, say } from "./dom.js";
import { aboutService, ask, handsOffered, left, pathOf, put, Refused, text } from "./api.js";
import { Editor } from "./editor.js";

/** @import { Finding, OfferedFile, SoundProject } from "./shapes.js" */

/** @typedef {Record<string, any>} Draft what was typed, by the names of the fields */

const PAUSE_MS = 700;

/**
 * A draft under a name: what was typed, through a reload.
 * @param {string} name
 */
export function draft(name) {
  const key = `holewright.${name}`;
  return {
    /** @returns {Draft} */
    read() {
      try {
        return JSON.parse(sessionStorage.getItem(key) ?? "{}");
      } catch {
        return {};
      }
    },
    /** @param {Draft} values */
    write(values) {
      try {
        sessionStorage.setItem(key, JSON.stringify(values));
      } catch {
        // full, or not allowed: the page still holds it
      }
    },
  };
}

/**
 * Opens a written project as a new run, to look at; what was typed there before can be brought back.
 * @param {string} project
 * @param {string | undefined} before
 */
export function openAsNew(project, before) {
  const kept = draft("new"), { hand, ...rest } = kept.read();
  kept.write({ ...rest, project, before });
  location.hash = "#/new";
}

export class ProjectForm {
  /**
   * @param {AbortSignal} signal
   * @param {Draft} kept what was typed before
   * @param {() => void} typed called at every change
   */
  constructor(signal, kept, typed) {
    this.signal = signal;
    this.typed = typed;
    /** @type {AbortController | null} */
    this.checking = null;
    this.timer = 0;
    this.before = kept.before ?? "";
    /** @type {Map<string, string>} */
    this.projects = new Map();
    /** @type {Map<string, string> | null} */
    this.hands = null;
    this.editor = new Editor(() => this.edited());
    this.offered = choices([{ value: "", words: "choose one" }], { id: "offered", on: { change: () => this.take() } });
    this.file = el("input", { id: "project-file", type: "file", accept: ".toml,text/plain", on: { change: () => this.upload() } });
    this.hand = choices([{ value: "", words: "the project's own" }], { id: "hand", on: { change: () => this.chooseHand() } });
    this.undo = button("Bring back what stood here before", () => this.bringBack(), { hidden: !this.before.trim() });
    this.aboutFile = el("p", { class: "help" });
    this.aboutHand = el("p", { class: "help" });
    this.verdict = el("p", { class: "verdict", role: "status" });
    this.problems = el("ul", { class: "problems", id: "project-problems" });
    this.summary = el("pre", { class: "summary", tabindex: "0", "aria-label": "what the project says" });
    this.told = el("details", { class: "drawer", hidden: true }, el("summary", {}, "What the project says"), this.summary);
    this.care = el("div");
    this.editor.text = kept.project ?? "";
    this.wantedHand = kept.hand ?? ""; // chosen before, until the list of hands has come
    this.lostHand = "";
    signal.addEventListener("abort", () => {
      clearTimeout(this.timer);
      this.checking?.abort();
    });
  }

  get values() {
    return { project: this.editor.text, before: this.before, hand: this.hand.value || this.wantedHand };
  }

  /** What the service is sent. */
  get sent() {
    const { project, hand } = this.values;
    return { project, ...(hand ? { hand } : {}) };
  }

  /** @param {string} title */
  parts(title) {
    return [
      el("fieldset", {}, el("legend", {}, title),
        el("div", { class: "fields" }, field("One that is offered", this.offered), field("or a file of yours", this.file)),
        this.aboutFile, this.undo,
        el("label", { for: "project-text", class: "above" }, "Project file"),
        this.editor.place,
        el("p", { class: "help", id: "project-keys" }, "Checked while you type. The tab key leaves the field."),
        this.verdict, this.problems, this.told),
      el("fieldset", {}, el("legend", {}, "Hand"), field("Whose hand it must lie under", this.hand), this.aboutHand, this.care),
    ];
  }

  async begin() {
    if (this.editor.text) this.check();
    if (this.wantedHand) say(this.aboutHand, `Chosen before: ${this.wantedHand}.`);
    try {
      /** @type {Promise<OfferedFile[]>} */
      const offered = ask("projects", { signal: this.signal });
      const [projects, hands, about] = await Promise.all([offered, handsOffered(this.signal), aboutService()]);
      this.projects = new Map(projects.map((each) => [each.name, each.about]));
      this.hands = new Map(hands.map((each) => [each.name, each.about]));
      this.offered.append(...projects.map((each) => el("option", { value: each.name }, each.name)));
      this.hand.append(...hands.map((each) => el("option", { value: each.name }, each.title)));
      this.takeWantedHand();
      this.care.replaceChildren(cautions("Hands", about.cautions_of_hands) ?? "");
    } catch (error) {
      if (!left(error)) this.verdict.replaceChildren(refusal(error));
    }
  }

  /** Choose the hand that was chosen before, or say that it is gone. */
  takeWantedHand() {
    const wanted = this.wantedHand;
    this.wantedHand = "";
    if (this.hands?.has(wanted)) this.hand.value = wanted;
    else if (wanted) this.lostHand = `The hand that was chosen before, ${wanted}, is no longer offered; choose again.`;
    this.tellHand();
    if (wanted && this.editor.text) this.check();
  }

  chooseHand() {
    this.lostHand = "";
    this.edited();
  }

  tellHand() {
    if (this.wantedHand) return;
    say(this.aboutHand, this.lostHand || (this.hands?.get(this.hand.value) ?? ""));
  }

  async take() {
    const name = this.offered.value;
    if (!name) return;
    try {
      this.replace(await text(pathOf("projects", name), this.signal));
      say(this.aboutFile, this.projects.get(name) ?? "");
    } catch (error) {
      if (!left(error)) this.verdict.replaceChildren(refusal(error));
    }
  }

  async upload() {
    const file = this.file.files?.[0];
    if (!file) return;
    this.offered.value = "";
    this.replace(await file.text());
    say(this.aboutFile, `From ${file.name}.`);
  }

  /** @param {string} words */
  replace(words) {
    this.before = this.editor.text;
    this.undo.hidden = !this.before.trim() || this.before === words;
    this.editor.text = words;
    this.edited();
  }

  bringBack() {
    this.editor.text = this.before;
    this.undo.hidden = true;
    say(this.aboutFile, "");
    this.offered.value = "";
    this.edited();
    this.editor.area.focus();
  }

  edited() {
    this.tellHand();
    this.typed();
    clearTimeout(this.timer);
    this.timer = window.setTimeout(() => this.check(), PAUSE_MS);
  }

  /** Have it checked; room: also for limits that conflict. */
  async check(room = false) {
    clearTimeout(this.timer);
    this.checking?.abort();
    if (!this.editor.text.trim()) {
      this.show("", []);
      return;
    }
    this.checking = new AbortController();
    if (room) say(this.verdict, "Looking for limits that conflict; this may take a minute…");
    try {
      /** @type {SoundProject} */
      const found = await put("projects/check", { ...this.sent, room }, this.checking.signal);
      const asked = found.questions.length ? " Likely mistakes, which a search would go by:" : "";
      this.show(`${found.instrument}: nothing to mend${room ? ", and its limits leave room" : ""}.${asked}`, [], found.questions);
      this.summary.textContent = found.summary.join("\n");
      this.told.hidden = false;
    } catch (error) {
      if (!left(error)) this.refuse(error);
    }
  }

  /**
   * What a form with this project does when it is sent: say so, send, and show a refusal, also at its lines.
   * @param {HTMLButtonElement} submit
   * @param {HTMLElement} trouble
   * @param {() => string} saying
   * @param {() => Promise<void>} send
   */
  sender(submit, trouble, saying, send) {
    return async (/** @type {SubmitEvent} */ event) => {
      event.preventDefault();
      submit.disabled = true;
      trouble.replaceChildren(el("p", { role: "status" }, saying()));
      try {
        await send();
      } catch (error) {
        if (left(error)) return;
        trouble.replaceChildren(refusal(error));
        if (error instanceof Refused && error.problems.some((each) => each.line)) this.refuse(error);
      }
      submit.disabled = false;
    };
  }

  /** @param {unknown} error */
  refuse(error) {
    if (!(error instanceof Refused)) throw error;
    this.told.hidden = true;
    this.show(`${error.message}.`, error.problems);
  }

  /**
   * @param {string} words
   * @param {Finding[]} problems
   * @param {Finding[]} questions likely mistakes of a sound project
   */
  show(words, problems, questions = []) {
    say(this.verdict, capital(words));
    this.verdict.classList.toggle("bad", problems.length > 0);
    this.editor.mark(problems);
    this.problems.replaceChildren(...[...problems, ...questions].map((each) => el("li", {}, each.line ? this.jump(each.line) : null, each.message)));
  }

  /** @param {number} line */
  jump(line) {
    const go = (/** @type {MouseEvent} */ event) => {
      event.preventDefault();
      this.editor.goTo(line);
    };
    return el("span", {}, link(`line ${line}`, "#project-text", { on: { click: go } }), ": ");
  }
}
