// The page: which view stands in it, by the address behind the #; and the token, where the service asks for one.

import { byId, el, field, refusal } from "./dom.js";
import { put } from "./api.js";
import { pins } from "./pins.js";
import { showBegin } from "./begin.js";
import { showBeside } from "./beside.js";
import { showByHand } from "./byhand.js";
import { showLayout } from "./layout.js";
import { showExtension, showLow } from "./low.js";
import { showNew } from "./submit.js";
import { showPrototype } from "./prototype.js";
import { showRun } from "./run.js";
import { showShelf } from "./shelf.js";

/** @typedef {(main: HTMLElement, signal: AbortSignal, ...parts: any[]) => void} View its parts are strings of the address */

const main = byId("main");
/** @type {[RegExp, View, string, string][]} address, view, its way at the head, its title */
const VIEWS = [
  [/^$/, showShelf, "shelf", "Shelf"],
  [/^begin$/, showBegin, "begin", "Begin"],
  [/^new$/, showNew, "new", "New run"],
  [/^run\/([^/]+)$/, showRun, "shelf", "Run"],
  [/^run\/([^/]+)\/layout\/([^/]+)$/, showLayout, "shelf", "Layout"],
  [/^run\/([^/]+)\/layout\/([^/]+)\/prototype$/, showPrototype, "shelf", "Prototype"],
  [/^run\/([^/]+)\/layout\/([^/]+)\/by-hand$/, showByHand, "shelf", "By hand"],
  [/^beside$/, showBeside, "beside", "Side by side"],
  [/^low$/, showLow, "low", "Lower notes"],
  [/^low\/([^/]+)$/, showExtension, "low", "Lower notes"],
];
let leaving = new AbortController();
let shown = "";

function address() {
  const written = location.hash.replace(/^#\/?/, "");
  try {
    return decodeURIComponent(written);
  } catch {
    return written; // no such address; the view for that says so
  }
}

/**
 * Put the view of the address into the page.
 * @param {boolean} focus whether to move it to the view's heading
 */
function show(focus) {
  leaving.abort();
  leaving = new AbortController();
  shown = address();
  const [pattern, view, way, title] = VIEWS.find(([each]) => each.test(shown)) ?? [/^/, nowhere, "", "Nowhere"];
  const parts = (shown.match(pattern) ?? []).slice(1);
  main.replaceChildren();
  /** @type {NodeListOf<HTMLElement>} */
  const ways = document.querySelectorAll("[data-way]");
  for (const each of ways) {
    if (each.dataset.way === way) each.setAttribute("aria-current", "page");
    else each.removeAttribute("aria-current");
  }
  document.title = `${[...parts].reverse().join(", ") || title} – Holewright`;
  view(main, leaving.signal, ...parts);
  if (focus) focusHeading();
}

function focusHeading() {
  const heading = main.querySelector("h1");
  if (!heading) return;
  heading.tabIndex = -1;
  heading.focus({ preventScroll: true });
  window.scrollTo(0, 0);
}

/** @param {HTMLElement} place */
function nowhere(place) {
  place.append(
    el("h1", {}, "There is nothing at this address"),
    el("p", {}, "Perhaps it was cut short. ", el("a", { href: "#/" }, "To the shelf"), "."),
  );
}

/** Ask for the token in place of the view; then go on where one was. */
function askForToken() {
  if (main.querySelector("#token")) return;
  leaving.abort();
  const token = el("input", { id: "token", type: "password", autocomplete: "current-password", required: true });
  const trouble = el("div");
  const send = async (/** @type {SubmitEvent} */ event) => {
    event.preventDefault();
    try {
      await put("session", { token: token.value.trim() });
    } catch (error) {
      trouble.replaceChildren(refusal(error));
      token.focus();
      return;
    }
    token.remove();
    show(true);
  };
  main.replaceChildren(
    el("h1", {}, "This service asks for its token"),
    el("p", {}, "It was shown once where the service was started. This browser is let in until it is closed."),
    el("form", { class: "narrow", on: { submit: send } }, field("Token", token), trouble, submitButton("Go in")),
  );
  document.title = "Token – Holewright";
  token.focus();
}

const submitButton = (/** @type {string} */ words) => el("button", { type: "submit", class: "main" }, words);

function countPins() {
  const many = pins().length;
  byId("pinned").textContent = many ? `(${many})` : "";
}

document.addEventListener("token-wanted", () => setTimeout(askForToken));
document.addEventListener("pins", countPins);
document.querySelector(".skip")?.addEventListener("click", (event) => {
  event.preventDefault();
  focusHeading();
});
window.addEventListener("hashchange", () => {
  if (location.hash.startsWith("#/") || location.hash === "") show(true);
});
countPins();
show(false);
