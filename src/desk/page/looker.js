// Looking through the frames: in time or sharpest first, step by step or playing, beside the best.
import { cellsDrawing, cellsOf, fullSharpness } from "./cells.js";
import { button, choice, h } from "./dom.js";
import { FrameView } from "./frame_view.js";
import { Frames } from "./frames.js";
import { Gaze } from "./gaze.js";
import { Scrubber } from "./scrubber.js";
import { number, percent } from "./words.js";
import { zoomButtons } from "./zoom_buttons.js";

/** @typedef {import("./types.js").Survey} Survey */
/** @typedef {import("./types.js").Cells} Cells */
/**
 * What the view around does with it.
 * @typedef {object} Around
 * @property {(frame: number) => boolean} isOut
 * @property {(from: number, to: number) => void} stretch
 * @property {(level: number) => void} level
 * @property {(view: FrameView) => void} shown
 * @property {() => import("./tone.js").Tone | null} tone
 */

const pace_ms = 80;

/** A button that is on or off. @param {string} words @param {() => void} flip */
const onOff = (words, flip) => button(words, flip, { set: { "aria-pressed": "false" } });

/** @param {string} words @param {import("./stage.js").Stage} stage */
const figureOf = (words, stage) => h("figure", {}, stage.element, h("figcaption", { class: "small" }, words));

export class Looker {
  /** @type {Survey | null} */ survey = null;
  /** @type {"time" | "sharp"} */ #order = "time";
  /** @type {{cells: Cells, full: number} | null} */ #cells = null;
  #full = 0;
  #dots = false;
  #beside = false;
  /** the run of the film that plays; 0: none */ #playing = 0;
  #plays = 0;
  frame = 0;

  /** @param {import("./types.js").CaptureDetails} capture @param {Around} around */
  constructor(capture, around) {
    this.capture = capture;
    this.around = around;
    this.count = capture.frames ?? 0;
    const frames = new Frames(capture.id, capture.width ?? 1, capture.height ?? 1);
    const gaze = new Gaze();
    this.view = new FrameView(frames, gaze, around.tone, "Frame");
    this.best = new FrameView(frames, gaze, around.tone, "The best frame");
    this.view.stage.drawings.push(cellsDrawing(() => (this.#dots ? this.#cells : null)));
    this.scrubber = this.#makeScrubber();
    this.line = h("p", { class: "frame-line digits", set: { role: "status", "aria-live": "off" } });
    this.bestFigure = figureOf("The best frame", this.best.stage);
    this.bestFigure.hidden = true;
    this.stages = h("div", { class: "stages" }, figureOf("This frame", this.view.stage), this.bestFigure);
    this.playButton = button("Play", () => this.toggle());
    this.orders = choice("Order of frames", [["time", "In time"], ["sharp", "Sharpest first"]], "time", (to) => this.setOrder(to));
    this.besideButton = onOff("Beside the best", () => this.flipBeside());
    this.besideButton.disabled = true;
    this.dotsButton = onOff("Sharp regions", () => this.flipDots());
    this.tools = h("div", { class: "row" }, this.playButton, this.orders.element, this.besideButton, this.dotsButton, zoomButtons(this.view.stage));
  }

  #makeScrubber() {
    const scrubber = new Scrubber({
      move: (position) => { this.stop(); this.show(this.#frameAt(position)); },
      level: this.around.level,
      stretch: (from, to) => {
        if (this.#order === "time") this.around.stretch(from, to);
        else scrubber.stretch = null;
        scrubber.redraw();
      },
      words: (position) => this.#words(this.#frameAt(position)),
    });
    scrubber.isOut = (position) => {
      const frame = this.#frameAt(position);
      return this.around.isOut(frame) || Boolean(this.survey?.left_out[frame]);
    };
    return scrubber;
  }

  /** @param {number} position */
  #frameAt(position) { return this.#order === "sharp" ? this.survey?.order[position] ?? 0 : position; }

  /** @param {number} frame */
  #positionOf(frame) { return this.#order === "sharp" ? Math.max(0, this.survey?.order.indexOf(frame) ?? 0) : frame; }

  get #length() { return this.#order === "sharp" ? this.survey?.order.length ?? 0 : this.count; }

  /** @param {number} frame */
  #words(frame) {
    const { survey } = this;
    const parts = [`Frame ${frame} of ${this.count}`];
    const [time, sharp, bright] = [survey?.time_s[frame], survey?.sharpness[frame], survey?.brightness[frame]].map((value) => value ?? null);
    const rank = survey?.order.indexOf(frame) ?? -1;
    if (time !== null) parts.push(`at ${number(time, 4)} s`);
    if (rank === 0) parts.push("the sharpest");
    else if (sharp !== null) parts.push(`sharpness ${percent(sharp)} of the best`);
    if (rank > 0) parts.push(`number ${rank + 1} in sharpness`);
    if (bright !== null) parts.push(`brightness ${percent(bright)}`);
    const reason = survey?.left_out[frame];
    if (reason) parts.push(`not usable: ${reason}`);
    if (this.around.isOut(frame)) parts.push("left out");
    return parts.join(", ");
  }

  begin() {
    this.#showCurve();
    return this.show(0);
  }

  /** @param {number} index @returns {Promise<void>} when it is seen */
  async show(index) {
    const frame = this.frame = Math.min(this.count - 1, Math.max(0, index));
    this.scrubber.at(this.#positionOf(frame));
    this.#write();
    const trouble = await this.view.show(frame);
    if (this.view.index !== frame) return;
    if (trouble) this.line.textContent = `Frame ${frame} cannot be shown: ${trouble}`;
    else this.around.shown(this.view);
    if (this.#dots && !this.#playing) await this.#showCells();
  }

  #write() {
    const words = this.#words(this.frame);
    this.line.textContent = words;
    this.view.stage.name(words);
  }

  /** @param {number} by */
  step(by) {
    this.stop();
    const position = this.#positionOf(this.frame) + by;
    return this.show(this.#frameAt(Math.min(this.#length - 1, Math.max(0, position))));
  }

  toggle() {
    if (this.#playing) this.stop();
    else this.#play();
  }

  async #play() {
    const mine = this.#playing = ++this.#plays;
    this.playButton.textContent = "Stop";
    while (mine === this.#playing) {
      const begun = performance.now();
      await this.show(this.#frameAt((this.#positionOf(this.frame) + 1) % Math.max(1, this.#length)));
      await new Promise((resolve) => setTimeout(resolve, Math.max(10, pace_ms - (performance.now() - begun))));
    }
  }

  stop() {
    this.#playing = 0;
    this.playButton.textContent = "Play";
  }

  flipOrder() { this.setOrder(this.#order === "time" ? "sharp" : "time"); }

  /** @param {"time" | "sharp"} to */
  setOrder(to) {
    if (to === "sharp" && !this.survey) {
      this.orders.show("time");
      return;
    }
    this.#order = to;
    this.orders.show(to);
    this.#showCurve();
    if (to === "sharp") this.show(this.survey?.order[0] ?? 0);
  }

  #showCurve() {
    const values = Array.from({ length: this.#length }, (_, i) => this.survey?.sharpness[this.#frameAt(i)] ?? null);
    const last = this.survey?.time_s.at(-1);
    this.scrubber.ends = this.#order === "sharp" ? ["sharpest", "least sharp"] : ["first frame", last ? `${number(last)} s` : "last frame"];
    this.scrubber.show(values, this.#positionOf(this.frame));
  }

  async flipBeside() {
    if (!this.survey) return;
    this.#beside = !this.#beside;
    this.besideButton.setAttribute("aria-pressed", String(this.#beside));
    this.bestFigure.hidden = !this.#beside;
    if (this.#beside) await this.best.show(this.survey.order[0]);
  }

  async flipDots() {
    this.#dots = !this.#dots;
    this.dotsButton.setAttribute("aria-pressed", String(this.#dots));
    if (this.#dots) await this.#showCells();
    this.view.stage.redraw();
  }

  /** Dots of one size mean the same in every frame: the best frame sets the scale. */
  async #showCells() {
    const { frame, capture } = this;
    try {
      if (this.#full === 0) this.#full = fullSharpness(await cellsOf(capture.id, this.survey?.order[0] ?? frame));
      const cells = await cellsOf(capture.id, frame);
      if (frame === this.frame) this.#cells = { cells, full: this.#full };
    } catch {
      this.#cells = null;
    }
    this.view.stage.redraw();
  }

  /** After frames were left out. */
  changed() {
    this.#write();
    this.scrubber.redraw();
  }

  repaint() {
    this.view.paint();
    this.best.paint();
  }

  /** @param {Survey} survey */
  async ranked(survey) {
    const first = this.survey === null;
    this.survey = survey;
    this.#full = 0;
    this.besideButton.disabled = false;
    this.#showCurve();
    this.#write();
    if (first && this.frame === 0 && survey.order.length > 0) await this.show(survey.order[0]);
  }

  end() {
    this.#playing = 0;
    this.scrubber.end();
    this.view.end();
    this.best.end();
  }
}
