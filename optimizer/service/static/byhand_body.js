// The body of a layout to scale, from the front and from behind, whose holes are dragged along it and widened.

import { drawn, el, scrolling } from "./dom.js";

/** @import { Binding, BoreTable, HoleRecord, MovedLayout } from "./shapes.js" */
/**
 * @typedef {object} Hands
 * @property {(hole: string, quantity: string, by: number, kind: string) => void} move a number of a hole by so much from where it is
 * @property {(hole: string) => void} pick
 * @property {() => void} rest a drag is over
 * @typedef {object} Mark a hole as it is drawn: its group, and what moves in it
 * @property {SVGGElement} group
 * @property {SVGCircleElement} hit
 * @property {SVGCircleElement} hole
 * @property {SVGCircleElement} ring
 * @property {SVGTextElement} label
 * @property {SVGTextElement} sign
 */

/** Pixels for each millimetre at the least; hits are so many pixels wide; a handle widens by so much for each pixel. */
const LEAST_SCALE = 1, HIT = 13, WIDER = 0.05, LETTERS = 12, LANE = 15, ASIDE = 12;
const FINE = 0.1;

/** @type {(hole: HoleRecord) => boolean} */
const behind = (hole) => Math.cos((hole.azimuth_deg * Math.PI) / 180) < -1e-6;

export class Body {
  /**
   * @param {MovedLayout} found
   * @param {BoreTable} bore the wall of the body, and where a folded one turns back
   * @param {Hands} hands
   */
  constructor(found, bore, hands) {
    this.found = found;
    this.wall = bore.wall_mm;
    this.folds = bore.bends ?? [];
    this.hands = hands;
    this.zoom = 1; // 0: the whole of it, however long
    this.picked = "";
    /** @type {Map<string, Mark>} */
    this.marks = new Map();
    const [front, back] = this.folds.length ? ["The front", "The back"] : ["From the front", "From behind"];
    this.sides = [{ words: front, path: drawn("path", { class: "outside" }), y: 0 }];
    if (found.holes.some(behind)) this.sides.push({ words: back, path: drawn("path", { class: "outside" }), y: 0 });
    this.words = this.sides.map((side) => drawn("text", { class: "soft" }, side.words));
    this.joints = drawn("path", { class: "joint" });
    this.bends = drawn("path", { class: "bend" });
    if (this.folds.length) this.words[0].textContent += ", unrolled along its centre line, the player's right below on all tubes; shaded: bends";
    this.handle = drawn("g", { class: "widen", "aria-hidden": "true" }, drawn("line", { class: "lead" }), drawn("circle", { r: HIT }), drawn("text", { class: "mid" }, "↔"));
    this.svg = drawn("svg", { class: "drawing by-hand", role: "group", "aria-label": "the body to scale, reed end left; each hole can be moved" });
    this.svg.append(...this.sides.map((side) => side.path), this.bends, this.joints, ...this.words);
    for (const hole of found.holes) this.svg.append(this.marked(hole).group);
    this.svg.append(this.handle);
    this.dragged(this.handle, (by) => hands.move(this.picked, "diameter_mm", by * WIDER, `drag width ${this.picked}`));
    this.box = scrolling("the body", this.svg);
    this.box.classList.add("by-hand-box");
  }

  get scale() {
    const length = this.found.bore_mm[this.found.bore_mm.length - 1][0];
    const fits = ((this.box.clientWidth || 800) - 2 * ASIDE) / length;
    return this.zoom ? Math.max(LEAST_SCALE, fits) * this.zoom : fits;
  }

  /** @param {HoleRecord} hole */
  marked(hole) {
    const mark = {
      group: drawn("g", { class: "spot", tabindex: "0", role: "slider", "aria-orientation": "horizontal", "aria-describedby": "by-hand-keys" }),
      hit: drawn("circle", { class: "hit" }),
      ring: drawn("circle", { class: "told" }),
      hole: drawn("circle", { class: "hole" }),
      label: drawn("text", { class: "mid" }, hole.id),
      sign: drawn("text", { class: "mid sign" }),
    };
    mark.group.append(mark.hit, mark.ring, mark.hole, mark.label, mark.sign);
    mark.group.addEventListener("focus", () => this.hands.pick(hole.id));
    mark.group.addEventListener("keydown", (event) => this.keyed(event, hole.id));
    this.dragged(mark.group, (by, event) => this.hands.move(hole.id, "position_mm", (by * (event.shiftKey ? FINE : 1)) / this.scale, `drag ${hole.id}`), () => mark.group.focus());
    this.marks.set(hole.id, mark);
    return mark;
  }

  /**
   * Tell how many pixels a pointer drags something sideways, from one event to the next.
   * @param {SVGElement} thing
   * @param {(by: number, event: PointerEvent) => void} moved
   * @param {() => void} taken
   */
  dragged(thing, moved, taken = () => {}) {
    let last = 0;
    // Browsers scroll by a finger that lands on a part of a drawing, whatever its style says of touches.
    thing.addEventListener("touchstart", (event) => event.preventDefault(), { passive: false });
    thing.addEventListener("pointerdown", (event) => {
      if (event.button !== 0) return;
      event.preventDefault();
      thing.setPointerCapture(event.pointerId);
      last = event.clientX;
      taken();
    });
    thing.addEventListener("pointermove", (event) => {
      if (!thing.hasPointerCapture(event.pointerId) || event.clientX === last) return;
      const by = event.clientX - last;
      last = event.clientX;
      moved(by, event);
    });
    thing.addEventListener("lostpointercapture", () => this.hands.rest());
  }

  /**
   * @param {KeyboardEvent} event
   * @param {string} hole
   */
  keyed(event, hole) {
    /** @type {Record<string, [string, number]>} */
    const keys = { ArrowLeft: ["position_mm", -1], ArrowRight: ["position_mm", 1], ArrowUp: ["diameter_mm", 1], ArrowDown: ["diameter_mm", -1] };
    const found = keys[event.key];
    if (!found || event.ctrlKey || event.altKey || event.metaKey) return;
    event.preventDefault();
    this.hands.move(hole, found[0], found[1] * (event.shiftKey ? 1 : 0.1), `keys ${hole} ${found[0]}`);
  }

  /**
   * Draw the body as it is, holes where they were moved to.
   * @param {MovedLayout} found
   * @param {(hole: string, quantity: string) => import("./shapes.js").FreeNumber | undefined} free numbers as they are moved
   */
  draw(found, free) {
    this.found = found;
    const scale = this.scale, radius = Math.max(...found.bore_mm.map(([, wide]) => wide / 2)) + this.wall;
    const top = 3.6 * LANE, deep = radius * scale, row = top + 2 * deep + 2.4 * LANE;
    this.sides.forEach((side, at) => {
      side.y = at * row + top + deep;
      side.path.setAttribute("d", outline(found.bore_mm, this.wall, scale, side.y));
      place(this.words[at], 2, at * row + LETTERS);
    });
    const length = found.bore_mm[found.bore_mm.length - 1][0] * scale;
    this.size(length + 2 * ASIDE, row * this.sides.length);
    const joints = found.pieces.slice(0, -1).map((piece) => piece.to_mm * scale + ASIDE);
    this.joints.setAttribute("d", this.sides.flatMap((side) => joints.map((x) => `M${x} ${side.y - deep}V${side.y + deep}`)).join(""));
    const turns = this.folds.map((bend) => [bend.at_mm * scale + ASIDE, Math.PI * bend.radius_mm * scale]);
    this.bends.setAttribute("d", this.sides.flatMap((side) => turns.map(([x, wide]) => `M${x} ${side.y - deep}h${wide}v${2 * deep}h${-wide}z`)).join(""));
    const lanes = this.sides.map(() => /** @type {number[]} */ ([]));
    for (const hole of [...found.holes].sort((one, other) => one.position_mm - other.position_mm)) this.drawHole(hole, free, scale, lanes, deep);
    this.drawHandle(deep);
  }

  /**
   * @param {HoleRecord} hole
   * @param {(hole: string, quantity: string) => import("./shapes.js").FreeNumber | undefined} free
   * @param {number} scale
   * @param {number[][]} lanes of each side, where the last label of each lane ends
   * @param {number} deep
   */
  drawHole(hole, free, scale, lanes, deep) {
    const mark = this.marks.get(hole.id);
    if (!mark) return;
    const along = free(hole.id, "position_mm"), wide = free(hole.id, "diameter_mm");
    const position = along?.value ?? hole.position_mm, diameter = wide?.value ?? hole.diameter_mm;
    const at = behind(hole) ? 1 : 0, side = this.sides[at];
    const x = position * scale + ASIDE;
    const y = side.y + ((at ? -1 : 1) * hole.body_diameter_mm * scale * Math.sin((hole.azimuth_deg * Math.PI) / 180)) / 2;
    const drawnAt = (diameter * hole.top_diameter_mm * scale) / (2 * hole.diameter_mm);
    for (const [circle, radius] of /** @type {[SVGCircleElement, number][]} */ ([[mark.hit, Math.max(HIT, drawnAt)], [mark.ring, drawnAt + 4], [mark.hole, drawnAt]])) {
      circle.setAttribute("cx", String(x));
      circle.setAttribute("cy", String(y));
      circle.setAttribute("r", String(radius));
    }
    const half = 4 * hole.id.length + 2;
    const lane = Math.max(0, [0, 1, 2].find((each) => (lanes[at][each] ?? -1e9) < x - half) ?? 0);
    lanes[at][lane] = x + half;
    place(mark.label, x, side.y - deep - 6 - lane * LANE);
    place(mark.sign, x, y + 4);
    const words = { min: along?.least ?? position, max: along?.most ?? position, now: position };
    for (const [name, value] of Object.entries(words)) mark.group.setAttribute(`aria-value${name}`, value.toFixed(2));
    mark.group.setAttribute("aria-valuetext", `${position.toFixed(2)} mm from the reed end, ${diameter.toFixed(2)} mm wide${mark.group.dataset.told ?? ""}`);
    mark.group.setAttribute("aria-label", `hole ${hole.id}${along || wide ? "" : ", fixed"}`);
    mark.group.classList.toggle("fixed", !along && !wide);
  }

  /** @param {number} deep */
  drawHandle(deep) {
    const mark = this.marks.get(this.picked), hole = this.found.holes.find((each) => each.id === this.picked);
    this.handle.toggleAttribute("hidden", !mark || !hole || mark.group.classList.contains("fixed"));
    if (!mark || !hole) return;
    const side = this.sides[behind(hole) ? 1 : 0], x = Number(mark.hole.getAttribute("cx")), y = side.y + deep + 1.2 * LANE;
    const [line, circle, arrow] = this.handle.children;
    for (const [name, value] of Object.entries({ x1: x, x2: x, y1: Number(mark.hole.getAttribute("cy")), y2: y - HIT })) line.setAttribute(name, String(value));
    circle.setAttribute("cx", String(x));
    circle.setAttribute("cy", String(y));
    place(arrow, x, y + 4);
  }

  /**
   * @param {number} width
   * @param {number} height
   */
  size(width, height) {
    this.svg.setAttribute("viewBox", `0 0 ${width} ${height}`);
    this.svg.style.width = `${width}px`;
    this.svg.style.height = `${height}px`;
  }

  /**
   * Ring the holes that something presses on, by their own names or their fingers': broken with a cross, touching with
   * dashes.
   * @param {Binding[]} binds without ranges
   */
  ring(binds) {
    const fingers = new Map(this.found.holes.map((hole) => [hole.id, hole.by]));
    for (const [id, mark] of this.marks) {
      const mine = binds.filter((each) => each.name.split(/[.-]/).slice(1).some((word) => word === id || word === fingers.get(id)));
      const broken = mine.some((each) => each.margin_mm < 0);
      mark.group.classList.toggle("broken", broken);
      mark.group.classList.toggle("touching", mine.length > 0 && !broken);
      mark.sign.textContent = broken ? "✕" : "";
      mark.group.dataset.told = broken ? ", breaks a limit" : mine.length ? ", touches a limit" : "";
    }
  }

  /** @param {string} hole */
  pick(hole) {
    this.picked = hole;
    for (const [id, mark] of this.marks) mark.group.classList.toggle("picked", id === hole);
  }
}

/**
 * The outside of a body as a path.
 * @param {[number, number][]} bore
 * @param {number} wall
 * @param {number} scale
 * @param {number} y of its middle line
 */
function outline(bore, wall, scale, y) {
  const up = bore.map(([s, wide]) => `${ASIDE + s * scale} ${y - (wide / 2 + wall) * scale}`);
  const down = bore.map(([s, wide]) => `${ASIDE + s * scale} ${y + (wide / 2 + wall) * scale}`).reverse();
  return `M${[...up, ...down].join("L")}Z`;
}

/**
 * @param {Element} thing
 * @param {number} x
 * @param {number} y
 */
function place(thing, x, y) {
  thing.setAttribute("x", String(x));
  thing.setAttribute("y", String(y));
}

/** What the keys do, for all holes at once. */
export const keysTold = () =>
  el("p", { class: "help", id: "by-hand-keys" }, "Drag a hole along the body, and the handle below it to make it wider; with Shift a tenth as far. Keys: left and right move a hole by 0.1 mm, up and down make it 0.1 mm wider or narrower; with Shift 1 mm.");
