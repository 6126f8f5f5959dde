// A layout: its sheet, what it does in other air and under another hand, and its file for CAD.

import { capital, cautions, drawnByService, el, link, refusal } from "./dom.js";
import { aboutService, API, ask, left, pathOf, text } from "./api.js";
import { conditions } from "./conditions.js";
import { pinButton } from "./pins.js";
import { handoff } from "./handoff.js";
import { fingerings } from "./fingerings.js";
import { prices, tolerance, waysOut } from "./studies.js";

/** @import { FrontRecord, LayoutRecord } from "./shapes.js" */

/**
 * @param {HTMLElement} main
 * @param {AbortSignal} signal
 * @param {string} run
 * @param {string} id
 */
export function showLayout(main, signal, run, id) {
  const sheet = el("div", { class: "sheet" }, el("p", {}, "Drawing…"));
  const beside = el("nav", { class: "steps", "aria-label": "layouts of the front" });
  const away = el("section", { "aria-label": "take away", class: "away" });
  const other = el("section", { "aria-label": "other conditions", class: "other" });
  const studies = el("section", { "aria-label": "studies", class: "other" });
  main.append(
    el("p", { class: "trail" }, link("Shelf", "#/"), " / ", link(run, `#/run/${run}`), " / "),
    el("h1", {}, `Layout ${id}`),
    el("p", { class: "acts" }, pinButton(`${run}/${id}`, `layout ${id}`), " ", link("Side by side", "#/beside"), " ", link("By hand: move its holes", `#/run/${run}/layout/${id}/by-hand`), " ", link("Prototype: measure and correct it", `#/run/${run}/layout/${id}/prototype`), beside),
    sheet,
    other,
    studies,
    away,
  );
  fill(run, id, signal, { sheet, beside, away, other, studies });
}

/**
 * @param {string} run
 * @param {string} id
 * @param {AbortSignal} signal
 * @param {Record<"sheet" | "beside" | "away" | "other" | "studies", HTMLElement>} places
 */
async function fill(run, id, signal, { sheet, beside, away, other, studies }) {
  try {
    /** @type {[LayoutRecord, string]} */
    const [record, drawing] = await Promise.all([
      ask(pathOf("runs", run, "layouts", id), { signal }), text(pathOf("runs", run, "layouts", id, "sheet"), signal),
    ]);
    sheet.replaceChildren(sheetOf(drawing));
    globalThis.dispatchEvent(new CustomEvent("solids", { detail: sheet }));
    const front = await frontOf(run, signal, beside);
    heardBeside(sheet, (front?.layouts ?? []).map((each) => `${run}/${each.id}`).filter((name) => name !== `${run}/${id}`), signal);
    other.append(...conditions(run, record, signal));
    studies.append(...tolerance(run, id, signal), ...fingerings(run, record, signal), ...prices(run, id, signal), ...waysOut(run, signal));
    away.append(...(await takeAway(run, id, record, signal)));
    if (record.parentage) beside.append(link(`Changed by hand from ${record.parentage.layout}`, `#/run/${run}/layout/${record.parentage.layout}`));
    else if (front) neighbours(beside, run, id, front);
  } catch (error) {
    if (!left(error)) sheet.replaceChildren(refusal(error));
  }
}

/**
 * The front of a run; where it cannot be read the layout still stands, and why is said beside it.
 * @param {string} run
 * @param {AbortSignal} signal
 * @param {HTMLElement} beside
 * @returns {Promise<FrontRecord | null>}
 */
async function frontOf(run, signal, beside) {
  try {
    return await ask(pathOf("runs", run, "front"), { signal });
  } catch (error) {
    if (left(error)) throw error;
    beside.append(refusal(error));
    return null;
  }
}

/**
 * A sheet that may stand more than once in a page: without its name as an address, its heading being the view's.
 * @param {string} drawing
 */
export function sheetOf(drawing) {
  const part = drawnByService(drawing);
  part.querySelector("section")?.removeAttribute("id");
  return part;
}

/**
 * Let the layouts below a place be heard, in turn with others that go by run and layout.
 * @param {HTMLElement} place
 * @param {string[]} names
 * @param {AbortSignal} signal
 */
export function heardBeside(place, names, signal) {
  const others = names.map((name) => [name, () => {
    const [run, layout] = name.split("/");
    return ask(pathOf("runs", run, "layouts", layout, "sound"), { signal });
  }]);
  globalThis.dispatchEvent(new CustomEvent("sounds", { detail: { root: place, others } }));
}

/**
 * @param {string} run
 * @param {string} id
 * @param {LayoutRecord} record
 * @param {AbortSignal} signal
 */
async function takeAway(run, id, record, signal) {
  const about = await aboutService();
  const file = API + pathOf("runs", run, "files", "layouts", `${id}.json`);
  return [
    el("h2", {}, "Into CAD, onto the bench"),
    el("p", {}, link(`Layout ${id} as JSON`, file, { download: "", class: "download" }), ": every size in millimetres, angles in degrees, from the reed end along the centre line."),
    ...handoff(run, id, signal),
    cautions("Before anything is printed, drilled or glued", about.cautions_of_making) ?? "",
    el("h3", {}, "Where it comes from"),
    el("p", { class: "soft" }, capital(Object.entries(record.provenance).map(([name, value]) => `${name.replaceAll("_", " ")} ${value}`).join(", "))),
  ];
}

/**
 * @param {HTMLElement} place
 * @param {string} run
 * @param {string} id
 * @param {FrontRecord} front
 */
function neighbours(place, run, id, front) {
  const by = front.objectives[0];
  const names = [...front.layouts].sort((one, other) => one.objectives[by] - other.objectives[by]).map((each) => each.id);
  const at = names.indexOf(id);
  if (at < 0) {
    place.append(el("span", { class: "soft" }, "The front has moved on from this layout."));
    return;
  }
  const step = (/** @type {number} */ to, /** @type {string} */ words) =>
    names[to] ? [link(`${words}: ${names[to]}`, `#/run/${run}/layout/${names[to]}`)] : [];
  place.append(...step(at - 1, "Better in tune"), ...step(at + 1, "Next in tune"));
}
