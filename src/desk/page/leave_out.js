// Frames that are left out by hand: one, a stretch, all below a line; every step can be taken back.
import { announce } from "./announce.js";
import { button, fill, h } from "./dom.js";
import { counted, framesOf, number, ranges } from "./words.js";

/**
 * @typedef {object} Around what the panel needs of the view
 * @property {number} frames
 * @property {() => number} frame that is shown
 * @property {() => (number | null)[]} sharpness of each frame; empty without a survey
 * @property {(stretch: [number, number] | null) => void} showStretch frames from, to
 * @property {(level: number | null) => void} showLevel
 * @property {() => void} changed
 */

/** @param {number[]} first @param {Around} around */
export function leaveOut(first, around) {
  let out = new Set(first);
  /** @type {Set<number>[]} */
  const before = [];
  /** @type {number | null} */
  let from = null;
  /** @type {[number, number] | null} */
  let stretch = null;
  /** @type {number | null} */
  let level = null;

  /** @param {Set<number>} to @param {string} words */
  function set(to, words) {
    before.push(out);
    out = to;
    announce(`${words} ${counted(out.size, "frame")} left out.`);
    around.changed();
    write();
  }
  /** @param {Iterable<number>} frames @param {string} words */
  const add = (frames, words) => set(new Set([...out, ...frames]), words);
  const below = () => around.sharpness().flatMap((value, i) => (level !== null && value !== null && value < level ? [i] : []));

  const field = h("input", { set: { type: "text", "aria-label": "Frames left out, such as 3,5-9", placeholder: "none" }, on: { change: () => {
    const frames = framesOf(field.value, around.frames);
    field.setAttribute("aria-invalid", String(frames === null));
    if (frames) set(new Set(frames), "As typed.");
    else announce(`Write frames from 0 to ${around.frames - 1}, such as 3,5-9.`);
  } } });
  const count = h("p", { class: "small soft" });
  const lineField = h("input", { class: "digits", set: { type: "number", min: 0, max: 100, step: "any", "aria-label": "Left out below this sharpness, percent of the best" }, on: { input: () => drawLine(Number(lineField.value) / 100) } });
  const parts = { one: h("span"), stretch: h("span", { class: "row" }), line: h("span", { class: "row" }), back: h("span", { class: "row" }) };

  function toggle() {
    const frame = around.frame();
    if (out.has(frame)) set(new Set([...out].filter((other) => other !== frame)), `Frame ${frame} is taken again.`);
    else add([frame], `Frame ${frame} is left out.`);
  }
  function begin() { from = around.frame(); choose(from, from); }
  function end() { if (from !== null) choose(from, around.frame()); }
  /** @param {number} a @param {number} b */
  function choose(a, b) {
    from ??= a;
    stretch = [Math.min(a, b), Math.max(a, b)];
    around.showStretch(stretch);
    write();
  }
  function dropStretch() {
    [from, stretch] = [null, null];
    around.showStretch(null);
    write();
  }
  /** @param {number | null} to */
  function drawLine(to) {
    level = to;
    around.showLevel(to);
    write();
  }
  function firstLine() {
    const sorted = around.sharpness().filter((value) => value !== null).sort((a, b) => a - b);
    drawLine(sorted[Math.floor(sorted.length / 2)] ?? 0);
  }
  function undo() {
    const last = before.pop();
    if (!last) return;
    out = last;
    announce(`Taken back. ${counted(out.size, "frame")} left out.`);
    around.changed();
    write();
  }

  function write() {
    field.value = ranges(out);
    field.setAttribute("aria-invalid", "false");
    count.textContent = out.size === 0 ? "All frames are taken." : `${counted(out.size, "frame")} of ${around.frames} left out.`;
    fill(parts.one, button(out.has(around.frame()) ? "Take this frame again" : "Leave this frame out", toggle));
    fill(parts.stretch, button("From here", begin), stretch ? [button("To here", end),
      button(`Leave out ${stretch[0]} to ${stretch[1]}`, () => { const [a, b] = /** @type {[number, number]} */ (stretch); dropStretch(); add(Array.from({ length: b - a + 1 }, (_, i) => a + i), `Frames ${a} to ${b}.`); }, { class: "main" }),
      button("Drop", dropStretch)] : null);
    const lined = level === null ? 0 : below().length;
    if (level !== null && document.activeElement !== lineField) lineField.value = number(100 * level);
    fill(parts.line, around.sharpness().length === 0 ? h("span", { class: "soft small" }, "A line can be drawn when the frames have been ranked.")
      : level === null ? button("Draw a line", firstLine)
        : ["Below ", lineField, " % of the best", button(`Leave out ${counted(lined, "frame")}`, () => { const frames = below(); drawLine(null); add(frames, "All below the line."); }, { class: "main", set: { disabled: lined === 0 } }), button("No line", () => drawLine(null))]);
    fill(parts.back, button("Undo", undo, { set: { disabled: before.length === 0 } }), button("Take all again", () => set(new Set(), "All frames are taken again."), { set: { disabled: out.size === 0 } }));
  }
  write();
  const element = h("div", { class: "leave" }, count, parts.one, parts.stretch, parts.line, h("div", { class: "row" }, field), parts.back);
  return { element, has: (/** @type {number} */ frame) => out.has(frame), list: () => [...out].sort((a, b) => a - b), toggle, begin, end, choose, drawLine, undo, write };
}
