// What was changed by hand, step by step, to go back and on.

/** @typedef {{ numbers: Record<string, number>, touched: string[] }} State all numbers by name; names of those touched by hand */

/** Changes of one kind that follow each other so soon are one step. */
const ONE_STEP_MS = 1200;

export class History {
  /** @param {State} first */
  constructor(first) {
    this.steps = [first];
    this.at = 0;
    this.kind = "";
    this.when = 0;
  }

  get now() {
    return this.steps[this.at];
  }

  get first() {
    return this.steps[0];
  }

  /**
   * A new state, in place of the last one where that was the same kind of change just before.
   * @param {State} state
   * @param {string} kind such as `position_mm.h04`
   */
  put(state, kind) {
    const goesOn = kind === this.kind && Date.now() - this.when < ONE_STEP_MS && this.at > 0;
    if (!goesOn) this.at += 1;
    this.steps.length = this.at;
    this.steps.push(state);
    this.kind = kind;
    this.when = Date.now();
  }

  /**
   * Go back (-1) or on (1); whether there was such a step.
   * @param {-1 | 1} way
   */
  go(way) {
    const there = this.may(way);
    if (there) this.at += way;
    this.kind = "";
    return there;
  }

  /** @param {-1 | 1} way */
  may(way) {
    return this.at + way >= 0 && this.at + way < this.steps.length;
  }

  /** The next change is a step of its own. */
  pause() {
    this.kind = "";
  }
}

/**
 * Names of numbers that differ between two states.
 * @param {State} one
 * @param {State} other
 */
export const differing = (one, other) => Object.keys(one.numbers).filter((name) => one.numbers[name] !== other.numbers[name]);
