// An instrument that is made: the tables of its holes and bore, in place of a search.

import { announce, button, el, field, refusal } from "./dom.js";
import { left, put } from "./api.js";
import { number } from "./inquiry.js";

/** @import { ProjectForm } from "./project_form.js" */
/** @import { PresentRun } from "./shapes.js" */

const TABLE = ".csv,.toml,text/csv";

/**
 * What shows an instrument that is made, beside the form of its project.
 * @param {ProjectForm} form
 * @param {AbortSignal} signal
 */
export function presentTables(form, signal) {
  const file = (/** @type {string} */ id) => el("input", { id, type: "file", accept: TABLE });
  const files = { holes: file("present-holes"), bore: file("present-bore"), gauged: file("present-gauged") };
  const reed = number("present-reed", "", { min: 0, max: 100 });
  const joints = el("input", { id: "present-joints", autocomplete: "off", pattern: "[0-9., ]*" });
  const trouble = el("div", { "aria-live": "polite" });
  const show = button("Show it as it is", async () => {
    show.disabled = true;
    trouble.replaceChildren(el("p", {}, "Working out how it sounds…"));
    try {
      /** @type {Record<string, unknown>} */
      const sent = { ...form.sent, joints_mm: joints.value.split(",").filter((each) => each.trim()).map(Number) };
      if (reed.value) sent.reed_cm3 = Number(reed.value);
      for (const [name, input] of Object.entries(files)) {
        const chosen = input.files?.[0];
        if (chosen) sent[name] = { name: chosen.name.slice(-60).replace(/^\.+/, ""), text: await textOf(chosen) };
      }
      if (!sent.holes) throw new Error("choose the table of its holes");
      /** @type {PresentRun} */
      const made = await put("present", sent, signal);
      location.hash = `#/run/${made.run.id}/layout/present`;
      announce(["The instrument is on the shelf.", ...made.remarks].join(" "));
    } catch (error) {
      if (left(error)) return;
      trouble.replaceChildren(refusal(error));
    }
    show.disabled = false;
  });
  return el("details", { class: "drawer" }, el("summary", {}, "Or an instrument that is made already"),
    el("p", {}, "By the tables of its holes and its bore it is shown as it is, without a search: its notes, and the limits that it breaks. The project above gives chart, hand and scale."),
    el("div", { class: "fields" },
      field("Table of its holes", files.holes, "Headers: hole, from_reed_mm, bore_end_mm, chimney_mm."),
      field("Table of its bore", files.bore, "Headers: from_reed_mm, diameter_mm. Left out: the project's."),
      field("Gauge readings in place of sizes there", files.gauged),
      field("Its reed holds, cm³", reed, "Left out: the project's."),
      field("Middles of its joints, mm", joints, "With commas between, such as 310, 560.")),
    trouble, el("p", { class: "acts" }, show));
}

/**
 * The text of a file, which must be UTF-8.
 * @param {File} file
 */
async function textOf(file) {
  try {
    return new TextDecoder("utf-8", { fatal: true }).decode(await file.arrayBuffer());
  } catch {
    throw new Error(`${file.name} is no text in UTF-8; save it as that`);
  }
}
