// Other conditions: a layout's notes in other air or at another pitch, and how it lies under another hand.

import { cautions, choices, el, field, refusal, table } from "./dom.js";
import { ask, cautionsOf, left, pathOf, put } from "./api.js";
import { marks, widest } from "./notes.js";
import { figure, signed } from "./words.js";

export class Conditions {
  constructor(run, record, signal) {
    this.run = run;
    this.record = record;
    this.signal = signal;
    const { air, a4_hz: a4 } = record.reference;
    const number = (id, low, high, value) => el("input", { id, type: "number", min: low, max: high, step: "any", inputmode: "decimal", value });
    this.reed = number("reed-degC", "0", "40", air.reed_degC);
    this.bell = number("bell-degC", "0", "40", air.bell_degC);
    this.a4 = number("a4-hz", "380", "480", a4);
    this.hand = choices([{ value: "", words: "as designed" }], { id: "other-hand" });
    this.care = el("div");
    this.result = el("div", { "aria-live": "polite" });
    this.go = el("button", { type: "submit", class: "main" }, "Predict");
  }

  parts() {
    this.offerHands();
    const send = (event) => {
      event.preventDefault();
      this.predict();
    };
    const form = el("form", { class: "conditions", on: { submit: send } },
      el("div", { class: "fields" },
        field("Air at the reed, °C", this.reed), field("Air at the bell, °C", this.bell),
        field("Pitch of A4, Hz", this.a4), field("Hand", this.hand)),
      el("p", { class: "acts" }, this.go));
    return [el("h2", {}, "Other conditions"),
      el("p", { class: "soft" }, "As it was designed stands in the fields; change what differs. The first prediction may take a minute."),
      form, this.care, this.result];
  }

  async offerHands() {
    try {
      const [hands, said] = await Promise.all([ask("hands", { signal: this.signal }), cautionsOf()]);
      this.hand.append(...hands.map((each) => el("option", { value: each.name }, each.about.split(";")[0])));
      this.care.replaceChildren(cautions("Hands", said.hands) ?? "");
    } catch (error) {
      if (!left(error)) this.care.replaceChildren(refusal(error));
    }
  }

  async predict() {
    const wanted = { reed_degC: this.reed, bell_degC: this.bell, a4_hz: this.a4 };
    const body = Object.fromEntries(Object.entries(wanted).filter(([, input]) => input.value !== "").map(([name, input]) => [name, Number(input.value)]));
    if (this.hand.value) body.hand = this.hand.value;
    this.go.disabled = true;
    this.result.replaceChildren(el("p", {}, "Working it out…"));
    try {
      const found = await put(pathOf("runs", this.run, "layouts", this.record.id, "prediction"), body, this.signal);
      this.result.replaceChildren(...this.told(found));
    } catch (error) {
      if (!left(error)) this.result.replaceChildren(refusal(error));
    }
    this.go.disabled = false;
  }

  told(found) {
    const air = `${figure(found.air.reed_degC, 1)} °C at the reed, ${figure(found.air.bell_degC, 1)} °C at the bell, A4 at ${figure(found.a4_hz, 1)} Hz`;
    const said = found.mean_cents === null ? "No note sounds." :
      `On average ${signed(found.mean_cents)} cents, from ${signed(found.least_cents)} to ${signed(found.most_cents)}.`;
    return [el("h3", {}, `At ${air}`), el("p", { class: "outcome" }, said), this.notes(found.notes), ...(found.hand ? underHand(found.hand) : [])];
  }

  notes(notes) {
    const designed = this.record.notes;
    const most = widest([...notes, ...designed].map((note) => note.cents));
    const rows = notes.map((note, at) => {
      const was = designed[at]?.cents ?? null;
      const change = note.cents === null || was === null ? null : note.cents - was;
      const label = `designed ${signed(was)}, then ${signed(note.cents)} cents`;
      return [note.written, `${note.register_number}${note.alternate ? " alternate" : ""}`, signed(was), signed(note.cents), signed(change),
        marks([was, note.cents], most, label), note.status === "ok" ? "" : note.status];
    });
    const heads = ["written", "register", { words: "designed, cents", figures: true }, { words: "then, cents", figures: true },
      { words: "change", figures: true }, `circle designed, square then; ±${most.toFixed(0)}`, "remark"];
    return table("Each note under these conditions", heads, rows, { class: "prediction" });
  }
}

function underHand(hand) {
  const list = (lines) => el("ul", {}, lines.map((each) => el("li", {}, each)));
  return [
    el("h3", {}, `Under the ${hand.name}`),
    el("p", { class: "soft" }, hand.source),
    hand.troubles.length ? el("div", { class: "bad" }, list(hand.troubles)) : el("p", { class: "good" }, "Every limit of this hand is kept."),
    hand.remarks.length ? list(hand.remarks) : "",
  ];
}
