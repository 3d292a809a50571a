// How sharp each region of a frame is: the sharper, the larger its dot.
import { get } from "./api.js";
import { colour } from "./light.js";

/** @typedef {import("./types.js").Cells} Cells */

/** @param {string} capture id @param {number} index @param {AbortSignal} [signal] @returns {Promise<Cells>} */
export const cellsOf = (capture, index, signal) => get(`captures/${encodeURIComponent(capture)}/frames/${index}/cells`, signal);

/** The sharpness that gets the largest dot: all but one cell in twenty of the best frame are below. @param {Cells} cells */
export function fullSharpness(cells) {
  const sorted = cells.sharpness.filter((value) => value > 0).sort((a, b) => a - b);
  return sorted[Math.floor(0.95 * (sorted.length - 1))] || 1;
}

/**
 * @param {() => {cells: Cells, full: number} | null} shown
 * @returns {import("./stage.js").Drawing}
 */
export const cellsDrawing = (shown) => (context, place) => {
  const now = shown();
  if (!now) return;
  const { cells, full } = now;
  const cell = cells.cell_px * place.scale;
  context.fillStyle = colour("orange");
  context.globalAlpha = 0.8;
  for (let row = 0; row < cells.rows; ++row) {
    for (let column = 0; column < cells.columns; ++column) {
      const value = cells.sharpness[row * cells.columns + column];
      if (!(value > 0)) continue;
      const radius = 0.42 * cell * Math.sqrt(Math.min(1, value / full));
      context.beginPath();
      context.arc(place.left + (column + 0.5) * cell, place.top + (row + 0.5) * cell, Math.max(0.6, radius), 0, 7);
      context.fill();
    }
  }
};
