// One frame on a stage: the whole at once, and what is seen in full where one looks closer.
import { ApiError } from "./api.js";
import { afterPause } from "./dom.js";
import { light, onLight } from "./light.js";
import { Stage } from "./stage.js";
import { paint } from "./tone.js";

/** @typedef {import("./api.js").Samples} Samples */
/** @typedef {import("./tone.js").Tone} Tone */

export class FrameView {
  index = -1;
  /** @type {Samples | null} */ whole = null;
  /** @type {{samples: Samples, area: import("./frames.js").Area} | null} */ #close = null;
  #aborter = new AbortController();

  /**
   * @param {import("./frames.js").Frames} frames
   * @param {import("./gaze.js").Gaze} gaze
   * @param {() => Tone | null} tone
   * @param {string} name
   */
  constructor(frames, gaze, tone, name) {
    this.frames = frames;
    this.tone = tone;
    this.stage = new Stage(gaze, name);
    this.stage.size(frames.width, frames.height);
    this.closer = afterPause(140, () => this.#lookCloser());
    this.stage.onseen = this.closer;
    const endLight = onLight(() => this.paint());
    this.end = () => { this.#aborter.abort(); endLight(); this.stage.end(); };
  }

  /**
   * @param {number} index
   * @returns {Promise<string>} why it cannot be shown, or nothing
   */
  async show(index) {
    this.index = index;
    this.#aborter.abort();
    this.#aborter = new AbortController();
    const { signal } = this.#aborter;
    this.#close = null;
    try {
      const whole = await this.frames.whole(index, signal);
      if (signal.aborted) return "";
      this.whole = whole;
    } catch (error) {
      if (signal.aborted) return "";
      this.whole = null;
      this.stage.layers = [];
      this.stage.redraw();
      return error instanceof ApiError ? error.trouble.what : String(error);
    }
    this.paint();
    this.closer();
    return "";
  }

  paint() {
    if (!this.whole) return;
    const tone = this.tone() ?? this.whole.show;
    const red = light() === "red";
    const { width, height } = this.frames;
    this.stage.layers = [{ image: paint(this.whole.picture, tone, red), x: 0, y: 0, w: width, h: height }];
    if (this.#close) {
      const [x, y, w, h] = this.#close.area;
      this.stage.layers.push({ image: paint(this.#close.samples.picture, tone, red), x, y, w, h });
    }
    this.stage.redraw();
  }

  async #lookCloser() {
    const scale = this.stage.place.scale * devicePixelRatio;
    if (this.frames.reduction === 1 || !this.whole || scale * this.frames.reduction < 1.05) return;
    const area = this.stage.seen;
    const { signal } = this.#aborter;
    const index = this.index;
    try {
      const found = await this.frames.area(index, area, Math.max(1, Math.floor(1 / scale)), signal);
      if (signal.aborted || index !== this.index) return;
      this.#close = { samples: found, area };
      this.paint();
    } catch { /* the whole frame is shown already */ }
  }
}
