// Layouts pinned to be held side by side: up to three, across runs, kept by this browser.

import { announce, button } from "./dom.js";

const KEY = "holewright.pins";
export const MOST = 3;
const NAME = /^[\w.-]+(\/[\w-]+)?$/;

/**
 * Names that are pinned: RUN/LAYOUT, or RUN for its best-tuned one.
 * @returns {string[]}
 */
export function pins() {
  try {
    const kept = JSON.parse(localStorage.getItem(KEY) ?? "[]");
    return Array.isArray(kept) ? kept.filter((each) => typeof each === "string" && NAME.test(each)).slice(0, MOST) : [];
  } catch {
    return [];
  }
}

/** @param {string[]} names */
function keep(names) {
  try {
    localStorage.setItem(KEY, JSON.stringify(names));
  } catch {
    announce("This browser keeps nothing; pins are lost with the page.");
  }
  document.dispatchEvent(new CustomEvent("pins"));
}

/** @param {string} name */
export const unpin = (name) => keep(pins().filter((each) => each !== name));

/**
 * A button that pins and unpins; what: how it is called.
 * @param {string} name
 * @param {string} what
 */
export function pinButton(name, what) {
  const made = button("", () => {
    const kept = pins();
    if (kept.includes(name)) {
      unpin(name);
      announce(`${what} is unpinned.`);
    } else if (kept.length >= MOST) {
      announce(`${MOST} are pinned already; unpin one first.`);
    } else {
      keep([...kept, name]);
      announce(`${what} is pinned; ${kept.length + 1} of ${MOST}.`);
    }
  }, { class: "pin", "data-pin": name, "data-what": what });
  refresh(made, pins());
  return made;
}

/**
 * @param {HTMLButtonElement} made
 * @param {string[]} kept
 */
function refresh(made, kept) {
  const { pin = "", what } = made.dataset;
  const held = kept.includes(pin);
  made.textContent = held ? "Unpin" : "Pin";
  made.setAttribute("aria-label", `${held ? "Unpin" : "Pin"} ${what}`);
  made.disabled = !held && kept.length >= MOST;
  made.title = made.disabled ? `${MOST} are pinned already` : "";
}

document.addEventListener("pins", () => {
  const kept = pins();
  /** @type {NodeListOf<HTMLButtonElement>} */
  const buttons = document.querySelectorAll("button[data-pin]");
  for (const made of buttons) refresh(made, kept);
});

window.addEventListener("storage", (event) => {
  if (event.key === KEY) document.dispatchEvent(new CustomEvent("pins"));
});
