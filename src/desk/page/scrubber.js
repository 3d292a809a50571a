// The sharpness of all frames as a curve, on which one moves from frame to frame. A line across it
// can be drawn, and a stretch of it can be chosen.
import { h, onceAFrame } from "./dom.js";
import { colour, onLight } from "./light.js";

/**
 * @typedef {object} Hands
 * @property {(position: number) => void} move
 * @property {(level: number) => void} level the line was drawn elsewhere
 * @property {(from: number, to: number) => void} stretch chosen by a drag with Shift
 * @property {(position: number) => string} words of a position, for screen readers
 */

const foot_px = 16;
const head_px = 8;

export class Scrubber {
  /** @type {(number | null)[]} sharpness by position */ values = [];
  /** @type {(position: number) => boolean} */ isOut = () => false;
  position = 0;
  /** @type {number | null} */ level = null;
  /** @type {[number, number] | null} */ stretch = null;
  /** first and last words under the curve */ ends = ["", ""];
  #most = 1;

  /** @param {Hands} hands */
  constructor(hands) {
    this.hands = hands;
    this.canvas = h("canvas", { set: { tabindex: 0, role: "slider", "aria-label": "Frame, over the curve of sharpness", "aria-valuemin": 0 } });
    this.element = h("div", { class: "scrubber" }, this.canvas);
    this.redraw = onceAFrame(() => this.#draw());
    const resized = new ResizeObserver(() => this.redraw());
    resized.observe(this.element);
    const endLight = onLight(this.redraw);
    this.end = () => { resized.disconnect(); endLight(); };
    this.#listen();
  }

  /** @param {(number | null)[]} values @param {number} position */
  show(values, position) {
    this.values = values;
    this.#most = values.reduce((/** @type {number} */ most, value) => Math.max(most, value ?? 0), 0) || 1;
    this.canvas.setAttribute("aria-valuemax", String(Math.max(0, values.length - 1)));
    this.at(position);
  }

  /** @param {number} position */
  at(position) {
    this.position = position;
    this.canvas.setAttribute("aria-valuenow", String(position));
    this.canvas.setAttribute("aria-valuetext", this.hands.words(position));
    this.redraw();
  }

  get #room() { return { w: Math.max(1, this.element.clientWidth), h: Math.max(1, this.element.clientHeight) }; }

  /** @param {number} position */
  #x(position) { return ((position + 0.5) / Math.max(1, this.values.length)) * this.#room.w; }

  /** @param {number} value */
  #y(value) {
    const { h } = this.#room;
    return head_px + (1 - value / this.#most) * (h - head_px - foot_px);
  }

  #draw() {
    const ratio = devicePixelRatio;
    const { w, h } = this.#room;
    this.element.classList.toggle("lined", this.level !== null);
    Object.assign(this.canvas, { width: Math.round(w * ratio), height: Math.round(h * ratio) });
    const context = /** @type {CanvasRenderingContext2D} */ (this.canvas.getContext("2d"));
    context.scale(ratio, ratio);
    if (this.stretch) {
      const [from, to] = this.stretch;
      context.fillStyle = colour("shade");
      context.fillRect(this.#x(Math.min(from, to) - 0.5), 0, this.#x(Math.max(from, to) + 0.5) - this.#x(Math.min(from, to) - 0.5), h);
    }
    this.#curve(context);
    this.#axis(context);
    if (this.level !== null) this.#line(context, this.level);
    this.#marker(context);
  }

  /** One column for each px: from the lowest to the highest of its frames. @param {CanvasRenderingContext2D} context */
  #curve(context) {
    const { w, h } = this.#room;
    const count = this.values.length;
    const [blue, gray, shade, orange] = ["blue", "gray", "shade", "orange"].map(colour);
    const base = h - foot_px;
    const step = Math.max(1, w / Math.max(1, count));
    for (let x = 0; x < w; x += step) {
      const first = Math.floor((x / w) * count);
      const last = Math.max(first + 1, Math.floor(((x + step) / w) * count));
      let [low, high, out] = [Infinity, -Infinity, 0];
      for (let i = first; i < last && i < count; ++i) {
        if (this.isOut(i)) ++out;
        const value = this.values[i];
        if (value === null) continue;
        low = Math.min(low, value);
        high = Math.max(high, value);
      }
      const wide = Math.max(1, step - (step > 3 ? 1 : 0));
      if (out > 0) {
        context.fillStyle = orange;
        context.fillRect(x, base + 2, wide, 4);
      }
      if (high < 0) continue;
      const allOut = out > 0 && out === last - first;
      context.fillStyle = shade;
      if (!allOut) context.fillRect(x, this.#y(high), wide, base - this.#y(high));
      context.fillStyle = allOut ? gray : blue;
      context.fillRect(x, this.#y(high), wide, Math.max(1.5, this.#y(low) - this.#y(high)));
    }
  }

  /** @param {CanvasRenderingContext2D} context */
  #axis(context) {
    const { w, h } = this.#room;
    context.fillStyle = colour("rule");
    context.fillRect(0, h - foot_px, w, 1);
    context.fillStyle = colour("soft");
    context.font = "12px system-ui, sans-serif";
    context.textBaseline = "bottom";
    context.fillText(this.ends[0], 0, h + 1);
    context.textAlign = "right";
    context.fillText(this.ends[1], w, h + 1);
    context.textAlign = "center";
    const isRanked = this.values.some((value) => value !== null);
    context.fillText(isRanked ? "sharpness of each frame" : "frames are not ranked yet", w / 2, h + 1);
  }

  /** @param {CanvasRenderingContext2D} context @param {number} level */
  #line(context, level) {
    const { w } = this.#room;
    const y = this.#y(level);
    context.strokeStyle = context.fillStyle = colour("orange");
    context.lineWidth = 1.5;
    context.setLineDash([6, 4]);
    context.beginPath();
    context.moveTo(0, y);
    context.lineTo(w, y);
    context.stroke();
    context.setLineDash([]);
    for (const x of [10, w - 10]) {
      context.beginPath();
      context.moveTo(x - 7, y);
      context.lineTo(x, y - 7);
      context.lineTo(x + 7, y);
      context.lineTo(x, y + 7);
      context.fill();
    }
  }

  /** @param {CanvasRenderingContext2D} context */
  #marker(context) {
    const { h } = this.#room;
    const x = this.#x(this.position);
    context.fillStyle = colour("ink");
    context.fillRect(x - 0.75, 0, 1.5, h - foot_px + 6);
    const value = this.values[this.position];
    context.beginPath();
    context.arc(x, value === null || value === undefined ? h - foot_px : this.#y(value), 4.5, 0, 7);
    context.fill();
    context.strokeStyle = colour("paper");
    context.lineWidth = 1.5;
    context.stroke();
  }

  #listen() {
    const { canvas } = this;
    /** @type {"move" | "level" | "stretch" | null} */
    let drag = null;
    const at = (/** @type {PointerEvent} */ event) => {
      const box = canvas.getBoundingClientRect();
      const { h } = this.#room;
      const position = Math.min(this.values.length - 1, Math.max(0, Math.floor(((event.clientX - box.left) / box.width) * this.values.length)));
      const level = this.#most * Math.min(1, Math.max(0, 1 - (event.clientY - box.top - head_px) / (h - head_px - foot_px)));
      return { position, level, y: event.clientY - box.top };
    };
    const follow = (/** @type {{position: number, level: number}} */ to) => {
      if (drag === "level") this.hands.level(to.level);
      else if (drag === "stretch") { this.stretch = [this.stretch?.[0] ?? to.position, to.position]; this.redraw(); }
      else this.hands.move(to.position);
    };
    canvas.addEventListener("pointerdown", (event) => {
      if (this.values.length === 0) return;
      const to = at(event);
      const onLine = this.level !== null && Math.abs(to.y - this.#y(this.level)) < (event.pointerType === "touch" ? 18 : 9);
      drag = event.shiftKey ? "stretch" : onLine ? "level" : "move";
      if (drag === "stretch") this.stretch = [to.position, to.position];
      canvas.setPointerCapture(event.pointerId);
      follow(to);
    });
    canvas.addEventListener("pointermove", (event) => { if (drag) follow(at(event)); });
    const release = () => {
      if (drag === "stretch" && this.stretch) this.hands.stretch(Math.min(...this.stretch), Math.max(...this.stretch));
      drag = null;
    };
    canvas.addEventListener("pointerup", release);
    canvas.addEventListener("pointercancel", release);
    canvas.addEventListener("keydown", (event) => {
      const leap = Math.max(10, Math.round(this.values.length / 20));
      /** @type {Record<string, number>} */
      const steps = { ArrowLeft: -1, ArrowDown: -1, ArrowRight: 1, ArrowUp: 1, PageDown: -leap, PageUp: leap, Home: -Infinity, End: Infinity };
      const step = steps[event.key];
      if (step === undefined || event.ctrlKey || event.metaKey || event.altKey) return;
      event.preventDefault();
      this.hands.move(Math.min(this.values.length - 1, Math.max(0, this.position + step)));
    });
  }
}
