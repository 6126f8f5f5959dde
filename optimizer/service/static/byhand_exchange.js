// Moves to the service and what they come to: the newest counts, and it is known when the view lags behind.

import { ask, left, put } from "./api.js";

/** @import { MovedLayout } from "./shapes.js" */
/**
 * @typedef {object} Heard
 * @property {(found: MovedLayout) => void} shown what the newest move came to
 * @property {(error: unknown) => void} failed
 * @property {(lags: boolean) => void} lag whether what is shown is behind what was moved
 */

/** So many moves under way: one worked out, one that waits, and one that may overtake it. */
const UNDER_WAY = 3;
const LAGS_MS = 150;

/** A name that nobody else has. */
const newName = () => Array.from(crypto.getRandomValues(new Uint8Array(12)), (each) => each.toString(16).padStart(2, "0")).join("");

export class Exchange {
  /**
   * @param {string} path of the layout
   * @param {AbortSignal} signal
   * @param {Heard} heard
   */
  constructor(path, signal, heard) {
    this.path = path;
    this.signal = signal;
    this.heard = heard;
    this.sitting = newName();
    this.number = 0;
    this.latest = 0;
    this.flying = 0;
    /** @type {Record<string, number> | null} */
    this.wanted = null;
    this.timer = 0;
    signal.addEventListener("abort", () => {
      clearTimeout(this.timer);
      ask(`sittings/${this.sitting}`, { method: "DELETE" }).catch(() => {}); // it would end by itself
    });
  }

  /**
   * Ask what some numbers come to.
   * @param {Record<string, number>} numbers
   */
  move(numbers) {
    this.wanted = numbers;
    if (!this.timer) this.timer = window.setTimeout(() => this.heard.lag(true), LAGS_MS);
    this.go();
  }

  go() {
    while (this.wanted && this.flying < UNDER_WAY) {
      const numbers = this.wanted;
      this.wanted = null;
      this.send(numbers);
    }
  }

  /** @param {Record<string, number>} numbers */
  async send(numbers) {
    const number = (this.number += 1);
    this.flying += 1;
    try {
      /** @type {MovedLayout | null} */
      const found = await put(`${this.path}/moved`, { sitting: this.sitting, number, numbers }, this.signal);
      if (found && number > this.latest) {
        this.latest = number;
        this.heard.shown(found);
      }
    } catch (error) {
      if (!left(error) && number > this.latest) this.heard.failed(error);
    }
    this.flying -= 1;
    this.go();
    if (this.flying === 0 && !this.wanted) this.inStep();
  }

  inStep() {
    clearTimeout(this.timer);
    this.timer = 0;
    this.heard.lag(false);
  }

  /**
   * The others solved again a few steps further; null where a move came in between.
   * @param {Record<string, number>} numbers
   * @param {string[]} held names of the numbers that stay
   * @param {AbortSignal} signal
   * @returns {Promise<MovedLayout | null>}
   */
  settle(numbers, held, signal) {
    const number = (this.number += 1);
    this.latest = number;
    return put(`${this.path}/settled`, { sitting: this.sitting, number, numbers, held }, signal);
  }
}
