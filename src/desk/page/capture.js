// One capture: looking at its frames and choosing what goes into the stack.
import { get } from "./api.js";
import { errorOf, factsOf } from "./card.js";
import { Crop } from "./crop.js";
import { button, fill, h } from "./dom.js";
import { on } from "./events.js";
import { findings } from "./findings.js";
import { setKeys } from "./keys.js";
import { LeaveOut } from "./leave_out.js";
import { Looker } from "./looker.js";
import { address, go } from "./route.js";
import { choicesOf, keepChoices } from "./state.js";
import { sunCaution, sunWords } from "./sun.js";
import { SurveyFollow } from "./survey_follow.js";
import { TonePanel } from "./tone_panel.js";
import { day, percent } from "./words.js";
import { zoomKey } from "./zoom_buttons.js";

/** @typedef {import("./types.js").Survey} Survey */
/** @typedef {import("./types.js").CaptureDetails} CaptureDetails */
/** @typedef {import("./state.js").Choices} Choices */

/** @type {import("./route.js").View} */
export async function openCapture(place, [id], signal) {
  const capture = /** @type {CaptureDetails} */ (await get(`captures/${encodeURIComponent(id)}`, signal));
  await sunCaution(capture.sun, signal);
  const opened = { title: capture.name, capture: capture.id, result: capture.results[0]?.id };
  if (errorOf(capture) || !capture.width || !capture.height || !capture.frames) {
    fill(place, h("h1", {}, capture.name), unreadable(capture));
    const again = () => { if (!errorOf(capture)) window.dispatchEvent(new Event("hashchange")); };
    return { ...opened, close: on("captures", again) };
  }
  const sheet = new Sheet(capture, signal);
  fill(place, sheet.element);
  setKeys(sheet.keys());
  sheet.start();
  return { ...opened, close: () => sheet.end() };
}

/** @param {CaptureDetails} capture */
function unreadable(capture) {
  const what = errorOf(capture);
  if (!what) return h("p", {}, "This file is still being opened. The page goes on by itself.");
  const todo = (typeof capture.error === "object" && capture.error?.do) || "Was the file copied whole? Is it still being recorded?";
  return h("div", { class: "caution" }, h("b", {}, what), h("p", {}, todo));
}

/** @param {string} title @param {HTMLElement} what */
const note = (title, what) => h("section", { class: "note" }, h("h2", {}, title), what);

class Sheet {
  /** @param {CaptureDetails} capture @param {AbortSignal} signal */
  constructor(capture, signal) {
    this.capture = capture;
    this.choices = choicesOf(capture.id);
    this.tones = new TonePanel(() => this.look.repaint());
    /** @type {Looker} */
    this.look = new Looker(capture, {
      isOut: (frame) => this.out.has(frame), stretch: (from, to) => this.out.choose(from, to), level: (level) => this.out.drawLine(level),
      tone: () => this.tones.tone, shown: (view) => { if (view.whole) this.tones.show(view.whole); this.out.write(); },
    });
    this.out = this.#leaveOut();
    this.crop = new Crop(capture.width ?? 1, capture.height ?? 1, this.choices.crop, (to) => {
      this.choices.crop = to;
      this.keep();
      this.look.view.stage.redraw();
    });
    this.look.view.stage.drawings.push((context, at) => this.crop.draw(context, at));
    this.found = h("div", {}, findings(capture, null));
    this.progress = h("p", { class: "small soft", set: { role: "status" } });
    this.calibration = h("div");
    this.survey = new SurveyFollow(capture.id, signal, {
      share: (share, waits) => {
        const state = waits ? "The frames are ranked after what runs in the queue now." : `The frames are being ranked: ${percent(share ?? 0)}.`;
        this.progress.textContent = share === null ? "" : `${state} They can be looked at meanwhile.`;
      },
      trouble: (words) => { this.progress.textContent = words; },
      found: (survey) => { fill(this.found, findings(capture, survey)); this.look.ranked(survey); this.out.write(); },
    });
    this.element = h("div", { class: "sheet" }, this.#seen(), this.#notes());
    calibrationChoice(this.calibration, capture.id, this.choices, () => this.keep(), signal);
  }

  keep() { keepChoices(this.capture.id, this.choices); }

  /** @returns {LeaveOut} */
  #leaveOut() {
    const { look } = this;
    return new LeaveOut(this.choices.out, {
      frames: this.capture.frames ?? 0, frame: () => look.frame, sharpness: () => look.survey?.sharpness ?? [],
      showStretch: (stretch) => { look.scrubber.stretch = stretch; look.scrubber.redraw(); },
      showLevel: (level) => { look.scrubber.level = level; look.scrubber.redraw(); },
      changed: () => { this.choices.out = this.out.list(); this.keep(); look.changed(); },
    });
  }

  #seen() {
    const { capture, look } = this;
    const stack = h("a", { class: "button main", set: { href: address("stack", capture.id) } }, "Stack this capture");
    return h("div", { class: "seen" }, h("div", { class: "row apart" }, h("h1", {}, capture.name), stack),
      look.stages, look.line, look.scrubber.element, this.progress, look.tools);
  }

  #notes() {
    const { capture } = this;
    const facts = [factsOf(capture), capture.bits ? `, ${capture.bits} bit` : "", ". ", day(capture.begun_utc ?? capture.modified)];
    return h("aside", { class: "notes", set: { "aria-label": "About this capture" } },
      capture.sun === "named" && h("p", { class: "caution small" }, sunWords()),
      note("This capture", h("p", { class: "small" }, facts)), note("What was found", this.found), note("Frames left out", this.out.element),
      note("Crop", this.#cropPanel()), note("Light", this.tones.element), note("Dark and flat", this.calibration));
  }

  #cropPanel() {
    const { stage } = this.look.view;
    const draw = button("Draw the crop", () => {
      stage.tool = stage.tool ? null : this.crop;
      stage.element.classList.toggle("drawing", stage.tool !== null);
      draw.setAttribute("aria-pressed", String(stage.tool !== null));
    }, { set: { "aria-pressed": "false" } });
    return h("div", {}, h("p", { class: "small soft" }, "Only this area goes into the stack. Drag over the picture, drag its edges, or type."),
      h("div", { class: "row" }, draw, button("No crop", () => this.crop.set(null))), this.crop.element);
  }

  /** @returns {import("./keys.js").Key[]} */
  keys() {
    const { look, out } = this;
    return [
      { keys: ["ArrowRight", "."], words: "The next frame", act: () => look.step(1) },
      { keys: ["ArrowLeft", ","], words: "The frame before", act: () => look.step(-1) },
      { keys: [" "], words: "Play, stop", act: () => look.toggle() },
      { keys: ["s"], words: "In time, or sharpest first", act: () => look.flipOrder() },
      { keys: ["b"], words: "Beside the best", act: () => look.flipBeside() },
      { keys: ["r"], words: "How sharp each region is", act: () => look.flipDots() },
      { keys: ["o"], words: "Leave this frame out, or take it again", act: () => out.toggle() },
      { keys: ["["], words: "A stretch begins here", act: () => out.begin() },
      { keys: ["]"], words: "The stretch ends here", act: () => out.end() },
      { keys: ["z"], words: "Undo what was left out", act: () => out.undo() },
      zoomKey(look.view.stage),
      { keys: ["Enter"], words: "Stack this capture", act: () => go(address("stack", this.capture.id)) },
    ];
  }

  start() {
    this.look.begin();
    this.survey.start(this.capture);
  }

  end() {
    this.survey.end();
    this.look.end();
    this.tones.end();
  }
}

/**
 * Other captures of the folder as dark and flat.
 * @param {HTMLElement} place @param {string} id @param {Choices} choices
 * @param {() => void} keep @param {AbortSignal} signal
 */
async function calibrationChoice(place, id, choices, keep, signal) {
  const none = { captures: [] };
  const { captures } = /** @type {{captures: import("./types.js").Capture[]}} */ (await get("captures", signal).catch(() => none));
  const others = captures.filter((capture) => capture.id !== id && !errorOf(capture));
  const field = (/** @type {string} */ name, /** @type {string} */ words) => {
    const change = () => {
      if (select.value) choices.options[name] = select.value;
      else delete choices.options[name];
      keep();
    };
    const now = choices.options[name];
    const select = h("select", { on: { change } }, h("option", { set: { value: "" } }, "none"),
      others.map((capture) => h("option", { set: { value: capture.id, selected: now === capture.id } }, capture.name)));
    return h("label", { class: "field" }, words, select);
  };
  fill(place, field("--dark", "Dark"), field("--flat", "Flat"));
}
