// What one tunes: detail as a curve, light, colour, and whatever else the table of options holds.
import { choice, h } from "./dom.js";
import { detailChart } from "./detail_chart.js";
import { fewGains, gainsOf, measuredGains, textOf } from "./gains.js";
import { optionField } from "./option_field.js";
import { slideField } from "./slide_field.js";

/** @typedef {import("./types.js").Option} Option */
/** @typedef {import("./types.js").Chosen} Chosen */
/** @typedef {import("./option_field.js").Value} Value */

const elsewhere = new Set(["--recipe", "--output", "-o", "--share", "--caption", "--scale-bar", "--report", "--overwrite", "--threads", "--json", "--quiet", "--memory"]);
const ofColour = new Set(["--white-balance", "--saturation"]);

/** @param {Option} option @param {Record<string, any>} figures */
function slideRange(option, figures) {
  const given = Number(option.default);
  switch (option.name) {
    case "--black": return { low: 0, high: 0.5, proposed: figures.black ?? 0, root: true };
    case "--white": return { low: 0.001, high: 1.5, proposed: figures.white ?? 1, root: true };
    case "--saturation": return { low: 0, high: 3, proposed: 1 };
    case "--blur": return { low: 0.3, high: 20, proposed: 0.3, root: true, title: "Blur to undo, px" };
    default: return option.kind === "number" && option.low !== null && option.high !== null && option.high - option.low <= 1000
      ? { low: option.low, high: option.high, proposed: Number.isFinite(given) ? given : option.low } : null;
  }
}

/**
 * @param {{options: Option[], result: import("./types.js").Result, frc: import("./types.js").Frc | null,
 *          changed: (name: string, value: Value, settled: boolean) => void, pickSpot: (() => void) | null}} given
 */
export function tunePanel({ options, result, frc, changed, pickSpot }) {
  const { figures } = result;
  const measured = measuredGains(figures.detail_gains);
  /** @type {Map<string, import("./option_field.js").Field>} */
  const fields = new Map();
  for (const option of options) {
    if (elsewhere.has(option.name) || option.name === "--detail" || (result.channels === 1 && ofColour.has(option.name))) continue;
    const range = slideRange(option, figures);
    fields.set(option.name, range ? slideField(option, range, (value, settled) => changed(option.name, value, settled))
      : optionField(option, (value) => changed(option.name, value, true)));
  }
  const chart = detailChart({ frc, measured, changed: (gains, settled) => changed("--detail", textOf(gains), settled) });
  const blur = fields.get("--blur");
  const mode = choice("Detail", [["auto", "As proposed"], ["hand", "By hand"], ["blur", "A blur"], ["none", "None"]], "auto", (to) => {
    if (to !== "blur") changed("--blur", undefined, false);
    changed("--detail", to === "hand" ? textOf(fewGains(measured)) : to === "none" ? "none" : undefined, to !== "blur");
    if (to === "blur") changed("--blur", 2, true);
  });
  const hint = h("p", { class: "small soft" }, "Drag a point; double-click to add or remove one. Keys: arrows, Insert, Delete. The filled area is where the half stacks agree.");
  const heads = new Map(options.map((option) => [option.heading, option]));
  const groups = [...heads.keys()].map((heading) => {
    const of = options.filter((option) => option.heading === heading && fields.has(option.name) && option.name !== "--blur").map((option) => fields.get(option.name)?.element);
    const isDetail = options.some((option) => option.heading === heading && option.name === "--detail");
    if (of.length === 0 && !isDetail) return null;
    const spot = options.some((option) => option.heading === heading && option.name === "--white-balance") && pickSpot && result.channels === 3
      && h("div", { class: "row" }, h("button", { on: { click: pickSpot }, set: { type: "button" } }, "White is at a spot I pick"));
    return h("section", { class: "note" }, h("h2", {}, heading), isDetail && [mode.element, chart.element, hint, blur?.element], of, spot);
  });
  return {
    elements: groups,
    fields,
    /** @param {Chosen} chosen */
    set(chosen) {
      for (const [name, field] of fields) field.set(/** @type {Value} */ (chosen[name]));
      const detail = chosen["--detail"];
      const gains = detail === undefined || detail === "none" || detail === "auto" ? null : gainsOf(detail);
      const now = chosen["--blur"] !== undefined ? "blur" : gains ? "hand" : detail === "none" ? "none" : "auto";
      mode.show(now);
      chart.set(gains);
      hint.hidden = now !== "hand";
      if (blur) blur.element.hidden = now !== "blur";
    },
    end: () => chart.end(),
  };
}
