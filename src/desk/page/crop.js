// The crop: drawn on the picture, or typed.
import { h } from "./dom.js";
import { colour } from "./light.js";

/** @typedef {import("./frames.js").Area} Area */
/** @typedef {import("./stage.js").Point} Point */
/** @typedef {import("./stage.js").Place} Place */
/** left, top, right, bottom: whether the edge follows the pointer @typedef {[boolean, boolean, boolean, boolean]} Edges */

const least_px = 32;
const grip_px = 12;

/** A tool of a stage, and a drawing on it. */
export class Crop {
  /** @type {{edges: Edges, from: Point} | null} */ #drag = null;

  /** @param {number} width @param {number} height of a frame @param {Area | null} first @param {(crop: Area | null) => void} changed */
  constructor(width, height, first, changed) {
    this.width = width;
    this.height = height;
    this.changed = changed;
    this.crop = first;
    this.fields = ["X", "Y", "Width", "Height"].map((name, i) => h("input", {
      class: "digits",
      set: {
        type: "number", min: i < 2 ? 0 : least_px, max: i % 2 === 0 ? width : height, step: 1,
        "aria-label": `Crop: ${name}, px`, placeholder: name,
      },
      on: { change: () => this.#typed() },
    }));
    this.element = h("div", { class: "fours" }, this.fields);
    this.#write();
  }

  /** @param {Area | null} to */
  set(to) {
    this.crop = to;
    this.#write();
    this.changed(to);
  }

  #write() { this.fields.forEach((field, i) => { field.value = this.crop ? String(this.crop[i]) : ""; }); }

  #typed() {
    const [x, y, w, h] = this.fields.map((field) => Number(field.value || NaN));
    if ([x, y, w, h].every(Number.isFinite)) this.set(this.#bounded(x, y, x + w, y + h));
  }

  /** @param {number} left @param {number} top @param {number} right @param {number} bottom @returns {Area} */
  #bounded(left, top, right, bottom) {
    const within = (/** @type {number} */ at, /** @type {number} */ most) => Math.round(Math.min(most, Math.max(0, at)));
    const x = within(Math.min(left, right), this.width - least_px);
    const y = within(Math.min(top, bottom), this.height - least_px);
    const w = within(Math.max(left, right), this.width) - x;
    const h = within(Math.max(top, bottom), this.height) - y;
    return [x, y, Math.max(least_px, w), Math.max(least_px, h)];
  }

  /** On an edge or a corner: it follows. Inside: all do. Elsewhere a new crop begins. @param {Point} at @param {Place} place */
  down(at, place) {
    const near = grip_px / place.scale;
    if (this.crop) {
      const [x, y, w, h] = this.crop;
      const on = (/** @type {number} */ edge, /** @type {number} */ value) => Math.abs(value - edge) < near;
      /** @type {Edges} */
      const edges = [on(x, at.x), on(y, at.y), on(x + w, at.x), on(y + h, at.y)];
      const inside = at.x > x && at.x < x + w && at.y > y && at.y < y + h;
      if (edges.some(Boolean) || inside) {
        this.#drag = { edges: edges.some(Boolean) ? edges : [true, true, true, true], from: at };
        return true;
      }
    }
    this.crop = this.#bounded(at.x, at.y, at.x, at.y);
    this.#drag = { edges: [false, false, true, true], from: at };
    return true;
  }

  /** @param {Point} at */
  move(at) {
    if (!this.#drag || !this.crop) return;
    const { edges, from } = this.#drag;
    const [x, y, w, h] = this.crop;
    if (edges.every(Boolean)) {
      const dx = Math.round(Math.min(this.width - x - w, Math.max(-x, at.x - from.x)));
      const dy = Math.round(Math.min(this.height - y - h, Math.max(-y, at.y - from.y)));
      this.#drag.from = { x: from.x + dx, y: from.y + dy };
      this.set([x + dx, y + dy, w, h]);
      return;
    }
    const [left, top, right, bottom] = edges;
    this.set(this.#bounded(left ? at.x : x, top ? at.y : y, right ? at.x : x + w, bottom ? at.y : y + h));
  }

  up() { this.#drag = null; }

  /** What is left out is dimmed. @param {CanvasRenderingContext2D} context @param {Place} place */
  draw(context, place) {
    if (!this.crop) return;
    const [x, y, w, h] = this.crop.map((px) => px * place.scale);
    const [left, top, right, bottom] = [place.left + x, place.top + y, place.left + x + w, place.top + y + h];
    context.fillStyle = "rgba(0, 0, 0, .55)";
    context.beginPath();
    context.rect(0, 0, context.canvas.width, context.canvas.height);
    context.rect(left, top, w, h);
    context.fill("evenodd");
    context.strokeStyle = colour("orange");
    context.lineWidth = 1.5;
    context.strokeRect(left, top, w, h);
    context.lineWidth = 4;
    const arm = Math.min(14, w / 3, h / 3);
    for (const [cx, cy, sx, sy] of [[left, top, 1, 1], [right, top, -1, 1], [left, bottom, 1, -1], [right, bottom, -1, -1]]) {
      context.beginPath();
      context.moveTo(cx + sx * arm, cy);
      context.lineTo(cx, cy);
      context.lineTo(cx, cy + sy * arm);
      context.stroke();
    }
  }
}
