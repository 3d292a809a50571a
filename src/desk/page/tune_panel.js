// What one tunes: detail as a curve, light, colour, and whatever else the table of options holds.
import { DetailChart } from "./detail_chart.js";
import { button, choice, h } from "./dom.js";
import { fewGains, gainsOf, measuredGains, textOf } from "./gains.js";
import { offsetsField } from "./offsets_field.js";
import { optionField } from "./option_field.js";
import { slideField } from "./slide_field.js";

/** @typedef {import("./types.js").Option} Option */
/** @typedef {import("./types.js").Chosen} Chosen */
/** @typedef {import("./types.js").Result} Result */
/** @typedef {import("./option_field.js").Value} Value */
/** @typedef {import("./option_field.js").Field} Field */
/** @typedef {{changed: (name: string, value: Value, settled: boolean) => void, pickSpot: () => void, quarter: () => void}} Hands */

/** What an export asks for, or no finish of a picture needs. */
const elsewhere = new Set([
  "--recipe", "--output", "-o", "--share", "--caption", "--scale-bar", "--report", "--overwrite", "--threads", "--json", "--quiet", "--memory",
]);
const ofColour = new Set(["--white-balance", "--saturation", "--channel-offsets"]);
/** What few pictures need stands last under its heading. */
const rare = new Set(["--flatten-limb"]);
const blurAtFirst_px = 2;
const hintWords = "Drag a point; double-click to add or remove one. Keys: arrows, Insert, Delete. The filled area is where the half stacks agree.";

/** Where an option is a number that one slides. @param {Option} option @param {Record<string, any>} figures */
function slideRange(option, figures) {
  switch (option.name) {
    case "--black": return { low: 0, high: 0.5, proposed: figures.black ?? 0, root: true };
    case "--white": return { low: 0.001, high: 1.5, proposed: figures.white ?? 1, root: true };
    case "--rotate": return { low: -180, high: 180, proposed: 0, step: 0.5, title: "Rotate, degrees" };
    case "--saturation": return { low: 0, high: 3, proposed: 1 };
    case "--blur": return { low: 0.3, high: 20, proposed: 0.3, root: true, title: "Blur to undo, px" };
    default: break;
  }
  const { kind, low, high } = option;
  if (kind !== "number" || low === null || high === null || high - low > 1000) return null;
  const usual = Number(option.default);
  return { low, high, proposed: Number.isFinite(usual) ? usual : low };
}

export class TunePanel {
  /** @type {Map<string, Field>} */ fields = new Map();

  /** @param {Option[]} options @param {Result} result @param {import("./types.js").Frc | null} frc @param {Hands} hands */
  constructor(options, result, frc, hands) {
    this.hands = hands;
    this.measured = measuredGains(result.figures.detail_gains);
    const here = options.filter(({ name }) => name.startsWith("--") && !elsewhere.has(name) && !(result.channels === 1 && ofColour.has(name)));
    for (const option of here) if (option.name !== "--detail") this.fields.set(option.name, this.#field(option, result.figures));
    this.chart = new DetailChart(frc, this.measured, (gains, settled) => hands.changed("--detail", textOf(gains), settled));
    this.mode = choice("Detail", [["auto", "As proposed"], ["hand", "By hand"], ["blur", "A blur"], ["none", "None"]], "auto", (to) => this.#setMode(to));
    this.hint = h("p", { class: "small soft" }, hintWords);
    const headings = [...new Set(here.map(({ heading }) => heading))];
    this.elements = headings.map((heading) => this.#group(heading, here.filter((option) => option.heading === heading)));
  }

  /** @param {Option} option @param {Record<string, any>} figures */
  #field(option, figures) {
    const range = slideRange(option, figures);
    const { changed } = this.hands;
    if (option.name === "--channel-offsets") return offsetsField(option, (value) => changed(option.name, value, true));
    return range ? slideField(option, range, (value, settled) => changed(option.name, value, settled))
      : optionField(option, (value) => changed(option.name, value, true));
  }

  /** @param {string} heading @param {Option[]} options */
  #group(heading, options) {
    const names = options.map(({ name }) => name).sort((a, b) => Number(rare.has(a)) - Number(rare.has(b)));
    const fields = names.filter((name) => name !== "--blur").map((name) => this.fields.get(name)?.element);
    const detail = names.includes("--detail") && [this.mode.element, this.chart.element, this.hint, this.fields.get("--blur")?.element];
    const spot = names.includes("--white-balance") && h("div", { class: "row" }, button("White is at a spot I pick", this.hands.pickSpot));
    const quarter = names.includes("--rotate") && h("div", { class: "row" }, button("A quarter turn", this.hands.quarter));
    return h("section", { class: "note" }, h("h2", {}, heading), detail, fields, spot, quarter);
  }

  /** @param {"auto" | "hand" | "blur" | "none"} to */
  #setMode(to) {
    const { changed } = this.hands;
    if (to !== "blur") changed("--blur", undefined, false);
    changed("--detail", to === "hand" ? textOf(fewGains(this.measured)) : to === "none" ? "none" : undefined, to !== "blur");
    if (to === "blur") changed("--blur", blurAtFirst_px, true);
  }

  /** @param {Chosen} chosen */
  set(chosen) {
    for (const [name, field] of this.fields) field.set(/** @type {Value} */ (chosen[name]));
    const detail = chosen["--detail"];
    const gains = detail === undefined || detail === "none" || detail === "auto" ? null : gainsOf(detail);
    const now = chosen["--blur"] !== undefined ? "blur" : gains ? "hand" : detail === "none" ? "none" : "auto";
    this.mode.show(now);
    this.chart.set(gains);
    this.hint.hidden = now !== "hand";
    const blur = this.fields.get("--blur");
    if (blur) blur.element.hidden = now !== "blur";
  }

  clearTroubles() { for (const field of this.fields.values()) field.trouble(""); }

  end() { this.chart.end(); }
}
