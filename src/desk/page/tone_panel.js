// Exposure and tone of what is shown: how many samples have which light, and what becomes black and white.
import { button, fill, h, onceAFrame } from "./dom.js";
import { colour, onLight } from "./light.js";
import { histogram, suggestedTone } from "./tone.js";
import { percent } from "./words.js";

/** @typedef {import("./tone.js").Tone} Tone */
/** @typedef {import("./api.js").Samples} Samples */

const steps = 256;
/** Dark light gets more room, as eyes give it. @param {number} light */
const toRoom = (light) => Math.sqrt(Math.max(0, light));

/** @param {(tone: Tone | null) => void} changed null: as the server proposes */
export function tonePanel(changed) {
  /** @type {Tone | null} */
  let tone = null;
  /** @type {Samples | null} */
  let shown = null;
  /** @type {Uint32Array[]} */
  let counts = [];
  const canvas = h("canvas", { class: "histogram", set: { role: "img", "aria-label": "Histogram of the frame" } });
  const slide = (/** @type {keyof Tone} */ part, /** @type {string} */ words, /** @type {number} */ low, /** @type {number} */ high) => {
    const input = h("input", { set: { type: "range", min: low, max: high, step: 0.002, "aria-label": words }, on: { input: () => choose() } });
    const output = h("output", { class: "digits small" });
    return { part, input, output, element: h("label", { class: "slide" }, h("span", {}, words), input, output) };
  };
  const slides = [slide("black", "Black", 0, 1), slide("white", "White", 0, 1), slide("power", "Dark parts", 0.2, 1.4)];
  const [black, white, power] = slides.map((s) => s.input);

  function choose() {
    const [low, high] = [Number(black.value) ** 2, Number(white.value) ** 2];
    // From left to right more of the dark parts is seen.
    set({ black: Math.min(low, 0.998), white: Math.max(high, low + 0.002), power: 1.6 - Number(power.value) });
  }
  /** @param {Tone | null} to */
  function set(to) {
    tone = to;
    changed(to);
    write();
  }
  const current = () => tone ?? shown?.show ?? null;
  function write() {
    const now = current();
    if (!now) return;
    black.value = String(toRoom(now.black));
    white.value = String(toRoom(now.white));
    power.value = String(1.6 - now.power);
    slides[0].output.textContent = percent(Math.max(0, now.black));
    slides[1].output.textContent = percent(now.white);
    slides[2].output.textContent = now.power === 1 ? "as they are" : now.power < 1 ? "lifted" : "lowered";
    draw();
  }
  const draw = onceAFrame(() => {
    const ratio = devicePixelRatio;
    const [w, high] = [canvas.clientWidth, canvas.clientHeight];
    Object.assign(canvas, { width: Math.round(w * ratio), height: Math.round(high * ratio) });
    const context = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d"));
    context.scale(ratio, ratio);
    const most = Math.log1p(Math.max(1, ...counts.map((list) => Math.max(...list))));
    const looks = counts.length === 1 ? [["ink", []]] : [["orange", []], ["green", [5, 3]], ["blue", [2, 2]]];
    counts.forEach((list, c) => {
      const [name, dash] = /** @type {[string, number[]]} */ (looks[c]);
      context.strokeStyle = colour(name);
      context.lineWidth = 1.5;
      context.setLineDash(dash);
      context.beginPath();
      list.forEach((count, i) => context.lineTo(toRoom((i + 0.5) / steps) * w, (high - 2) * (1 - Math.log1p(count) / most) + 1));
      context.stroke();
    });
    const now = current();
    if (!now) return;
    context.setLineDash([3, 3]);
    context.strokeStyle = colour("soft");
    for (const light of [now.black, now.white]) {
      context.beginPath();
      context.moveTo(toRoom(light) * w, 0);
      context.lineTo(toRoom(light) * w, high);
      context.stroke();
    }
  });
  const clipped = h("p", { class: "small soft" });
  const element = h("div", {}, canvas, clipped, slides.map((s) => s.element), h("div", { class: "row" },
    button("As proposed", () => set(null)), button("From this frame", () => shown && set({ ...suggestedTone(shown.picture), power: shown.show.power }))));
  const resized = new ResizeObserver(draw);
  resized.observe(canvas);
  const endLight = onLight(draw);
  return {
    element,
    tone: () => tone,
    /** @param {Samples} samples */
    show(samples) {
      shown = samples;
      counts = histogram(samples.picture, steps);
      const all = samples.picture.samples.length;
      const full = counts.reduce((sum, list) => sum + list[steps - 1], 0) / all;
      fill(clipped, counts.length > 1 && "Solid red, dashed green, dotted blue. ", full > 0 ? `${percent(full)} at the top of the range.` : "Nothing at the top of the range.");
      write();
    },
    end() { resized.disconnect(); endLight(); },
  };
}
