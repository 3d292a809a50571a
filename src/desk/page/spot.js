// White balance by a spot on the picture that has no colour of its own.
import { announce } from "./announce.js";

const side_px = 9;

/**
 * @param {import("./stage.js").Stage} stage @param {import("./tuned_view.js").TunedView} linear the stack as it was recorded
 * @param {(factors: string) => void} found factors of red, green and blue as --white-balance takes them
 */
export function spotTool(stage, linear, found) {
  /** @param {import("./stage.js").Point} at px of the picture */
  async function measure(at) {
    const half = (side_px - 1) / 2;
    const { width, height } = linear.size;
    const x = Math.min(width - side_px, Math.max(0, Math.round(at.x) - half));
    const y = Math.min(height - side_px, Math.max(0, Math.round(at.y) - half));
    const { picture, black, white } = await linear.samplesOf([x, y, side_px, side_px]);
    const sums = [0, 0, 0];
    picture.samples.forEach((value, i) => { sums[i % 3] += black + (value / 65535) * (white - black); });
    if (picture.channels !== 3 || Math.min(...sums) <= 0) {
      announce("There is no light at this spot. Pick a brighter one.");
      return;
    }
    found(sums.map((sum) => Number((sums[1] / sum).toPrecision(4))).join(","));
    announce("White balance by the spot.");
  }
  const tool = {
    down(/** @type {import("./stage.js").Point} */ at) {
      stop();
      measure(at).catch((error) => announce(String(error.message ?? error)));
      return true;
    },
    move() {},
    up() {},
  };
  function stop() {
    stage.tool = null;
    stage.element.classList.remove("drawing");
  }
  return {
    pick() {
      stage.tool = tool;
      stage.element.classList.add("drawing");
      announce("Press a spot on the picture that should be white or gray.");
    },
  };
}
