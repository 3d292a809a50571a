// The gain of detail over the size of features as a curve one draws; behind it, what is certain.
import { fill, h, onceAFrame } from "./dom.js";
import { coarsest_px, curveThrough, finest_px, mostGain, mostGains, uncertain } from "./gains.js";
import { colour, onLight } from "./light.js";
import { number } from "./words.js";

/** @typedef {import("./gains.js").Gain} Gain */
/** @typedef {import("./types.js").Frc} Frc */

const foot_px = 34;
const left_px = 30;
const head_px = 8;
const widestAtFirst_px = 24;
/** of the sizes of two points beside each other */
const closest = 1.04;
const gainMarks = [0, 1, 2, 4, 8, 16];
const sizeMarks = [1, 2, 4, 8, 16, 32, 64, 128, 256];

export class DetailChart {
  /** @type {Gain[]} */ gains = [];
  #editable = false;

  /**
   * @param {Frc | null} frc
   * @param {Gain[]} measured gains of the result as it was made
   * @param {(gains: Gain[], settled: boolean) => void} changed
   */
  constructor(frc, measured, changed) {
    this.frc = frc;
    this.measured = measured;
    this.changed = changed;
    this.perPx = frc?.arcsec_per_px ?? null;
    this.canvas = h("canvas", { set: { "aria-hidden": true }, on: { dblclick: (event) => this.#add(this.#sizeAt(event.offsetX), this.#gainAt(event.offsetY)) } });
    this.handles = h("div", { class: "handles" });
    const name = "Gain of detail over the size of features";
    this.element = h("div", { class: "detail-chart", set: { role: "group", "aria-label": name } }, this.canvas, this.handles);
    this.redraw = onceAFrame(() => this.#draw());
    const resized = new ResizeObserver(() => this.#place());
    resized.observe(this.element);
    const endLight = onLight(this.redraw);
    this.end = () => { resized.disconnect(); endLight(); };
  }

  /** @param {Gain[] | null} to null: as measured, not to be moved */
  set(to) {
    const focused = this.#buttons.indexOf(/** @type {HTMLElement} */ (document.activeElement));
    const same = this.#editable === (to !== null) && this.gains.length === (to?.length ?? 0);
    this.#editable = to !== null;
    this.gains = to ?? [];
    if (same) this.#place();
    else this.#build();
    this.#buttons[focused]?.focus();
  }

  /** Sizes of features that the curve raises and the half stacks do not agree on, px: from, to. */
  get doubt() { return this.#editable && this.gains.length > 0 ? uncertain(curveThrough(this.gains), this.frc) : null; }

  get #buttons() { return /** @type {HTMLElement[]} */ ([...this.handles.children]); }
  get #wide() { return Math.max(1, this.element.clientWidth - left_px - 8); }
  get #high() { return Math.max(1, this.element.clientHeight - foot_px - head_px); }
  get #widest() { return Math.max(widestAtFirst_px, ...this.gains.map(({ size }) => size * 1.4)); }
  get #most() { return Math.max(4, ...(this.#editable ? this.gains : this.measured).map(({ gain }) => gain * 1.15)); }

  /** @param {number} size */
  #x(size) { return left_px + (Math.log2(size / finest_px) / Math.log2(this.#widest / finest_px)) * this.#wide; }
  /** @param {number} gain */
  #y(gain) { return head_px + (1 - Math.sqrt(gain / this.#most)) * this.#high; }
  /** @param {number} px */
  #sizeAt(px) { return finest_px * (this.#widest / finest_px) ** ((px - left_px) / this.#wide); }
  /** @param {number} px */
  #gainAt(px) { return this.#most * Math.max(0, 1 - (px - head_px) / this.#high) ** 2; }

  /** @param {number} size */
  #sizeWords(size) { return this.perPx ? `${number(size * this.perPx)} arcsec (${number(size)} px)` : `${number(size)} px`; }

  /** Between its neighbours, and within what the option takes. @param {number} i @param {number} size @param {number} gain @param {boolean} settled */
  #move(i, size, gain, settled) {
    const { gains } = this;
    const low = i > 0 ? gains[i - 1].size * closest : finest_px;
    const high = i + 1 < gains.length ? gains[i + 1].size / closest : coarsest_px;
    const to = { size: Math.min(high, Math.max(low, size)), gain: Math.min(mostGain, Math.max(0, gain)) };
    this.gains = gains.map((at, j) => (j === i ? to : at));
    this.#place();
    this.changed(this.gains, settled);
  }

  /** @param {number} i */
  #drop(i) {
    if (this.gains.length <= 1) return;
    this.gains = this.gains.filter((_, j) => j !== i);
    this.#build();
    this.#buttons[Math.min(i, this.gains.length - 1)]?.focus();
    this.changed(this.gains, true);
  }

  /** @param {number} size @param {number} gain */
  #add(size, gain) {
    const taken = this.gains.some((at) => Math.max(at.size / size, size / at.size) < closest);
    if (!this.#editable || taken || this.gains.length >= mostGains) return;
    const point = { size: Math.min(coarsest_px, Math.max(finest_px, size)), gain: Math.min(mostGain, gain) };
    this.gains = [...this.gains, point].sort((a, b) => a.size - b.size);
    this.#build();
    this.changed(this.gains, true);
  }

  #build() {
    fill(this.handles, this.#editable ? this.gains.map((_, i) => this.#handle(i)) : []);
    this.#place();
  }

  /** @param {number} i */
  #handle(i) {
    const range = { "aria-valuemin": 0, "aria-valuemax": mostGain };
    const button = h("button", { class: "handle", set: { type: "button", role: "slider", "aria-orientation": "vertical", ...range } });
    button.addEventListener("pointerdown", (event) => {
      button.setPointerCapture(event.pointerId);
      button.focus();
      event.preventDefault();
    });
    button.addEventListener("pointermove", (event) => {
      if (!button.hasPointerCapture(event.pointerId)) return;
      const box = this.element.getBoundingClientRect();
      this.#move(i, this.#sizeAt(event.clientX - box.left), this.#gainAt(event.clientY - box.top), false);
    });
    button.addEventListener("pointerup", () => this.changed(this.gains, true));
    button.addEventListener("dblclick", (event) => { event.stopPropagation(); this.#drop(i); });
    button.addEventListener("keydown", (event) => this.#key(i, event));
    return button;
  }

  /** @param {number} i @param {KeyboardEvent} event */
  #key(i, event) {
    const { size, gain } = this.gains[i];
    const step = event.shiftKey ? 1.2 : 1.05;
    /** @type {Record<string, () => void>} */
    const keys = {
      ArrowUp: () => this.#move(i, size, Math.max(gain, 0.1) * step, true), ArrowDown: () => this.#move(i, size, gain / step, true),
      ArrowRight: () => this.#move(i, size * step, gain, true), ArrowLeft: () => this.#move(i, size / step, gain, true),
      Delete: () => this.#drop(i), Backspace: () => this.#drop(i),
      Insert: () => this.#add(size * 1.3, curveThrough(this.gains)(size * 1.3)),
    };
    if (!keys[event.key] || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    keys[event.key]();
  }

  #place() {
    this.#buttons.forEach((button, i) => {
      const { size, gain } = this.gains[i];
      button.style.transform = `translate(${this.#x(size)}px, ${this.#y(gain)}px)`;
      button.setAttribute("aria-label", `Gain of features of ${this.#sizeWords(size)}`);
      button.setAttribute("aria-valuenow", String(Number(gain.toPrecision(3))));
      button.setAttribute("aria-valuetext", `${number(gain)} times`);
    });
    this.redraw();
  }

  #draw() {
    const ratio = devicePixelRatio;
    Object.assign(this.canvas, { width: Math.round(this.element.clientWidth * ratio), height: Math.round(this.element.clientHeight * ratio) });
    const context = /** @type {CanvasRenderingContext2D} */ (this.canvas.getContext("2d"));
    context.scale(ratio, ratio);
    context.font = "12px system-ui, sans-serif";
    if (this.frc) this.#drawCertainty(context, this.frc);
    this.#drawAxes(context);
    const curve = this.#editable && this.gains.length > 0 ? curveThrough(this.gains) : null;
    const sizes = Array.from({ length: 160 }, (_, i) => finest_px * (this.#widest / finest_px) ** (i / 159));
    const line = curve ? sizes.map((size) => ({ size, gain: curve(size) })) : this.measured.filter(({ size }) => size <= this.#widest);
    this.#drawLine(context, line, "ink", 2, []);
    const doubtful = this.doubt;
    if (doubtful) this.#drawLine(context, line.filter(({ size }) => size >= doubtful[0] && size <= doubtful[1]), "orange", 4, [3, 4]);
  }

  /** @param {CanvasRenderingContext2D} context @param {Gain[]} line @param {string} name of the colour @param {number} width @param {number[]} dash */
  #drawLine(context, line, name, width, dash) {
    context.strokeStyle = colour(name);
    context.lineWidth = width;
    context.setLineDash(dash);
    context.beginPath();
    for (const { size, gain } of line) context.lineTo(this.#x(size), this.#y(gain));
    context.stroke();
    context.setLineDash([]);
  }

  /** The FRC fills from the foot; where it ends the halves agree on nothing. @param {CanvasRenderingContext2D} context @param {Frc} frc */
  #drawCertainty(context, frc) {
    const foot = head_px + this.#high;
    const points = frc.frequency_cycles_per_px.map((frequency, i) => ({ size: 0.5 / frequency, frc: Math.max(0, frc.frc[i] ?? 0) }))
      .filter(({ size }) => size >= finest_px && size <= this.#widest).sort((a, b) => a.size - b.size);
    if (points.length < 2) return;
    context.fillStyle = colour("shade");
    context.beginPath();
    context.moveTo(this.#x(points[0].size), foot);
    for (const point of points) context.lineTo(this.#x(point.size), foot - point.frc * this.#high);
    context.lineTo(this.#x(points[points.length - 1].size), foot);
    context.fill();
    if (!frc.resolution_px) return;
    const finest = this.#x(frc.resolution_px / 2);
    context.strokeStyle = context.fillStyle = colour("blue");
    context.setLineDash([5, 4]);
    context.beginPath();
    context.moveTo(finest, head_px);
    context.lineTo(finest, foot);
    context.stroke();
    context.setLineDash([]);
    context.fillText("finest certain detail", finest + 5, foot - 6);
  }

  /** @param {CanvasRenderingContext2D} context */
  #drawAxes(context) {
    const foot = head_px + this.#high;
    context.textAlign = "right";
    for (const gain of gainMarks.filter((at) => at <= this.#most)) {
      context.fillStyle = colour("rule");
      context.fillRect(left_px, this.#y(gain), this.#wide, gain === 1 ? 2 : 1);
      context.fillStyle = colour("soft");
      context.fillText(`${gain}×`, left_px - 5, this.#y(gain) + 4);
    }
    context.textAlign = "center";
    for (const size of sizeMarks.filter((at) => at <= this.#widest))
      context.fillText(this.perPx ? number(size * this.perPx, 2) : String(size), this.#x(size), foot + 15);
    context.fillText(`size of features, ${this.perPx ? "arcsec" : "px"}`, left_px + this.#wide / 2, foot + 30);
  }
}
