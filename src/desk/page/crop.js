// The crop: drawn on the picture, or typed.
import { fill, h } from "./dom.js";
import { colour } from "./light.js";

/** @typedef {import("./frames.js").Area} Area */
/** @typedef {import("./stage.js").Point} Point */

const least_px = 32;

/**
 * @param {number} width @param {number} height of a frame
 * @param {Area | null} first
 * @param {(crop: Area | null) => void} changed
 */
export function cropTool(width, height, first, changed) {
  let crop = first;
  /** @type {{edges: [number, number, number, number], from: Point} | null} which edges follow the pointer: left, top, right, bottom */
  let drag = null;
  const fields = ["X", "Y", "Width", "Height"].map((name, i) => h("input", {
    class: "digits", set: { type: "number", min: i < 2 ? 0 : least_px, max: i % 2 === 0 ? width : height, step: 1, "aria-label": `Crop: ${name}, px`, placeholder: name },
    on: { change: typed },
  }));

  function typed() {
    const values = fields.map((field) => Number(field.value || NaN));
    if (values.every(Number.isFinite)) set(bounded(values[0], values[1], values[0] + values[2], values[1] + values[3]));
  }

  /** @param {number} left @param {number} top @param {number} right @param {number} bottom @returns {Area} */
  function bounded(left, top, right, bottom) {
    const within = (/** @type {number} */ at, /** @type {number} */ most) => Math.round(Math.min(most, Math.max(0, at)));
    const x = within(Math.min(left, right), width - least_px);
    const y = within(Math.min(top, bottom), height - least_px);
    return [x, y, Math.max(least_px, within(Math.max(left, right), width) - x), Math.max(least_px, within(Math.max(top, bottom), height) - y)];
  }

  /** @param {Area | null} to */
  function set(to) {
    crop = to;
    fields.forEach((field, i) => { field.value = to ? String(to[i]) : ""; });
    changed(to);
  }

  /** @type {import("./stage.js").Tool} */
  const tool = {
    down(at, place) {
      const near = 12 / place.scale;
      const [x, y, w, h] = crop ?? [0, 0, 0, 0];
      const on = (/** @type {number} */ edge, /** @type {number} */ value) => (Math.abs(value - edge) < near ? 1 : 0);
      /** @type {[number, number, number, number]} */
      const edges = crop ? [on(x, at.x), on(y, at.y), on(x + w, at.x), on(y + h, at.y)] : [0, 0, 0, 0];
      const inside = crop && at.x > x && at.x < x + w && at.y > y && at.y < y + h;
      if (crop && edges.some(Boolean)) drag = { edges, from: at };
      else if (inside) drag = { edges: [1, 1, 1, 1], from: at };
      else { drag = { edges: [0, 0, 1, 1], from: at }; crop = bounded(at.x, at.y, at.x, at.y); }
      return true;
    },
    move(at) {
      if (!drag || !crop) return;
      const [x, y, w, h] = crop;
      const [dx, dy] = [at.x - drag.from.x, at.y - drag.from.y];
      const all = drag.edges.every(Boolean);
      const [l, t, r, b] = drag.edges;
      if (all) {
        const [mx, my] = [Math.min(width - x - w, Math.max(-x, dx)), Math.min(height - y - h, Math.max(-y, dy))];
        set([Math.round(x + mx), Math.round(y + my), w, h]);
        drag.from = at;
      } else {
        set(bounded(l ? at.x : x, t ? at.y : y, r ? at.x : x + w, b ? at.y : y + h));
      }
    },
    up() { drag = null; },
  };

  /** @type {import("./stage.js").Drawing} */
  const drawing = (context, place) => {
    if (!crop) return;
    const [x, y, w, h] = [place.left + crop[0] * place.scale, place.top + crop[1] * place.scale, crop[2] * place.scale, crop[3] * place.scale];
    context.fillStyle = "rgba(0, 0, 0, .55)";
    context.beginPath();
    context.rect(0, 0, 1e5, 1e5);
    context.rect(x, y, w, h);
    context.fill("evenodd");
    context.strokeStyle = colour("orange");
    context.lineWidth = 1.5;
    context.strokeRect(x, y, w, h);
    context.lineWidth = 4;
    const arm = Math.min(14, w / 3, h / 3);
    for (const [cx, cy, sx, sy] of [[x, y, 1, 1], [x + w, y, -1, 1], [x, y + h, 1, -1], [x + w, y + h, -1, -1]]) {
      context.beginPath();
      context.moveTo(cx + sx * arm, cy);
      context.lineTo(cx, cy);
      context.lineTo(cx, cy + sy * arm);
      context.stroke();
    }
  };

  fields.forEach((field, i) => { field.value = first ? String(first[i]) : ""; });
  const element = h("div", { class: "fours" });
  fill(element, fields);
  return { element, tool, drawing, set };
}
