// Variants side by side: each on a stage of its own that looks at the same place.
import { button, fill, h } from "./dom.js";
import { Stage } from "./stage.js";
import { TunedView } from "./tuned_view.js";

/** @typedef {import("./tune_state.js").Variant} Variant */

const most = 3;

/**
 * @param {import("./types.js").Result} result @param {import("./gaze.js").Gaze} gaze
 * @param {{variants: Variant[], keep: () => void}} state
 * @param {{options: () => import("./types.js").Chosen, take: (options: import("./types.js").Chosen) => void, changed: () => void}} hands
 */
export function variantRow(result, gaze, state, hands) {
  const list = h("ul", { class: "variants", set: { "aria-label": "Variants" } });
  const figures = h("div", { class: "stages named", set: { hidden: true } });
  /** @type {{view: TunedView, stage: Stage}[]} */
  let open = [];
  let beside = false;

  function add() {
    const used = new Set(state.variants.map(({ name }) => name));
    const name = [..."ABCDEFGHIJKLMNOPQRSTUVWXYZ"].find((letter) => !used.has(letter));
    if (!name) return;
    state.variants.push({ name, options: { ...hands.options() } });
    state.variants.sort((a, b) => a.name.localeCompare(b.name));
    write();
  }
  /** @param {Variant} variant */
  function drop(variant) {
    state.variants.splice(state.variants.indexOf(variant), 1);
    write();
  }
  function close() {
    for (const { view, stage } of open) { view.end(); stage.end(); }
    open = [];
  }
  function show() {
    close();
    figures.hidden = !beside || state.variants.length === 0;
    if (figures.hidden) { fill(figures); return; }
    fill(figures, state.variants.slice(-most).map(({ name, options }) => {
      const stage = new Stage(gaze, `Variant ${name}`);
      stage.width = result.width;
      stage.height = result.height;
      const caption = h("figcaption", { class: "small" }, `Variant ${name}`);
      const view = new TunedView(result.id, result, "finished", () => stage, { done: () => {}, trouble: (words) => { caption.textContent = words; } });
      stage.layers = view.layers;
      stage.onseen = view.closer;
      open.push({ view, stage });
      requestAnimationFrame(() => view.show(options));
      return h("figure", {}, stage.element, caption);
    }));
  }
  function write() {
    state.keep();
    fill(list, state.variants.map((variant) => h("li", { class: "pair" },
      button(variant.name, () => hands.take(variant.options), { set: { "aria-label": `Take variant ${variant.name}` } }),
      button("×", () => drop(variant), { set: { "aria-label": `Drop variant ${variant.name}` } }))));
    besideButton.disabled = state.variants.length === 0;
    show();
    hands.changed();
  }
  const besideButton = button("Side by side", () => { beside = !beside; besideButton.setAttribute("aria-pressed", String(beside)); show(); }, { set: { "aria-pressed": "false" } });
  const element = h("div", { class: "row" }, button("Keep as a variant", add), list, besideButton);
  return { element, figures, add, write, repaint: () => open.forEach(({ view }) => view.repaint()), end: close };
}
