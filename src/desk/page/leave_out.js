// Frames that are left out by hand: one, a stretch, all below a line; every step can be taken back.
import { announce } from "./announce.js";
import { button, h } from "./dom.js";
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

/** @param {...import("./dom.js").Child} parts */
const row = (...parts) => h("div", { class: "row" }, ...parts);

export class LeaveOut {
  /** @type {Set<number>} */ #out;
  /** @type {Set<number>[]} */ #before = [];
  /** where a stretch began @type {number | null} */ #from = null;
  /** @type {[number, number] | null} */ #stretch = null;
  /** @type {number | null} */ #level = null;

  // Made once: a new frame changes only their words, so the focus stays where it is.
  field = h("input", {
    set: { type: "text", "aria-label": "Frames left out, such as 3,5-9", placeholder: "none" },
    on: { change: () => this.#typed() },
  });
  lineField = h("input", {
    class: "digits",
    set: { type: "number", min: 0, max: 100, step: "any", "aria-label": "Left out below this sharpness, percent of the best" },
    on: { input: () => this.drawLine(Number(this.lineField.value) / 100) },
  });
  count = h("p", { class: "small soft" });
  one = button("", () => this.toggle());
  from = button("A stretch from here", () => this.begin());
  to = button("To this frame", () => this.end());
  takeStretch = button("", () => this.#addStretch(), { class: "main" });
  drop = button("Drop", () => this.#dropStretch());
  noLine = h("span", { class: "soft small" }, "A line can be drawn when the frames have been ranked.");
  firstLine = button("All below a line", () => this.#firstLine());
  takeBelow = button("", () => this.#addBelow(), { class: "main" });
  below = row("Below ", this.lineField, " % of the best", this.takeBelow, button("No line", () => this.drawLine(null)));
  back = button("Undo", () => this.undo());
  all = button("Take all again", () => this.#set(new Set(), "All frames are taken again."));
  element = h("div", { class: "leave" }, this.count, row(this.one), row(this.from, this.to, this.takeStretch, this.drop),
    row(this.noLine, this.firstLine, this.below), row(this.field), row(this.back, this.all));

  /** @param {number[]} first @param {Around} around */
  constructor(first, around) {
    this.#out = new Set(first);
    this.around = around;
    this.#writeField();
    this.write();
  }

  /** @param {number} frame */
  has(frame) { return this.#out.has(frame); }

  list() { return [...this.#out].sort((a, b) => a - b); }

  /** @param {Set<number>} to @param {string} words */
  #set(to, words) {
    this.#before.push(this.#out);
    this.#become(to, words);
  }

  /** @param {Set<number>} to @param {string} words */
  #become(to, words) {
    this.#out = to;
    this.#writeField();
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

  #addStretch() {
    if (!this.#stretch) return;
    const [from, to] = this.#stretch;
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
    if (last) this.#become(last, "Taken back.");
  }

  /** Shows what is chosen; also after another frame was shown. */
  write() {
    const held = this.element.contains(document.activeElement) ? document.activeElement : null;
    const { size } = this.#out;
    this.count.textContent = size === 0 ? "All frames are taken." : `${counted(size, "frame")} of ${this.around.frames} left out.`;
    this.one.textContent = this.#out.has(this.around.frame()) ? "Take this frame again" : "Leave this frame out";
    this.#writeStretch();
    this.#writeLine();
    this.back.disabled = this.#before.length === 0;
    this.all.disabled = size === 0;
    this.#goOn(held);
  }

  /** Only when other frames are left out: what is being typed stays. */
  #writeField() {
    this.field.value = ranges(this.#out);
    this.field.setAttribute("aria-invalid", "false");
  }

  #writeStretch() {
    const stretch = this.#stretch;
    for (const one of [this.to, this.takeStretch, this.drop]) one.hidden = stretch === null;
    if (stretch) this.takeStretch.textContent = `Leave out ${stretch[0]} to ${stretch[1]}`;
  }

  #writeLine() {
    const isRanked = this.around.sharpness().length > 0;
    this.noLine.hidden = isRanked;
    this.firstLine.hidden = !isRanked || this.#level !== null;
    this.below.hidden = !isRanked || this.#level === null;
    if (this.#level === null) return;
    if (document.activeElement !== this.lineField) this.lineField.value = number(100 * this.#level);
    const below = this.#below().length;
    this.takeBelow.textContent = `Leave out ${counted(below, "frame")}`;
    this.takeBelow.disabled = below === 0;
  }

  /** Who was on a button that has gone, or cannot be pressed any more, goes on at one beside it. @param {Element | null} held */
  #goOn(held) {
    if (!(held instanceof HTMLElement) || canHold(held)) return;
    const beside = held.closest(".row:not([hidden])")?.querySelectorAll("button") ?? [];
    [...beside, this.one].find(canHold)?.focus({ preventScroll: true });
  }
}

/** @param {HTMLElement} element */
const canHold = (element) => !element.closest("[hidden]") && !element.matches(":disabled");
