// The editor of a project: numbered lines, with what is to be mended written in the margin beside its line.

import { el } from "./dom.js";

/** @import { Finding } from "./shapes.js" */

const LINE_PX = 21;
const PAD_PX = 8;

export class Editor {
  /** @param {() => void} changed called when something was typed */
  constructor(changed) {
    this.numbers = el("div", { class: "numbers", "aria-hidden": "true" });
    this.notes = el("div", { class: "notes", "aria-hidden": "true" });
    this.area = el("textarea", {
      id: "project-text", wrap: "off", spellcheck: "false", autocapitalize: "off", autocomplete: "off", rows: "24",
      "aria-describedby": "project-problems project-keys",
    });
    this.place = el("div", { class: "editor" }, this.numbers, this.area, this.notes);
    this.lines = 0;
    this.area.addEventListener("input", () => {
      this.number();
      changed();
    });
    this.area.addEventListener("scroll", () => this.scrolled());
  }

  get text() {
    return this.area.value;
  }

  set text(words) {
    this.area.value = words;
    this.area.scrollTop = this.area.scrollLeft = 0;
    this.number();
  }

  number() {
    const lines = this.area.value.split("\n").length;
    if (lines !== this.lines) {
      this.numbers.replaceChildren(...Array.from({ length: lines }, (_, at) => el("span", {}, String(at + 1))));
      this.lines = lines;
    }
    this.scrolled();
  }

  scrolled() {
    this.numbers.scrollTop = this.notes.scrollTop = this.area.scrollTop;
  }

  /**
   * Mark lines and write beside them what is to be mended there.
   * @param {Finding[]} problems
   */
  mark(problems) {
    /** @type {Map<number, string[]>} */
    const lines = new Map();
    for (const each of problems) {
      if (each.line) lines.set(each.line, [...(lines.get(each.line) ?? []), each.message]);
    }
    [...this.numbers.children].forEach((each, at) => each.classList.toggle("faulty", lines.has(at + 1)));
    const foot = el("div", { class: "foot" });
    foot.style.setProperty("height", `${this.lines * LINE_PX + 2 * PAD_PX}px`);
    const said = [...lines].map(([line, words]) => {
      const note = el("p", { "data-line": String(line), title: words.join("\n") }, words.length > 1 ? `${words.length} here: ${words.join("; ")}` : words[0]);
      note.style.setProperty("top", `${PAD_PX + (line - 1) * LINE_PX}px`);
      return note;
    });
    this.notes.replaceChildren(foot, ...said);
    this.place.classList.toggle("noted", said.length > 0);
    if (problems.length) this.area.setAttribute("aria-invalid", "true");
    else this.area.removeAttribute("aria-invalid");
    this.scrolled();
  }

  /**
   * Put the cursor at the beginning of a line, in sight.
   * @param {number} line
   */
  goTo(line) {
    const before = this.area.value.split("\n").slice(0, line - 1).join("\n").length + (line > 1 ? 1 : 0);
    const end = this.area.value.indexOf("\n", before);
    this.area.focus();
    this.area.setSelectionRange(before, end < 0 ? this.area.value.length : end);
    this.area.scrollTop = Math.max(0, (line - 5) * LINE_PX);
    this.area.scrollLeft = 0;
    this.area.scrollIntoView({ block: "nearest" });
  }
}
