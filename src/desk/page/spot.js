// White balance by a spot on the picture that has no colour of its own.
import { announce } from "./announce.js";

/** @typedef {import("./stage.js").Point} Point */

const side_px = 9;

/** A tool of a stage, for one press. */
export class SpotTool {
  /**
   * @param {import("./stage.js").Stage} stage
   * @param {import("./tuned_view.js").TunedView} linear the stack as it was recorded
   * @param {(factors: string) => void} found factors of red, green and blue as --white-balance takes them
   */
  constructor(stage, linear, found) {
    this.stage = stage;
    this.linear = linear;
    this.found = found;
  }

  pick() {
    this.stage.tool = this;
    this.stage.element.classList.add("drawing");
    announce("Press a spot on the picture that should be white or gray.");
  }

  /** @param {Point} at */
  down(at) {
    this.stage.tool = null;
    this.stage.element.classList.remove("drawing");
    this.#measure(at).catch((error) => announce(String(error.message ?? error)));
    return true;
  }

  move() { /* one press is all */ }
  up() { /* one press is all */ }

  /** @param {Point} at px of the picture */
  async #measure(at) {
    const { width, height } = this.linear.size;
    const corner = (/** @type {number} */ middle, /** @type {number} */ size) =>
      Math.min(size - side_px, Math.max(0, Math.round(middle) - (side_px - 1) / 2));
    const { picture, black, white } = await this.linear.samplesOf([corner(at.x, width), corner(at.y, height), side_px, side_px]);
    const sums = [0, 0, 0];
    picture.samples.forEach((value, i) => { sums[i % 3] += black + (value / 65535) * (white - black); });
    if (picture.channels !== 3 || Math.min(...sums) <= 0) {
      announce("There is no light at this spot. Pick a brighter one.");
      return;
    }
    this.found(sums.map((sum) => Number((sums[1] / sum).toPrecision(4))).join(","));
    announce("White balance by the spot.");
  }
}
