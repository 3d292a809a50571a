// Tuning a result: best frame, linear stack and finished picture, and all that changes the last.
import { get } from "./api.js";
import { announce } from "./announce.js";
import { Divider } from "./divider.js";
import { button, fill, h, onceAFrame } from "./dom.js";
import { Gaze } from "./gaze.js";
import { setKeys } from "./keys.js";
import { onLight } from "./light.js";
import { NoiseMarks } from "./noise_marks.js";
import { Pose } from "./pose.js";
import { address, go } from "./route.js";
import { SpotTool } from "./spot.js";
import { Stage } from "./stage.js";
import { TunePanel } from "./tune_panel.js";
import { canBeTuned, chosenIn, TuneState } from "./tune_state.js";
import { TunedView } from "./tuned_view.js";
import { VariantRow } from "./variants.js";
import { number } from "./words.js";
import { zoomButtons, zoomKey } from "./zoom_buttons.js";

/** @typedef {import("./types.js").Result} Result */
/** @typedef {import("./types.js").Option} Option */
/** @typedef {import("./types.js").Chosen} Chosen */
/** @typedef {import("./types.js").Frc} Frc */

/** @type {import("./route.js").View} */
export async function openTune(place, [id], signal) {
  const path = `results/${encodeURIComponent(id)}`;
  const [found, table] = await Promise.all([get(path, signal), get("options?verb=finish", signal)]);
  const result = /** @type {Result} */ (found);
  const opened = { title: `Tune ${result.name}`, capture: result.captures?.[0], result: id };
  if (!canBeTuned(result)) {
    fill(place, h("h1", {}, result.name),
      h("p", {}, "This result cannot be tuned: there is no linear stack beside it that can be read. Stack the capture again, or choose another result."),
      h("div", { class: "row" }, h("a", { class: "button", set: { href: address("export", id) } }, "Its files")));
    return opened;
  }
  const frc = /** @type {Frc | null} */ (await get(`${path}/frc`, signal).catch(() => null));
  const tuning = new Tuning(result, /** @type {{options: Option[]}} */ (table).options, frc);
  fill(place, tuning.element);
  setKeys(tuning.keys());
  tuning.start();
  return { ...opened, close: () => tuning.end() };
}

const patience_ms = 400;
const quiet = { done: () => {}, trouble: () => {} };
const linearWords = "The file stays in proportion to light, and looks dark in other programs. "
  + "For screens choose gamma below 'Brightness', or the copy to share in 'Export'.";

class Tuning {
  #waiting = 0;
  #warned = "";
  /** by the server, of what is shown @type {string[]} */ #told_of = [];
  /** what is left of the divider @type {{view: TunedView | null, name: string}} */ #left = { view: null, name: "" };

  /** @param {Result} result @param {Option[]} options @param {Frc | null} frc */
  constructor(result, options, frc) {
    this.result = result;
    this.frc = frc;
    this.state = new TuneState(result.id, chosenIn(result.recipe, options));
    /** what is shown: while a slider moves it is ahead of the steps @type {Chosen} */
    this.now = this.state.steps.now;
    this.gaze = new Gaze();
    this.stage = new Stage(this.gaze, "The finished picture");
    this.stage.size(result.width, result.height);
    const view = (/** @type {"finished" | "linear" | "best"} */ of, /** @type {import("./tuned_view.js").TunedHands} */ hands) =>
      new TunedView(result.id, result, of, () => this.stage, hands);
    this.finished = view("finished", { done: (warnings, took_ms) => this.#told(warnings, took_ms), trouble: (words) => this.#refused(words) });
    this.linear = view("linear", quiet);
    this.best = view("best", { ...quiet, trouble: (words) => this.#refused(words) });  // where frames were not ranked
    this.variant = view("finished", quiet);
    this.noise = new NoiseMarks(result.id, () => { this.#showWarnings(); this.stage.redraw(); });
    this.stage.marks.push(this.noise.draw);
    this.stage.layers = this.finished.layers;
    this.stage.onseen = () => { this.finished.closer(); this.#left.view?.closer(); };
    this.marksButton = button("Mark noise", () => this.flipMarks(), { set: { "aria-pressed": "true", title: "Hatch where noise is raised" } });
    this.warnings = h("div", { class: "warnings", set: { role: "status" } });
    this.making = h("p", { class: "making", set: { hidden: true } }, "The picture is being made.");
    this.took = h("span", { class: "small soft digits" });
    this.toneHint = h("p", { class: "small soft" });
    this.divider = new Divider(this.stage, () => [this.#left.name, "Finished"]);
    this.compare = h("select", { set: { "aria-label": "Left of the divider" }, on: { change: () => this.setLeft(this.compare.value) } });
    this.undo = button("Undo", () => this.back("undo"));
    this.redo = button("Redo", () => this.back("redo"));
    const spot = new SpotTool(this.stage, this.linear, (factors) => this.set({ ...this.now, "--white-balance": factors }, true));
    this.panel = new TunePanel(options, result, frc, { changed: (name, value, settled) => this.#change(name, value, settled), pickSpot: () => spot.pick(), quarter: () => this.quarter() });
    this.variants = new VariantRow(result, this.gaze, this.state, {
      options: () => this.now, take: (to) => this.set({ ...to }, true), changed: () => this.#showCompare(),
    });
    this.preview = onceAFrame(() => { this.#wait(); this.finished.show(this.now); });
    this.element = h("div", { class: "sheet" }, this.#seen(), h("aside", { class: "notes", set: { "aria-label": "What is tuned" } }, this.panel.elements));
  }

  #seen() {
    const { result, stage } = this;
    const toExport = h("a", { class: "button main", set: { href: address("export", result.id) } }, "Export");
    const all = button("All as proposed", () => { this.set({}, true); announce("All as proposed."); });
    return h("div", { class: "seen" }, h("div", { class: "row apart" }, h("h1", {}, result.name), toExport),
      h("div", { class: "tuned" }, stage.element, this.making, this.warnings), this.variants.figures,
      h("div", { class: "row" }, h("label", { class: "small" }, "Left of the divider: ", this.compare), zoomButtons(stage), this.marksButton, this.undo, this.redo, all, this.took),
      this.variants.element, this.toneHint, figuresLine(result, this.frc));
  }

  start() {
    this.variants.write();
    this.#write();
    this.setLeft("linear");
    this.preview();
    this.endLight = onLight(() => { for (const view of this.#views) view.repaint(); this.variants.repaint(); });
  }

  get #views() { return [this.finished, this.linear, this.best, this.variant]; }

  /** @param {string} to a value of the choice */
  setLeft(to) {
    const kept = this.state.variants.find(({ name }) => to === `variant ${name}`);
    if (to === "best") this.#left = { view: this.best, name: "Best frame" };
    else if (to === "linear") this.#left = { view: this.linear, name: "Linear stack" };
    else this.#left = kept ? { view: this.variant, name: `Variant ${kept.name}` } : { view: null, name: "" };
    const { view } = this.#left;
    this.stage.over = view?.layers ?? [];
    view?.show(kept?.options ?? {});
    this.compare.value = view ? to : "nothing";
    this.divider.show(view !== null);
  }

  /** Clockwise. */
  quarter() {
    const turned = Number(this.now["--rotate"] ?? 0) + 90;
    this.#change("--rotate", (turned > 180 ? turned - 360 : turned) || undefined, true);
    announce("Turned by a quarter.");
  }

  #showCompare() {
    const before = this.compare.value;
    const choices = [["nothing", "nothing"], ["best", "the best frame"], ["linear", "the linear stack"],
      ...this.state.variants.map(({ name }) => [`variant ${name}`, `variant ${name}`])];
    fill(this.compare, choices.map(([value, words]) => h("option", { set: { value } }, words)));
    if (choices.some(([value]) => value === before)) this.compare.value = before;
    else this.setLeft("nothing");
  }

  /** @param {string} name @param {import("./option_field.js").Value} value @param {boolean} settled */
  #change(name, value, settled) {
    const to = { ...this.now };
    if (value === undefined) delete to[name];
    else to[name] = value;
    this.set(to, settled);
  }

  /** @param {Chosen} to @param {boolean} settled whether it is a step of its own */
  set(to, settled) {
    this.now = to;
    if (settled) { this.state.steps.add(to); this.state.keep(); }
    this.#write();
    this.preview();
  }

  /** @param {"undo" | "redo"} way */
  back(way) {
    const { steps } = this.state;
    steps[way]();
    this.state.keep();
    this.now = steps.now;
    this.#write();
    this.preview();
    announce(way === "undo" ? "Taken back." : "Done again.");
  }

  #write() {
    const { steps } = this.state;
    this.panel.set(this.now);
    this.stage.hold(new Pose(this.now));
    this.undo.disabled = !steps.canUndo;
    this.redo.disabled = !steps.canRedo;
    this.toneHint.textContent = (this.now["--tone"] ?? "linear") === "linear" ? linearWords : "";
  }

  /** What takes longer than a moment is told of. */
  #wait() {
    clearTimeout(this.#waiting);
    this.#waiting = setTimeout(() => { this.making.hidden = false; }, patience_ms);
  }

  #made() {
    clearTimeout(this.#waiting);
    this.making.hidden = true;
  }

  /** @param {string[]} warnings @param {number} took_ms */
  #told(warnings, took_ms) {
    this.#made();
    this.took.textContent = `shown after ${Math.round(took_ms)} ms`;
    this.panel.clearTroubles();
    this.#told_of = warnings;
    this.#showWarnings();
    this.noise.soon(this.now);
  }

  #showWarnings() {
    const lines = [...this.#told_of, ...(this.noise.isShown ? this.noise.words(this.panel.chart.doubt) : [])];
    if (lines.join() === this.#warned) return;  // or it would be read out again
    this.#warned = lines.join();
    fill(this.warnings, lines.map((line) => h("p", {}, line)));
  }

  flipMarks() {
    this.noise.isShown = !this.noise.isShown;
    this.marksButton.setAttribute("aria-pressed", String(this.noise.isShown));
    this.#showWarnings();
    this.stage.redraw();
  }

  /** @param {string} words */
  #refused(words) {
    this.#made();
    const field = this.panel.fields.get(/--[a-z][a-z-]+/.exec(words)?.[0] ?? "");
    if (field) field.trouble(words);
    else { this.#warned = words; fill(this.warnings, h("p", {}, words)); }
    announce(words);
  }

  /** @returns {import("./keys.js").Key[]} */
  keys() {
    const { steps } = this.state;
    return [
      { keys: ["z"], words: "Undo", act: () => { if (steps.canUndo) this.back("undo"); } },
      { keys: ["y"], words: "Redo", act: () => { if (steps.canRedo) this.back("redo"); } },
      { keys: ["b"], words: "Left of the divider: the best frame", act: () => this.setLeft("best") },
      { keys: ["l"], words: "Left of the divider: the linear stack", act: () => this.setLeft("linear") },
      { keys: ["f"], words: "The finished picture alone", act: () => this.setLeft("nothing") },
      { keys: ["v"], words: "Keep as a variant", act: () => this.variants.add() },
      { keys: ["m"], words: "Mark where noise is raised, or not", act: () => this.flipMarks() },
      { keys: ["r"], words: "A quarter turn", act: () => this.quarter() },
      zoomKey(this.stage),
      { keys: ["e"], words: "Export", act: () => go(address("export", this.result.id)) },
    ];
  }

  end() {
    this.endLight?.();
    clearTimeout(this.#waiting);
    this.noise.end();
    this.variants.end();
    this.panel.end();
    for (const view of this.#views) view.end();
    this.stage.end();
  }
}

/** @param {Result} result @param {Frc | null} frc */
function figuresLine(result, frc) {
  if (!frc?.resolution_px) return null;
  const arcsec = frc.arcsec_per_px ? `, ${number(frc.resolution_px * frc.arcsec_per_px)} arcsec` : "";
  const agreed = `The half stacks agree down to periods of ${number(frc.resolution_px)} px${arcsec}.`;
  return h("p", { class: "small soft" }, `${result.width} × ${result.height} px. ${agreed}`);
}
