// Variants side by side: each on a stage of its own that looks at the same place.
import { button, fill, h } from "./dom.js";
import { Pose } from "./pose.js";
import { Stage } from "./stage.js";
import { TunedView } from "./tuned_view.js";

/** @typedef {import("./tune_state.js").Variant} Variant */
/** @typedef {import("./types.js").Chosen} Chosen */
/** @typedef {{options: () => Chosen, take: (options: Chosen) => void, changed: () => void}} Hands */

const mostBeside = 3;
const letters = [..."ABCDEFGHIJKLMNOPQRSTUVWXYZ"];

export class VariantRow {
  /** @type {{view: TunedView, stage: Stage}[]} */ #open = [];
  #beside = false;

  /**
   * @param {import("./types.js").Result} result @param {import("./gaze.js").Gaze} gaze
   * @param {import("./tune_state.js").TuneState} state @param {Hands} hands
   */
  constructor(result, gaze, state, hands) {
    this.result = result;
    this.gaze = gaze;
    this.state = state;
    this.hands = hands;
    this.list = h("ul", { class: "variants", set: { "aria-label": "Variants" } });
    this.figures = h("div", { class: "stages named", set: { hidden: true } });
    this.besideButton = button("Side by side", () => this.#flip(), { set: { "aria-pressed": "false" } });
    this.element = h("div", { class: "row" }, button("Keep as a variant", () => this.add()), this.list, this.besideButton);
  }

  add() {
    const { variants } = this.state;
    const name = letters.find((letter) => !variants.some((variant) => variant.name === letter));
    if (!name) return;
    variants.push({ name, options: { ...this.hands.options() } });
    variants.sort((a, b) => a.name.localeCompare(b.name));
    this.write();
  }

  /** @param {Variant} variant */
  #drop(variant) {
    this.state.variants.splice(this.state.variants.indexOf(variant), 1);
    this.write();
  }

  #flip() {
    this.#beside = !this.#beside;
    this.besideButton.setAttribute("aria-pressed", String(this.#beside));
    this.#show();
  }

  write() {
    const { variants } = this.state;
    this.state.keep();
    fill(this.list, variants.map((variant) => h("li", { class: "pair" },
      button(variant.name, () => this.hands.take(variant.options), { set: { "aria-label": `Take variant ${variant.name}` } }),
      button("×", () => this.#drop(variant), { set: { "aria-label": `Drop variant ${variant.name}` } }))));
    this.besideButton.disabled = variants.length === 0;
    this.#show();
    this.hands.changed();
  }

  #show() {
    this.end();
    const shown = this.#beside ? this.state.variants.slice(-mostBeside) : [];
    this.figures.hidden = shown.length === 0;
    fill(this.figures, shown.map((variant) => this.#figure(variant)));
  }

  /** @param {Variant} variant */
  #figure({ name, options }) {
    const stage = new Stage(this.gaze, `Variant ${name}`);
    Object.assign(stage, { width: this.result.width, height: this.result.height, pose: new Pose(options) });
    const caption = h("figcaption", { class: "small" }, `Variant ${name}`);
    const hands = { done: () => {}, trouble: (/** @type {string} */ words) => { caption.textContent = words; } };
    const view = new TunedView(this.result.id, this.result, "finished", () => stage, hands);
    stage.layers = view.layers;
    stage.onseen = view.closer;
    this.#open.push({ view, stage });
    requestAnimationFrame(() => view.show(options));  // the stage has its size then
    return h("figure", {}, stage.element, caption);
  }

  repaint() { for (const { view } of this.#open) view.repaint(); }

  end() {
    for (const { view, stage } of this.#open.splice(0)) { view.end(); stage.end(); }
  }
}
