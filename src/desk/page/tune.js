// Tuning a result: best frame, linear stack and finished picture, and all that changes the last.
import { get } from "./api.js";
import { announce } from "./announce.js";
import { button, fill, h, onceAFrame } from "./dom.js";
import { divider } from "./divider.js";
import { Gaze } from "./gaze.js";
import { setKeys } from "./keys.js";
import { onLight } from "./light.js";
import { address, go } from "./route.js";
import { spotTool } from "./spot.js";
import { Stage } from "./stage.js";
import { tunePanel } from "./tune_panel.js";
import { chosenIn, tuneState } from "./tune_state.js";
import { TunedView } from "./tuned_view.js";
import { variantRow } from "./variants.js";
import { number } from "./words.js";
import { zoomButtons, zoomKey } from "./zoom_buttons.js";

/** @typedef {import("./types.js").Result} Result */
/** @typedef {import("./types.js").Option} Option */
/** @typedef {import("./types.js").Chosen} Chosen */

/** @type {import("./route.js").View} */
export async function openTune(place, [id], signal) {
  const path = `results/${encodeURIComponent(id)}`;
  const [found, table] = await Promise.all([get(path, signal), get("options?verb=finish", signal)]);
  const result = /** @type {Result} */ (found);
  const options = /** @type {{options: Option[]}} */ (table).options;
  const opened = { title: `Tune ${result.name}`, capture: result.captures?.[0], result: id };
  if (!result.linear) {
    fill(place, h("h1", {}, result.name), h("p", {}, "This result has no linear stack beside it, so it cannot be tuned. Stack the capture again, or choose another result."),
      h("div", { class: "row" }, h("a", { class: "button", set: { href: address("export", id) } }, "Its files")));
    return opened;
  }
  const frc = /** @type {import("./types.js").Frc | null} */ (await get(`${path}/frc`, signal).catch(() => null));
  const state = tuneState(id, chosenIn(result.recipe, options));
  const { steps } = state;
  let now = steps.now;

  const gaze = new Gaze();
  const stage = new Stage(gaze, "The finished picture");
  stage.size(result.width, result.height);
  const warnings = h("div", { class: "warnings", set: { role: "status" } });
  const took = h("span", { class: "small soft digits" });
  const hands = { done: told, trouble: (/** @type {string} */ words) => refused(words) };
  const finished = new TunedView(id, result, "finished", () => stage, hands);
  const quiet = { done: () => {}, trouble: () => {} };
  const linear = new TunedView(id, result, "linear", () => stage, quiet);
  const best = new TunedView(id, result, "best", () => stage, quiet);
  const variant = new TunedView(id, result, "finished", () => stage, quiet);
  stage.layers = finished.layers;
  stage.onseen = () => { finished.closer(); left.view?.closer(); };

  /** what is left of the divider @type {{view: TunedView | null, name: string}} */
  let left = { view: null, name: "" };
  const line = divider(stage, () => [left.name, "Finished"]);
  const compare = h("select", { set: { "aria-label": "Left of the divider" }, on: { change: () => setLeft(compare.value) } });
  function setLeft(/** @type {string} */ to) {
    const kept = state.variants.find(({ name }) => to === `variant ${name}`);
    left = to === "best" ? { view: best, name: "Best frame" } : to === "linear" ? { view: linear, name: "Linear stack" } : kept ? { view: variant, name: `Variant ${kept.name}` } : { view: null, name: "" };
    stage.over = left.view?.layers ?? [];
    left.view?.show(kept?.options ?? {});
    compare.value = left.view ? to : "nothing";
    line.show(left.view !== null);
  }

  const preview = onceAFrame(() => finished.show(now));
  function told(/** @type {string[]} */ list, /** @type {number} */ took_ms) {
    took.textContent = `${Math.round(took_ms)} ms`;
    for (const field of panel.fields.values()) field.trouble("");
    fill(warnings, list.map((words) => h("p", {}, words)));
  }
  function refused(/** @type {string} */ words) {
    const name = /--[a-z][a-z-]+/.exec(words)?.[0];
    const field = name && panel.fields.get(name);
    if (field) field.trouble(words);
    else fill(warnings, h("p", {}, words));
    announce(words);
  }
  /** @param {Chosen} to @param {boolean} settled */
  function set(to, settled) {
    now = to;
    if (settled) { steps.add(to); state.keep(); }
    write();
    preview();
  }
  function write() {
    panel.set(now);
    undo.disabled = !steps.canUndo;
    redo.disabled = !steps.canRedo;
    const linearTone = (now["--tone"] ?? "linear") === "linear";
    fill(toneHint, linearTone && "The file stays in proportion to light, and looks dark in other programs. For screens choose gamma below 'Brightness', or the copy to share in 'Export'.");
  }
  const back = (/** @type {"undo" | "redo"} */ way) => { steps[way](); state.keep(); now = steps.now; write(); preview(); announce(way === "undo" ? "Taken back." : "Done again."); };
  const undo = button("Undo", () => back("undo"));
  const redo = button("Redo", () => back("redo"));
  const reset = () => { set({}, true); announce("All as proposed."); };
  const toneHint = h("p", { class: "small soft" });
  const spot = spotTool(stage, linear, (factors) => set({ ...now, "--white-balance": factors }, true));
  const panel = tunePanel({ options, result, frc, pickSpot: spot.pick, changed: (name, value, settled) => {
    const to = { ...now };
    if (value === undefined) delete to[name];
    else to[name] = value;
    set(to, settled);
  } });
  const variants = variantRow(result, gaze, state, { options: () => now, take: (to) => set({ ...to }, true), changed: showCompare });
  function showCompare() {
    const before = compare.value;
    fill(compare, h("option", { set: { value: "nothing" } }, "nothing"), h("option", { set: { value: "best" } }, "the best frame"), h("option", { set: { value: "linear" } }, "the linear stack"),
      state.variants.map(({ name }) => h("option", { set: { value: `variant ${name}` } }, `variant ${name}`)));
    if ([...compare.options].some((option) => option.value === before)) compare.value = before;
    else setLeft("nothing");
  }

  fill(place, h("div", { class: "sheet" },
    h("div", { class: "seen" }, h("div", { class: "row apart" }, h("h1", {}, result.name), h("a", { class: "button main", set: { href: address("export", id) } }, "Export")),
      h("div", { class: "tuned" }, stage.element, warnings), variants.figures,
      h("div", { class: "row" }, h("label", { class: "small" }, "Left of the divider: ", compare), zoomButtons(stage), undo, redo, button("All as proposed", reset), took),
      variants.element, toneHint, figuresLine(result, frc)),
    h("aside", { class: "notes", set: { "aria-label": "What is tuned" } }, panel.elements)));
  variants.write();
  write();
  setLeft("linear");
  requestAnimationFrame(() => finished.show(now));
  setKeys([
    { keys: ["z"], words: "Undo", act: () => steps.canUndo && back("undo") },
    { keys: ["y"], words: "Redo", act: () => steps.canRedo && back("redo") },
    { keys: ["b"], words: "Left of the divider: the best frame", act: () => setLeft("best") },
    { keys: ["l"], words: "Left of the divider: the linear stack", act: () => setLeft("linear") },
    { keys: ["f"], words: "The finished picture alone", act: () => setLeft("nothing") },
    { keys: ["v"], words: "Keep as a variant", act: variants.add },
    zoomKey(stage),
    { keys: ["e"], words: "Export", act: () => go(address("export", id)) },
  ]);
  const endLight = onLight(() => { [finished, linear, best, variant].forEach((view) => view.repaint()); variants.repaint(); });
  return { ...opened, close: () => { endLight(); variants.end(); panel.end(); [finished, linear, best, variant].forEach((view) => view.end()); stage.end(); } };
}

/** @param {Result} result @param {import("./types.js").Frc | null} frc */
function figuresLine(result, frc) {
  const resolution = frc?.resolution_px;
  if (!resolution) return null;
  const arcsec = frc.arcsec_per_px;
  return h("p", { class: "small soft" }, `${result.width} × ${result.height} px. The half stacks agree down to periods of ${number(resolution)} px`, arcsec ? `, ${number(resolution * arcsec)} arcsec` : "", ".");
}
