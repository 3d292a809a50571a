// One capture: looking at its frames and choosing what goes into the stack.
import { ApiError, get, post } from "./api.js";
import { errorOf, factsOf } from "./card.js";
import { cropTool } from "./crop.js";
import { button, fill, h } from "./dom.js";
import { on } from "./events.js";
import { findings } from "./findings.js";
import { setKeys } from "./keys.js";
import { leaveOut } from "./leave_out.js";
import { looker, rankingWords } from "./looker.js";
import { address, go } from "./route.js";
import { choicesOf, keepChoices } from "./state.js";
import { sunCaution, sunWords } from "./sun.js";
import { tonePanel } from "./tone_panel.js";
import { day } from "./words.js";
import { zoomKey } from "./zoom_buttons.js";

/** @typedef {import("./types.js").Survey} Survey */
/** @typedef {import("./types.js").CaptureDetails} CaptureDetails */

/** @type {import("./route.js").View} */
export async function openCapture(place, [id], signal) {
  const path = `captures/${encodeURIComponent(id)}`;
  const capture = /** @type {CaptureDetails} */ (await get(path, signal));
  await sunCaution(capture.sun, signal);
  const opened = { title: capture.name, capture: capture.id, result: capture.results[0]?.id };
  if (errorOf(capture) || !capture.width || !capture.height || !capture.frames) {
    fill(place, h("h1", {}, capture.name), unreadable(capture));
    return { ...opened, close: on("captures", () => { if (!errorOf(capture)) window.dispatchEvent(new Event("hashchange")); }) };
  }
  const choices = choicesOf(id);
  const keep = () => keepChoices(id, choices);

  const tones = tonePanel(() => look.repaint());
  const look = looker(capture, {
    isOut: (frame) => out.has(frame), stretch: (from, to) => out.choose(from, to), level: (level) => out.drawLine(level),
    tone: tones.tone, shown: (view) => { if (view.whole) tones.show(view.whole); out.write(); },
  });
  /** @type {Survey | null} */
  let survey = null;
  const out = leaveOut(choices.out, {
    frames: capture.frames, frame: look.frame, sharpness: () => survey?.sharpness ?? [],
    showStretch: (stretch) => { look.scrubber.stretch = stretch; look.scrubber.redraw(); },
    showLevel: (level) => { look.scrubber.level = level; look.scrubber.redraw(); },
    changed: () => { choices.out = out.list(); keep(); look.changed(); },
  });
  const crop = cropTool(capture.width, capture.height, choices.crop, (to) => { choices.crop = to; keep(); look.view.stage.redraw(); });
  look.view.stage.drawings.push(crop.drawing);
  const found = h("div", {}, findings(capture, null));
  const progress = h("p", { class: "small soft", set: { role: "status" } });
  const calibration = h("div");
  fill(place, sheet(capture, look, { found, progress, leave: out.element, crop: cropPanel(crop, look), light: tones.element, calibration }));

  const ranking = surveyOf(path, id, signal, {
    share: (share) => { progress.textContent = share === null ? "" : rankingWords(share); },
    trouble: (words) => { progress.textContent = words; },
    found: (now) => { survey = now; fill(found, findings(capture, now)); look.ranked(now); out.write(); },
  });
  calibrationChoice(calibration, id, choices, keep, signal);
  look.begin();
  ranking.start(capture);
  setKeys([
    { keys: ["ArrowRight", "."], words: "The next frame", act: () => look.step(1) },
    { keys: ["ArrowLeft", ","], words: "The frame before", act: () => look.step(-1) },
    { keys: [" "], words: "Play, stop", act: look.toggle },
    { keys: ["s"], words: "In time, or sharpest first", act: look.flip.order },
    { keys: ["b"], words: "Beside the best", act: () => look.flip.beside() },
    { keys: ["r"], words: "How sharp each region is", act: look.flip.dots },
    { keys: ["o"], words: "Leave this frame out, or take it again", act: out.toggle },
    { keys: ["["], words: "A stretch begins here", act: out.begin },
    { keys: ["]"], words: "The stretch ends here", act: out.end },
    { keys: ["z"], words: "Undo what was left out", act: out.undo },
    zoomKey(look.view.stage),
    { keys: ["Enter"], words: "Stack this capture", act: () => go(address("stack", id)) },
  ]);
  return { ...opened, close: () => { ranking.end(); look.end(); tones.end(); } };
}

/**
 * @param {CaptureDetails} capture
 * @param {ReturnType<typeof looker>} look
 * @param {Record<"found" | "progress" | "leave" | "crop" | "light" | "calibration", HTMLElement>} panels
 */
function sheet(capture, look, panels) {
  const note = (/** @type {string} */ title, /** @type {HTMLElement} */ what) => h("section", { class: "note" }, h("h2", {}, title), what);
  return h("div", { class: "sheet" },
    h("div", { class: "seen" }, h("div", { class: "row apart" }, h("h1", {}, capture.name), h("a", { class: "button main", set: { href: address("stack", capture.id) } }, "Stack this capture")),
      look.elements.stages, look.elements.line, look.elements.curve, panels.progress, look.elements.tools),
    h("aside", { class: "notes", set: { "aria-label": "About this capture" } },
      capture.sun === "named" ? h("p", { class: "caution small" }, sunWords()) : "",
      note("This capture", h("p", { class: "small" }, [factsOf(capture), capture.bits ? `, ${capture.bits} bit` : "", ". ", day(capture.begun_utc ?? capture.modified)])),
      note("What was found", panels.found), note("Frames left out", panels.leave), note("Crop", panels.crop), note("Light", panels.light),
      note("Dark and flat", panels.calibration)));
}

/** @param {ReturnType<typeof cropTool>} crop @param {ReturnType<typeof looker>} look */
function cropPanel(crop, look) {
  const draw = button("Draw the crop", () => {
    const stage = look.view.stage;
    stage.tool = stage.tool ? null : crop.tool;
    stage.element.classList.toggle("drawing", stage.tool !== null);
    draw.setAttribute("aria-pressed", String(stage.tool !== null));
  }, { set: { "aria-pressed": "false" } });
  return h("div", {}, h("p", { class: "small soft" }, "Only this area goes into the stack. Drag over the picture, drag its edges, or type."),
    h("div", { class: "row" }, draw, button("No crop", () => crop.set(null))), crop.element);
}

/** @param {CaptureDetails} capture */
const unreadable = (capture) => (errorOf(capture)
  ? h("div", { class: "caution" }, h("b", {}, errorOf(capture)), typeof capture.error === "object" && capture.error?.do ? h("p", {}, capture.error.do) : h("p", {}, "Was the file copied whole? Is it still being recorded?"))
  : h("p", {}, "This file is still being opened. The page goes on by itself."));

/** Sharpness has no unit: here the best frame is 1. @param {Survey} survey @returns {Survey} */
function ofTheBest(survey) {
  const best = survey.sharpness.reduce((/** @type {number} */ most, value) => Math.max(most, value ?? 0), 0) || 1;
  return { ...survey, sharpness: survey.sharpness.map((value) => (value === null ? null : value / best)) };
}

/**
 * Asks for the survey, starts it where there is none, and follows it.
 * @param {string} path @param {string} id @param {AbortSignal} signal
 * @param {{share: (share: number | null) => void, trouble: (words: string) => void, found: (survey: Survey) => void}} hands
 */
function surveyOf(path, id, signal, hands) {
  const load = async () => {
    const survey = ofTheBest(/** @type {Survey} */ (await get(`${path}/survey`, signal)));
    hands.found(survey);
    return survey;
  };
  const words = (/** @type {unknown} */ error) => { if (!signal.aborted) hands.trouble(error instanceof ApiError ? `${error.trouble.what} ${error.trouble.do ?? ""}` : String(error)); };
  let ready = false;
  const heard = async (/** @type {{capture: string, share: number, state: string}} */ event) => {
    if (event.capture !== id) return;
    hands.share(event.state === "running" || event.state === "waiting" ? event.share : null);
    if (event.state === "failed") hands.trouble("The frames could not be ranked: the queue says why.");
    if (event.state === "done") await load().catch(words);
  };
  const begin = async () => {
    const job = /** @type {import("./types.js").Job} */ (await post(`${path}/survey`, {}));
    hands.share(job.state === "done" ? null : job.share);
    if (job.state === "done") await load();
  };
  const ends = [on("survey", heard), on("open", () => { if (ready) begin().catch(words); })];
  return {
    /** @param {CaptureDetails} capture */
    async start(capture) {
      if (capture.surveyed) await load().catch(words);
      else if (capture.growing) hands.trouble("This capture is being recorded: its frames are ranked when it has ended.");
      else await begin().catch(words);
      ready = !capture.growing;
    },
    end: () => ends.forEach((end) => end()),
  };
}

/**
 * @param {HTMLElement} place @param {string} id @param {import("./state.js").Choices} choices
 * @param {() => void} keep @param {AbortSignal} signal
 */
async function calibrationChoice(place, id, choices, keep, signal) {
  const { captures } = /** @type {{captures: import("./types.js").Capture[]}} */ (await get("captures", signal).catch(() => ({ captures: [] })));
  const others = captures.filter((capture) => capture.id !== id && !errorOf(capture));
  fill(place, [["--dark", "Dark"], ["--flat", "Flat"]].map(([name, words]) => {
    const select = h("select", { on: { change: () => { if (select.value) choices.options[name] = select.value; else delete choices.options[name]; keep(); } } },
      h("option", { set: { value: "" } }, "none"), others.map((capture) => h("option", { set: { value: capture.id, selected: choices.options[name] === capture.id } }, capture.name)));
    return h("label", { class: "field" }, words, select);
  }));
}
