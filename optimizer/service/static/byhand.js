// One layout whose holes are moved by hand: the body to drag in, all that follows, the others settled, and what is kept.

import { announce, button, el, link, refusal, say } from "./dom.js";
import { ask, left, pathOf, put } from "./api.js";
import { Body, keysTold } from "./byhand_body.js";
import { Exchange } from "./byhand_exchange.js";
import { differing, History } from "./byhand_history.js";
import { Numbers, parted } from "./byhand_numbers.js";
import { isRange, Told, verdict } from "./byhand_told.js";
import { counted, figure } from "./words.js";

/** @import { State } from "./byhand_history.js" */
/** @import { ByHandEntry, FreeNumber, LayoutRecord, MovedLayout } from "./shapes.js" */

/** Said to those who listen once nothing moved for so long. */
const QUIET_MS = 900;
/** So often the others are settled a few steps further; less than so many cents gained is none. */
const ROUNDS = 12, GAIN = 0.005;
const ZOOMS = { 0: "whole", 1: "1 ×", 2: "2 ×", 4: "4 ×" };

/**
 * @param {HTMLElement} main
 * @param {AbortSignal} signal
 * @param {string} run
 * @param {string} id
 */
export function showByHand(main, signal, run, id) {
  const place = el("div", {}, el("p", {}, "Taking up the layout…"));
  main.append(
    el("p", { class: "trail" }, link("Shelf", "#/"), " / ", link(run, `#/run/${run}`), " / ", link(id, `#/run/${run}/layout/${id}`), " / "),
    el("h1", {}, `Layout ${id} by hand`),
    place,
  );
  begin(place, signal, run, id);
}

/**
 * @param {HTMLElement} place
 * @param {AbortSignal} signal
 * @param {string} run
 * @param {string} id
 */
async function begin(place, signal, run, id) {
  const path = pathOf("runs", run, "layouts", id);
  try {
    /** @type {LayoutRecord} */
    const layout = await ask(path, { signal });
    /** @type {ByHand | null} */
    let view = null;
    const exchange = new Exchange(path, signal, {
      shown: (found) => {
        if (view) view.show(found);
        else {
          view = new ByHand(run, path, layout, found, exchange, signal);
          place.replaceChildren(...view.place);
          view.show(found);
        }
      },
      failed: (error) => (view ? view.fail(error) : place.replaceChildren(refusal(error))),
      lag: (lags) => view?.lag(lags),
    });
    exchange.move({});
  } catch (error) {
    if (!left(error)) place.replaceChildren(refusal(error));
  }
}

class ByHand {
  /**
   * @param {string} run
   * @param {string} path
   * @param {LayoutRecord} layout
   * @param {MovedLayout} found the layout unmoved
   * @param {Exchange} exchange
   * @param {AbortSignal} signal
   */
  constructor(run, path, layout, found, exchange, signal) {
    this.run = run;
    this.path = path;
    this.found = found;
    this.exchange = exchange;
    this.signal = signal;
    this.history = new History({ numbers: Object.fromEntries(found.numbers.map((each) => [each.name, each.value])), touched: [] });
    /** @type {AbortController | null} */
    this.settling = null;
    this.timer = 0;
    this.body = new Body(found, layout.bore, {
      move: (hole, quantity, by, kind) => this.moveBy(`${quantity}.${hole}`, by, kind),
      pick: (hole) => this.pick(hole),
      rest: () => this.history.pause(),
    });
    this.told = new Told(found);
    this.numbers = new Numbers(found, { typed: (name, value) => this.moveTo(name, value, `typed ${name}`), hold: (names, held) => this.hold(names, held) });
    this.acts = {
      undo: button("Undo", () => this.step(-1), { "aria-keyshortcuts": "Control+Z" }),
      redo: button("Redo", () => this.step(1), { "aria-keyshortcuts": "Control+Y" }),
      settle: button("Settle the others", () => this.settle()),
      stop: button("Stop", () => this.stop(), { hidden: true }),
      keep: button("Keep as a layout", () => this.keep(), { class: "main" }),
    };
    this.verdict = el("p", { class: "verdict" });
    this.lagging = el("span", { class: "lag", hidden: true }, "catching up…");
    this.outcome = el("div", { role: "status", "aria-label": "what became of it" });
    const zoom = el("select", { "aria-label": "how large the body is drawn", on: { change: () => { this.zoom(Number(zoom.value)); } } }, Object.entries(ZOOMS).map(([value, words]) => el("option", { value, selected: value === "1" }, words)));
    this.place = [
      el("p", {}, found.numbers.length ? "Move, widen or type; every note follows. What you touch stays when the others settle around it." : "The project leaves no number of it free, so nothing can be moved; it is shown as it is."),
      el("div", { class: "standing" }, el("p", { class: "acts" }, ...Object.values(this.acts), " ", zoom, " ", this.lagging), this.verdict),
      this.outcome,
      el("section", { "aria-label": "body" }, this.body.box, keysTold()),
      el("div", { class: "by-hand-told" }, this.told.place.filter((each) => each !== null)),
      this.numbers.place,
    ];
    document.addEventListener("keydown", (event) => this.keyed(event), { signal });
    window.addEventListener("resize", () => this.draw(), { signal });
  }

  /** @type {(name: string) => FreeNumber | undefined} */
  number(name) {
    const found = this.found.numbers.find((each) => each.name === name);
    return found && { ...found, value: this.history.now.numbers[name] };
  }

  /**
   * @param {string} name
   * @param {number} by
   * @param {string} kind
   */
  moveBy(name, by, kind) {
    const number = this.number(name);
    if (number) this.moveTo(name, number.value + by, kind);
    else announce(`${name.replace("_mm.", " of ")} is fixed.`);
  }

  /**
   * @param {string} name
   * @param {number} value
   * @param {string} kind of change
   */
  moveTo(name, value, kind) {
    const number = this.number(name);
    if (!number || Number.isNaN(value)) return;
    const fine = name.endsWith("_mm") || name.includes("_mm.") ? 100 : 10000;
    const kept = Math.min(number.most, Math.max(number.least, Math.round(value * fine) / fine));
    const { numbers, touched } = this.history.now;
    const mine = this.together(name);
    this.put({ numbers: { ...numbers, [name]: kept }, touched: [...touched.filter((each) => !mine.includes(each)), ...mine] }, kind);
  }

  /**
   * All numbers of the hole that one is of; of others itself.
   * @param {string} name
   */
  together(name) {
    const [quantity, hole] = parted(name);
    const ofHole = hole && this.found.holes.some((each) => each.id === hole) && quantity !== "joint_mm";
    return ofHole ? this.found.numbers.map((each) => each.name).filter((each) => parted(each)[1] === hole) : [name];
  }

  /**
   * @param {string[]} names
   * @param {boolean} held
   */
  hold(names, held) {
    const { numbers, touched } = this.history.now;
    const others = touched.filter((each) => !names.includes(each));
    this.put({ numbers, touched: held ? [...others, ...names] : others }, "hold");
  }

  /**
   * @param {State} state
   * @param {string} kind
   */
  put(state, kind) {
    this.settling?.abort();
    this.history.put(state, kind);
    this.follow();
  }

  /** @param {-1 | 1} way */
  step(way) {
    this.settling?.abort();
    if (this.history.go(way)) this.follow();
  }

  /** Show the numbers as they are, and ask what they come to. */
  follow() {
    this.draw();
    this.exchange.move(this.changed());
  }

  /** Numbers that differ from the layout's own. */
  changed() {
    const now = this.history.now;
    return Object.fromEntries(differing(this.history.first, now).map((name) => [name, now.numbers[name]]));
  }

  /** @param {MovedLayout} found */
  show(found) {
    this.found = found;
    this.outcome.querySelector(".refusal")?.remove(); // it was about an earlier move
    this.told.show(found);
    this.body.found = found;
    this.body.ring(found.binds.filter((each) => !isRange(each)));
    say(this.verdict, verdict(found));
    this.verdict.classList.toggle("bad", !found.feasible);
    this.draw();
    clearTimeout(this.timer);
    if (this.history.at) this.timer = window.setTimeout(() => !this.signal.aborted && announce(this.verdict.textContent ?? ""), QUIET_MS);
  }

  draw() {
    const now = this.history.now, still = !differing(this.history.first, now).length;
    this.told.showClearances(this.found, this.body.picked);
    this.body.draw(this.found, (hole, quantity) => this.number(`${quantity}.${hole}`));
    this.numbers.show(this.found.numbers.map((each) => ({ ...each, value: now.numbers[each.name] })), now.touched);
    this.acts.undo.disabled = !this.history.may(-1);
    this.acts.redo.disabled = !this.history.may(1);
    this.acts.keep.disabled = still;
    this.acts.settle.disabled = !this.found.numbers.length;
  }

  /** @param {string} hole */
  pick(hole) {
    this.body.pick(hole);
    this.draw();
  }

  /** @param {number} zoom */
  zoom(zoom) {
    this.body.zoom = zoom;
    this.draw();
    this.body.box.querySelector(".picked")?.scrollIntoView({ inline: "center", block: "nearest" });
  }

  /** @param {boolean} lags */
  lag(lags) {
    this.lagging.hidden = !lags;
    this.body.box.classList.toggle("lags", lags);
  }

  /** @param {unknown} error */
  fail(error) {
    this.outcome.replaceChildren(refusal(error));
  }

  /** @param {KeyboardEvent} event */
  keyed(event) {
    const typing = event.target instanceof HTMLInputElement && event.target.type !== "checkbox";
    if (typing || !(event.ctrlKey || event.metaKey) || event.altKey) return;
    const key = event.key.toLowerCase();
    if (key !== "z" && key !== "y") return;
    event.preventDefault();
    this.step(key === "y" || event.shiftKey ? 1 : -1);
  }

  /** Solve the others again around what was touched, a few steps at a time, and show how far it is. */
  async settle() {
    const controller = (this.settling = new AbortController());
    const signal = AbortSignal.any([controller.signal, this.signal]), held = this.history.now.touched;
    this.atWork(true);
    let numbers = this.history.now.numbers, before = Infinity, done = "as far as it goes in this time; settle again to go on";
    try {
      for (let round = 0; round < ROUNDS; round += 1) {
        const found = await this.exchange.settle(numbers, held, signal);
        if (!found || signal.aborted) throw new DOMException("a move came in between", "AbortError");
        numbers = Object.fromEntries(found.numbers.map((each) => [each.name, each.value]));
        this.history.put({ numbers, touched: held }, "settle");
        this.show(found);
        say(this.outcome, `Settling: tuning ${figure(found.objectives.tuning, 2)} cents…`);
        if (found.settled || Math.abs(before - found.objectives.tuning) < GAIN) {
          done = "at rest";
          break;
        }
        before = found.objectives.tuning;
      }
      say(this.outcome, `The others have settled around ${counted(new Set(held.map((each) => parted(each)[1] || each)).size, "touched thing")}, ${done}.`);
    } catch (error) {
      if (left(error)) say(this.outcome, "Settling was stopped; what it had come to is shown.");
      else this.fail(error);
    }
    this.history.pause();
    if (this.settling === controller) this.settling = null;
    this.atWork(false);
  }

  /** Stop settling, and ask what the numbers come to: an answer that was under way when it began has been dropped. */
  stop() {
    this.settling?.abort();
    this.follow();
  }

  /** @param {boolean} busy */
  atWork(busy) {
    const hadFocus = document.activeElement === this.acts.stop || document.activeElement === this.acts.settle;
    this.acts.settle.hidden = busy;
    this.acts.stop.hidden = !busy;
    if (hadFocus) (busy ? this.acts.stop : this.acts.settle).focus();
  }

  async keep() {
    this.acts.keep.disabled = true;
    try {
      /** @type {ByHandEntry} */
      const made = await put(`${this.path}/kept`, { numbers: this.changed(), moved: this.history.now.touched }, this.signal);
      const better = made.better_on_front;
      const stands = !made.feasible ? "It breaks limits." : better.length ? `On the front, ${counted(better.length, "layout")} beat it in everything sought.` : "Nothing on the front beats it in everything sought.";
      this.outcome.replaceChildren(el("p", {}, "Kept as ", link(`layout ${made.id}`, `#/run/${this.run}/layout/${made.id}`), `, a layout of this run. ${stands}`));
    } catch (error) {
      if (!left(error)) this.fail(error);
    }
    this.acts.keep.disabled = false;
  }
}
