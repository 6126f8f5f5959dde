// A layout's notes heard: oscillators with the partials that its record tells, one step after the other. Nothing plays
// until a button is pressed, one player at a time, and no longer than the player is in sight of the page.
(function () {
  "use strict";
  const SECONDS = 2;
  const REST = 0.08;
  const RISE = 0.03;
  const FALL = 0.05;
  const LEVEL = 0.12; // root mean square of a tone, of full scale 1: two of them stay below it
  const NINE_OF_TEN = 1.645; // deviations from the middle of a normal distribution to its 5 and 95 %
  const WAIT = 0.1;

  /**
   * @typedef {{ written: string, touches: string, alternate: boolean, target_hz: number, frequency_hz: number | null,
   *   cents: number | null, sd_cents: number | null, level_db: number[] }} Note
   * @typedef {{ layout: string, notes: Note[] }} Sound
   * @typedef {{ hz: number, level_db: number[] }} Tone
   * @typedef {{ words: string, tones: Tone[] }} Step what sounds at once, and what is said of it
   * @typedef {[name: string, sound: () => Promise<Sound> | Sound]} Other
   */

  /** What sounds of one line of the chart.
   * @param {Note} note @param {string} track @param {Note} drone @param {string} whose @returns {Step[]} */
  function stepsOf(note, track, drone, whose) {
    if (note.frequency_hz === null) return [];
    const own = { hz: note.frequency_hz, level_db: note.level_db };
    const wanted = { hz: note.target_hz, level_db: note.level_db };
    const off = note.cents ?? 0;
    const words = `${whose}${note.written}, ${off < 0 ? "\u2212" : "+"}${Math.abs(off).toFixed(1)} cents`;
    if (track === "in-tune") return [{ words: `${whose}${note.written}, in tune`, tones: [wanted] }];
    if (track === "beats") {
      return [{ words: `${words}; ${Math.abs(own.hz - wanted.hz).toFixed(2)} beats a second`, tones: [own, wanted] }];
    }
    if (track === "drone") {
      return [{ words: `${words}; over ${drone.written}`, tones: [own, { hz: drone.target_hz, level_db: drone.level_db }] }];
    }
    if (track === "doubt") {
      const ends = [-1, 1].map((side) => side * NINE_OF_TEN * (note.sd_cents ?? 0));
      return ends.map((cents) => ({
        words: `${whose}${note.written}, ${cents < 0 ? "low" : "high"} end of its band`,
        tones: [{ ...own, hz: own.hz * 2 ** (cents / 1200) }],
      }));
    }
    return [{ words, tones: [own] }];
  }

  /** Another layout's line of a note: one of the same fingering before others. @param {Note} note @param {Sound} other */
  function sameNote(note, other) {
    const lines = other.notes.filter((each) => each.written === note.written && each.frequency_hz !== null);
    return lines.find((each) => each.touches === note.touches) ?? lines.find((each) => each.alternate === note.alternate);
  }

  /** Everything that is asked for. @param {Sound} sound @param {Record<"track" | "note" | "drone", string>} asked
   * @param {Sound | null} other */
  function score(sound, asked, other) {
    const notes = asked.note === "" ? sound.notes.filter((note) => !note.alternate) : [sound.notes[Number(asked.note)]];
    const drone = sound.notes[Number(asked.drone)];
    return notes.flatMap((note) => {
      const same = other ? sameNote(note, other) : undefined;
      return [
        ...stepsOf(note, asked.track, drone, other ? `${sound.layout}: ` : ""),
        ...(other && same ? stepsOf(same, asked.track, drone, `${other.layout}: `) : []),
      ];
    });
  }

  /** One turn of a tone, its partials begun so that its power spreads over the turn (Schroeder 1970, from memory).
   * @param {BaseAudioContext} context @param {number[]} levels */
  function waveOf(context, levels) {
    const sizes = levels.map((level) => 10 ** (level / 20));
    const whole = Math.sqrt(sizes.reduce((sum, size) => sum + (size * size) / 2, 0));
    const real = new Float32Array(levels.length + 1);
    const imag = new Float32Array(levels.length + 1);
    sizes.forEach((size, at) => {
      const start = (-Math.PI * at * (at + 1)) / levels.length;
      real[at + 1] = ((size / whole) * LEVEL) * Math.sin(start);
      imag[at + 1] = ((size / whole) * LEVEL) * Math.cos(start);
    });
    return context.createPeriodicWave(real, imag, { disableNormalization: true });
  }

  /** Have steps sound one after the other; how long until the last is over [s].
   * @param {BaseAudioContext} context @param {Step[]} steps */
  function sounded(context, steps) {
    steps.forEach((step, at) => {
      const begins = WAIT + at * (SECONDS + REST);
      const gate = context.createGain();
      gate.connect(context.destination);
      gate.gain.setValueAtTime(0, begins);
      gate.gain.linearRampToValueAtTime(1, begins + RISE);
      gate.gain.setValueAtTime(1, begins + SECONDS - FALL);
      gate.gain.linearRampToValueAtTime(0, begins + SECONDS);
      for (const tone of step.tones) {
        const source = context.createOscillator();
        source.setPeriodicWave(waveOf(context, tone.level_db));
        source.frequency.setValueAtTime(tone.hz, 0);
        source.connect(gate);
        source.start(begins);
        source.stop(begins + SECONDS);
      }
    });
    return WAIT + steps.length * (SECONDS + REST);
  }

  /** What silences the player that sounds. */
  let hush = () => {};

  /** @param {HTMLElement} place @param {Other[]} others */
  function start(place, others) {
    const sound = soundIn(place);
    const choice = (/** @type {string} */ name) => /** @type {HTMLSelectElement} */ (place.querySelector(`select[name=${name}]`));
    const [play, stop] = ["play", "stop"].map((name) => /** @type {HTMLButtonElement} */ (place.querySelector(`button[name=${name}]`)));
    const said = /** @type {HTMLElement} */ (place.querySelector(".sounding"));
    const then = choice("then");
    for (const [name] of others) then.append(new Option(name));
    /** @param {string} name */
    const kept = (name) => /** @type {HTMLElement} */ (choice(name).closest("label"));
    const fitting = () => { kept("drone").hidden = choice("track").value !== "drone"; };
    choice("track").addEventListener("change", fitting);
    fitting();
    kept("then").hidden = !others.length;

    /** @param {Step[]} steps */
    function begin(steps) {
      hush(); // who began while another layout was awaited
      const context = new AudioContext();
      const ends = sounded(context, steps);
      const watch = setInterval(() => {
        const now = context.currentTime;
        const step = steps[Math.floor((now - WAIT) / (SECONDS + REST))];
        if (step && said.textContent !== step.words) said.textContent = step.words;
        if (now > ends || !place.getClientRects().length) hush();
      }, 100);
      hush = () => {
        hush = () => {};
        clearInterval(watch);
        context.close();
        said.textContent = "";
        if (document.activeElement === stop) play.focus();
        stop.disabled = true;
      };
      stop.disabled = false;
    }

    play.addEventListener("click", async () => {
      hush();
      const asked = { track: choice("track").value, note: choice("note").value, drone: choice("drone").value };
      try {
        const other = others.find(([name]) => name === then.value);
        begin(score(sound, asked, other ? await other[1]() : null));
      } catch (error) {
        said.textContent = error instanceof Error ? error.message : String(error);
      }
    });
    stop.addEventListener("click", () => hush());
    place.classList.add("plays");
  }

  /** @param {Element} place @returns {Sound} */
  const soundIn = (place) => JSON.parse(place.querySelector("script.sound")?.textContent ?? "");

  /** Let the players below a place play, in turn with these other layouts. @param {ParentNode} root @param {Other[]} others */
  function watchIn(root, others) {
    for (const place of root.querySelectorAll(".hear:not(.plays)")) start(/** @type {HTMLElement} */ (place), others);
  }
  globalThis.addEventListener("sounds", (event) => {
    if (event instanceof CustomEvent) watchIn(event.detail.root, event.detail.others);
  });
  const all = Array.from(document.querySelectorAll(".hear"));
  for (const place of all) {
    const others = all.filter((each) => each !== place).map((each) => soundIn(each));
    start(/** @type {HTMLElement} */ (place), others.map((sound) => [sound.layout, () => sound]));
  }
}());
