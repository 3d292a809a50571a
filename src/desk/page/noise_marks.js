// Where the finished picture raises noise: hatched on it, and told of in words.
import { post } from "./api.js";
import { afterPause } from "./dom.js";
import { colour } from "./light.js";
import { number, percent } from "./words.js";

/** @typedef {import("./types.js").Noise} Noise */
/** @typedef {import("./types.js").Chosen} Chosen */

const hatch_px = 10;
const pause_ms = 150;

export class NoiseMarks {
  /** @type {Noise | null} */ #noise = null;
  /** of the question that counts */ #asked = 0;
  isShown = true;

  /** @param {string} result id @param {() => void} changed */
  constructor(result, changed) {
    this.path = `results/${encodeURIComponent(result)}/noise`;
    this.changed = changed;
    this.soon = afterPause(pause_ms, (/** @type {Chosen} */ options) => { this.#ask(options); });
  }

  /** @param {Chosen} options */
  async #ask(options) {
    const mine = ++this.#asked;
    let noise = null;
    try {
      noise = /** @type {Noise} */ (await post(this.path, { options }));
    } catch { /* the picture says what is wrong */ }
    if (mine !== this.#asked) return;  // another question, or the view was left
    this.#noise = noise;
    this.changed();
  }

  end() { ++this.#asked; }

  /** Of what is not certain in the picture; empty where nothing is to be said. @param {[number, number] | null} doubt sizes in px */
  words(doubt) {
    if (!this.#noise) return [];
    const raised = this.#raised;
    if (!doubt) return raised ? [raised] : [];
    const sizes = `The curve raises features of ${number(doubt[0], 2)} to ${number(doubt[1], 2)} px, on which the half stacks do not agree.`;
    return raised ? [sizes, raised] : [`${sizes} Restraint holds their noise back.`];
  }

  get #raised() {
    const times = this.#noise?.times.filter((value) => value > 1) ?? [];
    if (!this.#noise || times.length === 0) return "";
    const share = times.length / this.#noise.times.length;
    return `Noise is raised up to ${number(Math.max(...times), 2)} times in the hatched ${percent(share)} of the picture. `
      + "More restraint, or a lower curve for fine features, leaves it as it was.";
  }

  /** @type {import("./stage.js").Drawing} in the pose of the picture */
  draw = (context, place) => {
    if (!this.#noise || !this.isShown) return;
    const { cell_px, columns, times } = this.#noise;
    const side = cell_px * place.scale;
    const cells = times.flatMap((value, i) => (value > 1 ? [{ x: place.left + (i % columns) * side, y: place.top + Math.floor(i / columns) * side }] : []));
    if (cells.length === 0) return;
    context.beginPath();
    for (const { x, y } of cells) context.rect(x, y, side, side);
    context.clip();
    const [wide, high] = [columns * side, Math.ceil(times.length / columns) * side];
    context.beginPath();
    for (let at = 0; at < wide + high; at += hatch_px) {  // from the lower left to the upper right
      context.moveTo(place.left + at, place.top);
      context.lineTo(place.left + at - high, place.top + high);
    }
    context.strokeStyle = colour("orange");
    context.lineWidth = 1.2;
    context.stroke();
  };
}
