// Looking through the frames: in time or sharpest first, step by step or playing, beside the best.
import { button, choice, h } from "./dom.js";
import { cellsDrawing, cellsOf, fullSharpness } from "./cells.js";
import { FrameView } from "./frame_view.js";
import { Frames } from "./frames.js";
import { Gaze } from "./gaze.js";
import { Scrubber } from "./scrubber.js";
import { number, percent } from "./words.js";
import { zoomButtons } from "./zoom_buttons.js";

/** @typedef {import("./types.js").Survey} Survey */
/** @typedef {import("./types.js").Cells} Cells */

const pace_ms = 80;

/**
 * @param {import("./types.js").CaptureDetails} capture
 * @param {{isOut: (frame: number) => boolean, stretch: (from: number, to: number) => void, level: (level: number) => void,
 *          shown: (view: FrameView) => void, tone: () => import("./tone.js").Tone | null}} around
 */
export function looker(capture, around) {
  const count = capture.frames ?? 0;
  const frames = new Frames(capture.id, capture.width ?? 1, capture.height ?? 1);
  const gaze = new Gaze();
  const view = new FrameView(frames, gaze, around.tone, "Frame");
  const best = new FrameView(frames, gaze, around.tone, "The best frame");
  /** @type {Survey | null} */
  let survey = null;
  /** @type {"time" | "sharp"} */
  let order = "time";
  let frame = 0;
  let playing = 0;
  const state = { beside: false, dots: false, patches: false };
  /** @type {{cells: Cells, full: number} | null} */
  let cells = null;
  let full = 0;
  const line = h("p", { class: "frame-line digits", set: { role: "status", "aria-live": "off" } });

  const frameAt = (/** @type {number} */ position) => (order === "sharp" ? survey?.order[position] ?? 0 : position);
  const positionOf = (/** @type {number} */ of) => (order === "sharp" ? Math.max(0, survey?.order.indexOf(of) ?? 0) : of);
  const scrubber = new Scrubber({
    move: (position) => { stop(); show(frameAt(position)); },
    level: around.level,
    stretch: (from, to) => { if (order === "time") around.stretch(from, to); else scrubber.stretch = null; scrubber.redraw(); },
    words: (position) => wordsOf(frameAt(position)),
  });
  scrubber.isOut = (position) => around.isOut(frameAt(position)) || Boolean(survey?.left_out[frameAt(position)]);
  view.stage.drawings.push(cellsDrawing(() => (state.dots ? cells : null), () => state.patches));

  /** @param {number} index */
  function wordsOf(index) {
    const sharp = survey?.sharpness[index];
    const rank = survey?.order.indexOf(index) ?? -1;
    const time = survey?.time_s[index];
    const reason = survey?.left_out[index];
    return [`Frame ${index} of ${count}`, time !== null && time !== undefined && `at ${number(time, 4)} s`,
      sharp !== null && sharp !== undefined && (rank === 0 ? "the sharpest" : `sharpness ${percent(sharp)} of the best`), rank > 0 && `number ${rank + 1} in sharpness`,
      survey?.brightness[index] !== null && survey?.brightness[index] !== undefined && `brightness ${percent(survey.brightness[index])}`,
      reason && `not usable: ${reason}`, around.isOut(index) && "left out"].filter(Boolean).join(", ");
  }

  /** @param {number} index @returns {Promise<void>} when it is seen */
  async function show(index) {
    frame = Math.min(count - 1, Math.max(0, index));
    scrubber.at(positionOf(frame));
    write();
    const trouble = await view.show(frame);
    if (view.index !== frame) return;
    if (trouble) line.textContent = `Frame ${frame} cannot be shown: ${trouble}`;
    else around.shown(view);
    if (state.dots && !playing) await showCells();
  }
  function write() {
    line.textContent = wordsOf(frame);
    view.stage.name(wordsOf(frame));
  }
  async function showCells() {
    const of = frame;
    try {
      if (full === 0) full = fullSharpness(await cellsOf(capture.id, survey?.order[0] ?? of));
      const found = await cellsOf(capture.id, of);
      if (of === frame) cells = { cells: found, full };
    } catch { cells = null; }
    view.stage.redraw();
  }
  async function play() {
    const mine = ++playing;
    playButton.textContent = "Stop";
    while (mine === playing) {
      const begun = performance.now();
      const length = order === "sharp" ? survey?.order.length ?? 0 : count;
      await show(frameAt((positionOf(frame) + 1) % Math.max(1, length)));
      await new Promise((resolve) => setTimeout(resolve, Math.max(10, pace_ms - (performance.now() - begun))));
    }
  }
  function stop() {
    if (!playing) return;
    playing = 0;
    playButton.textContent = "Play";
  }
  const toggle = () => (playing ? stop() : void play());
  /** @param {"time" | "sharp"} to */
  function setOrder(to) {
    if (to === "sharp" && !survey) return;
    order = to;
    orders.show(to);
    showCurve();
    if (to === "sharp") show(survey?.order[0] ?? 0);
  }
  function showCurve() {
    const length = order === "sharp" ? survey?.order.length ?? 0 : count;
    const values = Array.from({ length }, (_, i) => survey?.sharpness[frameAt(i)] ?? null);
    const last = survey?.time_s.at(-1);
    scrubber.ends = order === "sharp" ? ["sharpest", "least sharp"] : ["first frame", last ? `${number(last)} s` : "last frame"];
    scrubber.show(values, positionOf(frame));
  }
  /** @param {"beside" | "dots" | "patches"} what @param {HTMLElement} by */
  async function flip(what, by) {
    state[what] = !state[what];
    by.setAttribute("aria-pressed", String(state[what]));
    if (what === "beside") {
      best.stage.element.parentElement?.toggleAttribute("hidden", !state.beside);
      if (state.beside && survey) await best.show(survey.order[0]);
    }
    if (what === "patches" && state.patches && !state.dots) await flip("dots", dotsButton);
    if (what === "dots" && state.dots) await showCells();
    view.stage.redraw();
  }

  const playButton = button("Play", toggle);
  const orders = choice("Order of frames", [["time", "In time"], ["sharp", "Sharpest first"]], "time", setOrder);
  const besideButton = button("Beside the best", () => flip("beside", besideButton), { set: { "aria-pressed": "false", disabled: true } });
  const dotsButton = button("Sharp regions", () => flip("dots", dotsButton), { set: { "aria-pressed": "false" } });
  const patchButton = button("Patches", () => flip("patches", patchButton), { set: { "aria-pressed": "false" } });
  const tools = h("div", { class: "row" }, playButton, orders.element, besideButton, dotsButton, patchButton,
    zoomButtons(view.stage));
  const stages = h("div", { class: "stages" }, h("figure", {}, view.stage.element, h("figcaption", { class: "small" }, "This frame")),
    h("figure", { set: { hidden: true } }, best.stage.element, h("figcaption", { class: "small" }, "The best frame")));

  return {
    elements: { stages, tools, line, curve: scrubber.element }, view, scrubber, toggle,
    begin() { showCurve(); return show(0); },
    frame: () => frame,
    /** @param {number} by */
    step: (by) => { stop(); const length = scrubber.values.length; return show(frameAt(Math.min(length - 1, Math.max(0, positionOf(frame) + by)))); },
    /** Shows and curve after frames were left out. */
    changed() { write(); scrubber.redraw(); },
    repaint() { view.paint(); best.paint(); },
    flip: { beside: () => survey && flip("beside", besideButton), dots: () => flip("dots", dotsButton), order: () => setOrder(order === "time" ? "sharp" : "time") },
    /** @param {Survey} found */
    async ranked(found) {
      const first = survey === null;
      survey = found;
      besideButton.disabled = false;
      showCurve();
      write();
      if (first && frame === 0 && found.order.length > 0) await show(found.order[0]);
    },
    end() { playing = 0; scrubber.end(); view.end(); best.end(); },
  };
}

/** @param {number} done share */
export const rankingWords = (done) => `The frames are being ranked: ${percent(done)}. They can be looked at meanwhile.`;
