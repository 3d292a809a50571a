// Exposure and tone of what is shown: how many samples have which light, and what becomes black and white.
import { button, fill, h, onceAFrame } from "./dom.js";
import { colour, onLight } from "./light.js";
import { histogram, suggestedTone } from "./tone.js";
import { percent } from "./words.js";

/** @typedef {import("./tone.js").Tone} Tone */
/** @typedef {import("./api.js").Samples} Samples */

const steps = 256;
// From left to right more of the dark parts is seen.
const powerEnds = 1.6;

/** Dark light gets more room, as eyes give it. @param {number} light */
const toRoom = (light) => Math.sqrt(Math.max(0, light));

class Slide {
  /** @param {string} words @param {number} low @param {number} high @param {() => void} moved */
  constructor(words, low, high, moved) {
    this.input = h("input", { set: { type: "range", min: low, max: high, step: 0.002, "aria-label": words }, on: { input: moved } });
    this.output = h("output", { class: "digits small" });
    this.element = h("label", { class: "slide" }, h("span", {}, words), this.input, this.output);
  }

  get place() { return Number(this.input.value); }

  /** @param {number} place @param {string} words */
  show(place, words) {
    this.input.value = String(place);
    this.output.textContent = words;
  }
}

export class TonePanel {
  /** chosen here; null: as the server proposes @type {Tone | null} */ tone = null;
  /** @type {Samples | null} */ #shown = null;
  /** @type {Uint32Array[]} */ #counts = [];

  /** @param {() => void} changed */
  constructor(changed) {
    this.changed = changed;
    this.canvas = h("canvas", { class: "histogram", set: { role: "img", "aria-label": "Histogram of the frame" } });
    this.clipped = h("p", { class: "small soft" });
    const choose = () => this.#choose();
    this.black = new Slide("Black", 0, 1, choose);
    this.white = new Slide("White", 0, 1, choose);
    this.power = new Slide("Dark parts", 0.2, 1.4, choose);
    this.element = h("div", {}, this.canvas, this.clipped, this.black.element, this.white.element, this.power.element,
      h("div", { class: "row" }, button("As proposed", () => this.#set(null)), button("From this frame", () => this.#suggest())));
    this.redraw = onceAFrame(() => this.#draw());
    const resized = new ResizeObserver(this.redraw);
    resized.observe(this.canvas);
    const endLight = onLight(this.redraw);
    this.end = () => { resized.disconnect(); endLight(); };
  }

  /** @param {Samples} samples */
  show(samples) {
    this.#shown = samples;
    this.#counts = histogram(samples.picture, steps);
    const full = this.#counts.reduce((sum, list) => sum + list[steps - 1], 0) / samples.picture.samples.length;
    fill(this.clipped, this.#counts.length > 1 && "Solid red, dashed green, dotted blue. ",
      full > 0 ? `${percent(full)} at the top of the range.` : "Nothing at the top of the range.");
    this.#write();
  }

  #choose() {
    const low = this.black.place ** 2;
    this.#set({ black: Math.min(low, 0.998), white: Math.max(this.white.place ** 2, low + 0.002), power: powerEnds - this.power.place });
  }

  #suggest() {
    if (this.#shown) this.#set({ ...suggestedTone(this.#shown.picture), power: this.#shown.show.power });
  }

  /** @param {Tone | null} to */
  #set(to) {
    this.tone = to;
    this.changed();
    this.#write();
  }

  get #current() { return this.tone ?? this.#shown?.show ?? null; }

  #write() {
    const now = this.#current;
    if (!now) return;
    this.black.show(toRoom(now.black), percent(Math.max(0, now.black)));
    this.white.show(toRoom(now.white), percent(now.white));
    this.power.show(powerEnds - now.power, now.power === 1 ? "as they are" : now.power < 1 ? "lifted" : "lowered");
    this.redraw();
  }

  #draw() {
    const ratio = devicePixelRatio;
    const [w, high] = [this.canvas.clientWidth, this.canvas.clientHeight];
    Object.assign(this.canvas, { width: Math.round(w * ratio), height: Math.round(high * ratio) });
    const context = /** @type {CanvasRenderingContext2D} */ (this.canvas.getContext("2d"));
    context.scale(ratio, ratio);
    this.#curves(context, w, high);
    const now = this.#current;
    if (!now) return;
    context.setLineDash([3, 3]);
    context.strokeStyle = colour("soft");
    for (const light of [now.black, now.white]) {
      context.beginPath();
      context.moveTo(toRoom(light) * w, 0);
      context.lineTo(toRoom(light) * w, high);
      context.stroke();
    }
  }

  /** @param {CanvasRenderingContext2D} context @param {number} w @param {number} high */
  #curves(context, w, high) {
    const most = Math.log1p(Math.max(1, ...this.#counts.map((list) => Math.max(...list))));
    /** @type {[string, number[]][]} the channels differ by dash, too */
    const looks = this.#counts.length === 1 ? [["ink", []]] : [["orange", []], ["green", [5, 3]], ["blue", [2, 2]]];
    context.lineWidth = 1.5;
    this.#counts.forEach((list, channel) => {
      const [name, dash] = looks[channel];
      context.strokeStyle = colour(name);
      context.setLineDash(dash);
      context.beginPath();
      list.forEach((count, i) => context.lineTo(toRoom((i + 0.5) / steps) * w, (high - 2) * (1 - Math.log1p(count) / most) + 1));
      context.stroke();
    });
  }
}
