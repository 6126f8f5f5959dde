// The solid of a layout: turned by dragging or the arrow keys, cut open along the bore. Drawings stand in its place until
// it is there, where scripts are off, and in print.
(function () {
  "use strict";
  /** @type {any} */
  const ogl = Reflect.get(globalThis, "ogl");
  const CREASE = Math.cos((35 * Math.PI) / 180);
  const COLOURS = [[0.72, 0.55, 0.28], [0.86, 0.79, 0.66], [0.62, 0.66, 0.6]]; // crook; pieces in turn
  const SECTION = [0.69, 0.29, 0.1];
  const VERTEX = `
    attribute vec3 position; attribute vec3 normal;
    uniform mat4 modelViewMatrix; uniform mat4 projectionMatrix; uniform mat3 normalMatrix;
    varying vec3 place; varying vec3 upright;
    void main() {
      place = position;
      upright = normalMatrix * normal;
      gl_Position = projectionMatrix * modelViewMatrix * vec4(position, 1.0);
    }`;
  const FRAGMENT = `
    precision highp float;
    uniform vec3 colour; uniform vec3 section; uniform vec3 gone; uniform float open;
    varying vec3 place; varying vec3 upright;
    void main() {
      if (open > 0.5 && dot(place, gone) > 0.0) discard;
      if (open > 0.5 && !gl_FrontFacing) { gl_FragColor = vec4(section, 1.0); return; }
      vec3 up = normalize(upright);
      float light = 0.45 + 0.45 * max(0.0, dot(up, normalize(vec3(0.3, 0.6, 0.8)))) + 0.15 * max(0.0, up.z);
      gl_FragColor = vec4(colour * light, 1.0);
    }`;

  /** @typedef {{ parts: [string, number, number][], step_mm: number, least_mm: number[], data: string }} Scene */

  /** Corners of each part with the bore to the right, the front to the reader, and triangles. @param {Scene} scene */
  function unpacked(scene) {
    const letters = scene.data.replaceAll("-", "+").replaceAll("_", "/");
    const bytes = Uint8Array.from(atob(letters), (letter) => letter.charCodeAt(0));
    const words = new Uint16Array(bytes.buffer);
    let at = 0;
    return scene.parts.map(([, count, triangles]) => {
      const corners = new Float32Array(3 * count);
      for (let n = 0; n < count; n++) {
        const [x, y, z] = [0, 1, 2].map((axis) => words[at + 3 * n + axis] * scene.step_mm + scene.least_mm[axis]);
        corners.set([z, -y, x], 3 * n);
      }
      at += 3 * count;
      const numbers = words.subarray(at, at + 3 * triangles);
      at += 3 * triangles;
      return { corners, numbers };
    });
  }

  /** Each triangle's own corners, with normals that are smooth but across edges.
   * @param {Float32Array} corners @param {Uint16Array} numbers */
  function faces(corners, numbers) {
    const count = numbers.length / 3;
    const flat = new Float32Array(3 * count);
    /** @type {number[][]} */
    const around = Array.from({ length: corners.length / 3 }, () => []);
    for (let t = 0; t < count; t++) {
      const [a, b, c] = [0, 1, 2].map((n) => corners.subarray(3 * numbers[3 * t + n], 3 * numbers[3 * t + n] + 3));
      const [ux, uy, uz, vx, vy, vz] = [b[0] - a[0], b[1] - a[1], b[2] - a[2], c[0] - a[0], c[1] - a[1], c[2] - a[2]];
      flat.set([uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx], 3 * t);
      for (let n = 0; n < 3; n++) around[numbers[3 * t + n]].push(t);
    }
    const place = new Float32Array(9 * count);
    const normal = new Float32Array(9 * count);
    const size = (/** @type {number} */ t) => Math.hypot(flat[3 * t], flat[3 * t + 1], flat[3 * t + 2]) || 1;
    for (let n = 0; n < 3 * count; n++) {
      const t = Math.floor(n / 3);
      place.set(corners.subarray(3 * numbers[n], 3 * numbers[n] + 3), 3 * n);
      for (const other of around[numbers[n]]) {
        const along = flat[3 * t] * flat[3 * other] + flat[3 * t + 1] * flat[3 * other + 1] + flat[3 * t + 2] * flat[3 * other + 2];
        if (along < CREASE * size(t) * size(other)) continue;
        for (let axis = 0; axis < 3; axis++) normal[3 * n + axis] += flat[3 * other + axis];
      }
    }
    return { position: { size: 3, data: place }, normal: { size: 3, data: normal } };
  }

  /** @param {HTMLElement} figure */
  function start(figure) {
    /** @type {Scene} */
    const scene = JSON.parse(figure.querySelector("script.scene")?.textContent ?? "");
    const stage = /** @type {HTMLElement} */ (figure.querySelector(".stage"));
    const renderer = new ogl.Renderer({ alpha: true, antialias: true, dpr: Math.min(window.devicePixelRatio, 2) });
    const { gl } = renderer;
    const parts = unpacked(scene);
    const reach = Math.max(...parts.flatMap((part) => Array.from(part.corners)).map(Math.abs));
    const uniforms = { section: { value: SECTION }, gone: { value: [0, 0, 1] }, open: { value: 0 } };
    const turned = new ogl.Transform();
    const rolled = new ogl.Transform();
    rolled.setParent(turned);
    parts.forEach((part, number) => {
      const crook = scene.parts[number][0] === "crook";
      const colour = { value: COLOURS[crook ? 0 : 1 + (number % 2)] };
      const program = new ogl.Program(gl, {
        vertex: VERTEX, fragment: FRAGMENT, cullFace: false, uniforms: { ...uniforms, colour },
      });
      const mesh = new ogl.Mesh(gl, { geometry: new ogl.Geometry(gl, faces(part.corners, part.numbers)), program });
      mesh.setParent(rolled);
    });
    const camera = new ogl.Camera(gl, { fov: 24, near: 0.02 * reach, far: 12 * reach });
    const view = { roll: -0.9, turn: 0.35 }; // the front up, and a cut toward the reader
    const input = (/** @type {string} */ name) => {
      const found = figure.querySelector(`[name=${name}]`);
      return /** @type {HTMLInputElement} */ (found);
    };
    let waiting = 0;
    const draw = () => {
      waiting = 0;
      const [wide, high] = [stage.clientWidth, Math.round(Math.min(Math.max(0.36 * stage.clientWidth, 220), 380))];
      if (!wide) return;
      renderer.setSize(wide, high);
      const nearer = 2 ** Number(input("nearer").value);
      const half = Math.tan((12 * Math.PI) / 180);
      camera.perspective({ aspect: wide / high });
      camera.position.set(0, 0, (0.56 * reach) / (half * (wide / high)) / nearer + 0.05 * reach);
      turned.rotation.y = view.turn;
      rolled.rotation.x = view.roll;
      const place = reach * Number(input("place").value);
      for (const mesh of rolled.children) mesh.position.x = -place;
      const cut = (Number(input("cut").value) * Math.PI) / 180;
      uniforms.open.value = input("open").checked ? 1 : 0;
      uniforms.gone.value = [0, -Math.cos(cut), -Math.sin(cut)];
      renderer.render({ scene: turned, camera });
    };
    const soon = () => { waiting ||= requestAnimationFrame(draw); };
    const { canvas } = gl;
    canvas.tabIndex = 0;
    canvas.setAttribute("role", "img");
    canvas.setAttribute("aria-label", "the pieces put together; arrow keys turn them");
    let from = { x: 0, y: 0 };
    canvas.addEventListener("pointerdown", (/** @type {PointerEvent} */ event) => {
      canvas.setPointerCapture(event.pointerId);
      from = { x: event.clientX, y: event.clientY };
    });
    canvas.addEventListener("pointermove", (/** @type {PointerEvent} */ event) => {
      if (!event.buttons) return;
      view.turn += (event.clientX - from.x) / 200;
      view.roll += (event.clientY - from.y) / 120;
      from = { x: event.clientX, y: event.clientY };
      soon();
    });
    canvas.addEventListener("keydown", (/** @type {KeyboardEvent} */ event) => {
      const by = { ArrowLeft: [0, -0.1], ArrowRight: [0, 0.1], ArrowUp: [-0.1, 0], ArrowDown: [0.1, 0] }[event.key];
      if (!by) return;
      event.preventDefault();
      view.roll += by[0];
      view.turn += by[1];
      soon();
    });
    for (const each of figure.querySelectorAll("input")) each.addEventListener("input", soon);
    new ResizeObserver(soon).observe(stage);
    stage.append(canvas);
    figure.classList.add("turns");
    draw();
    return gl;
  }

  /** @type {{ figure: Element, gl: WebGLRenderingContext }[]} */
  let shown = [];
  const watch = new IntersectionObserver((entries) => {
    for (const entry of entries) {
      if (!entry.isIntersecting) continue;
      watch.unobserve(entry.target);
      try {
        shown.push({ figure: entry.target, gl: start(/** @type {HTMLElement} */ (entry.target)) });
      } catch { /* no WebGL here: the drawings stay */ }
    }
  });

  /** Solids begin to turn as they are seen; those of pages that were left give back what they drew on.
   * @param {ParentNode} root */
  function watchIn(root) {
    for (const each of shown) if (!each.figure.isConnected) each.gl.getExtension("WEBGL_lose_context")?.loseContext();
    shown = shown.filter((each) => each.figure.isConnected);
    for (const each of root.querySelectorAll("figure.solid")) watch.observe(each);
  }
  globalThis.addEventListener("solids", (event) => {
    if (event instanceof CustomEvent) watchIn(event.detail);
  });
  watchIn(document);
}());
