// What inspect found in a capture, in sentences.
import { h } from "./dom.js";
import { number, percent } from "./words.js";

/** @typedef {import("./types.js").Survey} Survey */
/** @typedef {import("./types.js").CaptureDetails} CaptureDetails */

/** @param {CaptureDetails} capture @param {Survey | null} survey */
export function findings(capture, survey) {
  const inspect = survey?.inspect ?? capture.inspect;
  if (!inspect) return h("p", { class: "soft" }, survey ? "The second look at the frames is not done yet." : "Nothing yet: the frames have not been ranked.");
  const found = /** @type {import("./types.js").Finding[]} */ (inspect.findings ?? []);
  const notes = [...new Set([...capture.notes ?? [], ...survey?.notes ?? []])];
  return h("div", {},
    found.length === 0 ? h("p", {}, "Nothing to change: this capture is healthy.")
      : h("ul", { class: "found" }, found.map((f) => h("li", {}, h("b", {}, upper(f.what) + "."), " ", upper(f.next) + "."))),
    notes.map((note) => h("p", { class: "small" }, note)),
    exposure(inspect));
}

/** @param {string} words */
export const upper = (words) => words.charAt(0).toUpperCase() + words.slice(1).replace(/\.$/, "");

/** @param {import("./types.js").Inspect} inspect */
function exposure(inspect) {
  const { exposure: light, frames_per_s: rate, exposure_s } = inspect;
  const parts = [];
  if (light && Number.isFinite(light.brightest)) parts.push(`The brightest light is ${percent(light.brightest)} of full scale`);
  if (light && light.saturated_frames > 0) parts.push(`${percent(light.saturated_frames)} of the frames are saturated somewhere`);
  if (Number.isFinite(exposure_s) && exposure_s) parts.push(`exposures of ${number(1000 * exposure_s)} ms`);
  if (Number.isFinite(rate) && rate) parts.push(`${number(rate)} frames a second`);
  return parts.length > 0 && h("p", { class: "small soft" }, parts.join("; ") + ".");
}
