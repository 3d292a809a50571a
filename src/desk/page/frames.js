// Frames of a capture as samples: asked once, kept as long as there is room.
import { samples } from "./api.js";

/** @typedef {import("./api.js").Samples} Samples */
/** @typedef {[number, number, number, number]} Area X, Y, W, H in px of the frame */

const room_bytes = 192e6;
const whole_px = 2.2e6;

export class Frames {
  /** @type {Map<string, Samples>} the oldest first */ #kept = new Map();
  #bytes = 0;

  /** @param {string} capture id @param {number} width @param {number} height of a frame */
  constructor(capture, width, height) {
    this.capture = capture;
    this.width = width;
    this.height = height;
    /** by which whole frames are reduced, so that they come at once */
    this.reduction = Math.max(1, Math.ceil(Math.sqrt((width * height) / whole_px)));
  }

  /** @param {number} index @param {AbortSignal} [signal] */
  whole(index, signal) {
    return this.#ask(`${index}?format=samples${this.reduction > 1 ? `&width=${Math.floor(this.width / this.reduction)}` : ""}`, signal);
  }

  /** @param {number} index @param {Area} area @param {number} reduction @param {AbortSignal} [signal] */
  area(index, area, reduction, signal) {
    return this.#ask(`${index}?format=samples&crop=${area.join(",")}${reduction > 1 ? `&width=${Math.floor(area[2] / reduction)}` : ""}`, signal);
  }

  /** @param {string} what @param {AbortSignal} [signal] */
  async #ask(what, signal) {
    const known = this.#kept.get(what);
    if (known) {
      this.#kept.delete(what);
      this.#kept.set(what, known);
      return known;
    }
    const found = await samples(`captures/${encodeURIComponent(this.capture)}/frames/${what}`, { signal });
    this.#kept.set(what, found);
    this.#bytes += found.picture.samples.byteLength;
    for (const [key, old] of this.#kept) {
      if (this.#bytes <= room_bytes || key === what) break;
      this.#bytes -= old.picture.samples.byteLength;
      this.#kept.delete(key);
    }
    return found;
  }
}
