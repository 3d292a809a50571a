// Frames that are left out by hand: one, a stretch, all below a line; every step can be taken back.
import { announce } from "./announce.js";
import { button, fill, h } from "./dom.js";
import { counted, framesOf, number, ranges } from "./words.js";

/**
 * What the panel needs of the view.
 * @typedef {object} Around
 * @property {number} frames
 * @property {() => number} frame that is shown
 * @property {() => (number | null)[]} sharpness of each frame; empty without a survey
 * @property {(stretch: [number, number] | null) => void} showStretch frames from, to
 * @property {(level: number | null) => void} showLevel
 * @property {() => void} changed
 */

export class LeaveOut {
  /** @type {Set<number>} */ #out;
  /** @type {Set<number>[]} */ #before = [];
  /** where a stretch began @type {number | null} */ #from = null;
  /** @type {[number, number] | null} */ #stretch = null;
  /** @type {number | null} */ #level = null;

  /** @param {number[]} first @param {Around} around */
  constructor(first, around) {
    this.#out = new Set(first);
    this.around = around;
    this.field = h("input", {
      set: { type: "text", "aria-label": "Frames left out, such as 3,5-9", placeholder: "none" },
      on: { change: () => this.#typed() },
    });
    this.lineField = h("input", {
      class: "digits",
      set: { type: "number", min: 0, max: 100, step: "any", "aria-label": "Left out below this sharpness, percent of the best" },
      on: { input: () => this.drawLine(Number(this.lineField.value) / 100) },
    });
    this.count = h("p", { class: "small soft" });
    this.one = h("span");
    this.stretch = h("span", { class: "row" });
    this.line = h("span", { class: "row" });
    this.back = h("span", { class: "row" });
    const typed = h("div", { class: "row" }, this.field);
    this.element = h("div", { class: "leave" }, this.count, this.one, this.stretch, this.line, typed, this.back);
    this.write();
  }

  /** @param {number} frame */
  has(frame) { return this.#out.has(frame); }

  list() { return [...this.#out].sort((a, b) => a - b); }

  /** @param {Set<number>} to @param {string} words */
  #set(to, words) {
    this.#before.push(this.#out);
    this.#out = to;
    announce(`${words} ${counted(to.size, "frame")} left out.`);
    this.around.changed();
    this.write();
  }

  /** @param {Iterable<number>} frames @param {string} words */
  #add(frames, words) { this.#set(new Set([...this.#out, ...frames]), words); }

  #typed() {
    const frames = framesOf(this.field.value, this.around.frames);
    this.field.setAttribute("aria-invalid", String(frames === null));
    if (frames) this.#set(new Set(frames), "As typed.");
    else announce(`Write frames from 0 to ${this.around.frames - 1}, such as 3,5-9.`);
  }

  toggle() {
    const frame = this.around.frame();
    if (this.#out.has(frame)) this.#set(new Set([...this.#out].filter((other) => other !== frame)), `Frame ${frame} is taken again.`);
    else this.#add([frame], `Frame ${frame} is left out.`);
  }

  begin() {
    const frame = this.#from = this.around.frame();
    this.choose(frame, frame);
  }

  end() { if (this.#from !== null) this.choose(this.#from, this.around.frame()); }

  /** @param {number} a @param {number} b */
  choose(a, b) {
    this.#from ??= a;
    this.#stretch = [Math.min(a, b), Math.max(a, b)];
    this.around.showStretch(this.#stretch);
    this.write();
  }

  #dropStretch() {
    this.#from = null;
    this.#stretch = null;
    this.around.showStretch(null);
    this.write();
  }

  /** @param {[number, number]} stretch */
  #addStretch([from, to]) {
    this.#dropStretch();
    this.#add(Array.from({ length: to - from + 1 }, (_, i) => from + i), `Frames ${from} to ${to}.`);
  }

  /** @param {number | null} to */
  drawLine(to) {
    this.#level = to;
    this.around.showLevel(to);
    this.write();
  }

  /** At the middle of all frames. */
  #firstLine() {
    const sorted = this.around.sharpness().filter((value) => value !== null).sort((a, b) => a - b);
    this.drawLine(sorted[Math.floor(sorted.length / 2)] ?? 0);
  }

  #below() {
    const level = this.#level;
    return level === null ? [] : this.around.sharpness().flatMap((value, i) => (value !== null && value < level ? [i] : []));
  }

  #addBelow() {
    const frames = this.#below();
    this.drawLine(null);
    this.#add(frames, "All below the line.");
  }

  undo() {
    const last = this.#before.pop();
    if (!last) return;
    this.#out = last;
    announce(`Taken back. ${counted(last.size, "frame")} left out.`);
    this.around.changed();
    this.write();
  }

  /** Shows what is chosen; also after another frame was shown. */
  write() {
    const { size } = this.#out;
    this.field.value = ranges(this.#out);
    this.field.setAttribute("aria-invalid", "false");
    this.count.textContent = size === 0 ? "All frames are taken." : `${counted(size, "frame")} of ${this.around.frames} left out.`;
    const isOut = this.#out.has(this.around.frame());
    fill(this.one, button(isOut ? "Take this frame again" : "Leave this frame out", () => this.toggle()));
    fill(this.stretch, this.#stretchParts());
    fill(this.line, this.#lineParts());
    fill(this.back,
      button("Undo", () => this.undo(), { set: { disabled: this.#before.length === 0 } }),
      button("Take all again", () => this.#set(new Set(), "All frames are taken again."), { set: { disabled: size === 0 } }));
  }

  #stretchParts() {
    const stretch = this.#stretch;
    const from = button("A stretch from here", () => this.begin());
    if (!stretch) return [from];
    return [from, button("To this frame", () => this.end()),
      button(`Leave out ${stretch[0]} to ${stretch[1]}`, () => this.#addStretch(stretch), { class: "main" }),
      button("Drop", () => this.#dropStretch())];
  }

  #lineParts() {
    if (this.around.sharpness().length === 0)
      return [h("span", { class: "soft small" }, "A line can be drawn when the frames have been ranked.")];
    if (this.#level === null) return [button("All below a line", () => this.#firstLine())];
    if (document.activeElement !== this.lineField) this.lineField.value = number(100 * this.#level);
    const below = this.#below().length;
    return ["Below ", this.lineField, " % of the best",
      button(`Leave out ${counted(below, "frame")}`, () => this.#addBelow(), { class: "main", set: { disabled: below === 0 } }),
      button("No line", () => this.drawLine(null))];
  }
}
