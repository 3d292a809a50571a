// A picture that the server finishes as one tunes: what is seen first, the whole after it; of several
// questions only the newest counts.
import { ApiError, samples } from "./api.js";
import { afterPause } from "./dom.js";
import { light } from "./light.js";
import { paint } from "./tone.js";

/** @typedef {import("./stage.js").Layer} Layer */
/** @typedef {import("./stage.js").Stage} Stage */
/** @typedef {import("./types.js").Chosen} Chosen */

const small_px = 1.2e6;

/**
 * @typedef {object} TunedHands
 * @property {(warnings: string[], took_ms: number) => void} done
 * @property {(words: string) => void} trouble
 */

export class TunedView {
  /** @type {Layer[]} */ layers = [];
  /** @type {import("./api.js").Samples | null} */ last = null;
  #aborter = new AbortController();
  #stale = true;
  /** @type {(() => void)[]} */ #paints = [];

  /**
   * @param {string} result id @param {{width: number, height: number}} size
   * @param {"finished" | "linear" | "best"} of
   * @param {() => Stage} stage whose part is seen
   * @param {TunedHands} hands
   */
  constructor(result, size, of, stage, hands) {
    this.result = result;
    this.size = size;
    this.of = of;
    this.stage = stage;
    this.hands = hands;
    /** @type {Chosen} */
    this.options = {};
    this.closer = afterPause(120, () => { if (!this.#small) this.#ask(false); });
  }

  get #small() { return this.size.width * this.size.height <= small_px; }

  /** @param {Chosen} options */
  show(options) {
    this.options = options;
    this.#stale = true;
    return this.#ask(true);
  }

  /** @param {boolean} anew whether the options have changed: then the whole follows what is seen */
  async #ask(anew) {
    this.#aborter.abort();
    this.#aborter = new AbortController();
    const { signal } = this.#aborter;
    const { width, height } = this.size;
    const begun = performance.now();
    /** @type {[number, number, number, number]} */
    const whole = [0, 0, width, height];
    const scale = this.stage().place.scale * devicePixelRatio;
    const seen = this.#small ? whole : this.stage().seen;
    try {
      const first = await this.#layer(seen, this.#small ? 1 : Math.min(1, scale), signal);
      if (signal.aborted) return;
      const part = this.#stale || seen === whole ? [] : this.#paints.slice(0, 1);
      this.#paints = [...part, first.paint];
      this.last = first.samples;
      this.repaint();
      this.hands.done(first.samples.warnings, performance.now() - begun);
      const all = seen[2] >= width && seen[3] >= height;
      if (all) this.#stale = false;
      if (all || (!anew && !this.#stale)) return;
      const rest = await this.#layer(whole, Math.min(1, Math.sqrt(small_px / (width * height))), signal);
      if (signal.aborted) return;
      this.#stale = false;
      this.#paints = [rest.paint, first.paint];
      this.repaint();
    } catch (error) {
      if (signal.aborted) return;
      this.hands.trouble(error instanceof ApiError ? [error.trouble.what, error.trouble.do].filter(Boolean).join(" ") : String(error));
    }
  }

  /** Samples of a region at full size. @param {[number, number, number, number]} region */
  samplesOf(region) {
    return samples(`results/${encodeURIComponent(this.result)}/preview`, { body: { options: this.options, region, width: region[2], of: this.of } });
  }

  /** @param {[number, number, number, number]} region @param {number} scale px asked for a px of the picture @param {AbortSignal} signal */
  async #layer(region, scale, signal) {
    const body = { options: this.options, region, width: Math.max(16, Math.ceil(region[2] * scale)), of: this.of };
    const found = await samples(`results/${encodeURIComponent(this.result)}/preview`, { body, signal });
    const [x, y, w, h] = region;
    const place = () => { const layer = { image: paint(found.picture, found.show, light() === "red"), x, y, w, h }; this.layers.push(layer); };
    return { samples: found, paint: place };
  }

  /** After the light of the page has changed, too. */
  repaint() {
    this.layers.length = 0;
    for (const place of this.#paints) place();
    this.stage().redraw();
  }

  end() { this.#aborter.abort(); }
}
