// What is tuned of a result: its options with steps back, and variants that were kept.
import { Steps } from "./history.js";

/** @typedef {import("./types.js").Chosen} Chosen */
/** @typedef {import("./types.js").Option} Option */
/** @typedef {{name: string, options: Chosen}} Variant */

/** A linear stack stands beside it, and its size is known. @param {import("./types.js").Result} result */
export const canBeTuned = (result) => result.linear && result.width > 0;

/** Options of the recipe that are not as proposed. @param {Record<string, any>} recipe @param {Option[]} options @returns {Chosen} */
export function chosenIn(recipe, options) {
  const kept = recipe.options ?? recipe;
  /** @type {Chosen} */
  const out = {};
  for (const { name, default: usual, kind } of options) {
    const value = kept[name.replace(/^-+/, "").replaceAll("-", "_")];
    if (value === undefined || value === null || value === "" || value === false || String(value) === String(usual)) continue;
    if (kind === "number" && (Number(value) === Number(usual ?? 0))) continue;
    out[name] = value;
  }
  return out;
}

const prefix = "lull.tune.";

export class TuneState {
  /** @param {string} result id @param {Chosen} first where nothing was kept */
  constructor(result, first) {
    this.key = prefix + result;
    /** @type {{options: Chosen, variants: Variant[]}} */
    let kept = { options: first, variants: [] };
    try {
      const found = JSON.parse(localStorage.getItem(this.key) ?? "null");
      if (found && typeof found.options === "object" && Array.isArray(found.variants)) kept = found;
    } catch { /* what was kept cannot be read: begin anew */ }
    this.steps = new Steps(kept.options);
    this.variants = kept.variants;
  }

  keep() {
    try {
      localStorage.setItem(this.key, JSON.stringify({ options: this.steps.now, variants: this.variants }));
    } catch { /* the browser keeps nothing more: it lasts as long as the page */ }
  }
}
