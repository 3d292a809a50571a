// Results that belong to none of the captures of the folder: mosaics and merged pictures of stacks
// from elsewhere.
import { get } from "./api.js";
import { h, refill } from "./dom.js";
import { address } from "./route.js";
import { counted, day } from "./words.js";

/** @typedef {import("./types.js").ResultEntry} ResultEntry */
/** @typedef {import("./types.js").Capture} Capture */

/** @param {ResultEntry} result */
const rowOf = ({ id, name, verb, modified }) => h("li", {}, h("a", { set: { href: address("view", id) } }, name), " ",
  h("span", { class: "soft small" }, [verb, day(modified)].filter(Boolean).join(", ")), " ", h("a", { set: { href: address("tune", id), "aria-label": `Tune ${name}` } }, "Tune"), " ",
  h("a", { set: { href: address("export", id), "aria-label": `Export ${name}` } }, "Export"));

/** @param {AbortSignal} signal */
export function otherResultsOf(signal) {
  const element = h("div");
  let shown = "";
  /** @param {Capture[]} captures of the folder */
  const show = async (captures) => {
    try {
      const { results } = /** @type {{results: ResultEntry[]}} */ (await get("results", signal));
      const known = new Set(captures.map(({ id }) => id));
      const others = results.filter((result) => !result.captures.some((id) => known.has(id)));
      const now = JSON.stringify(others);
      if (now === shown) return;
      shown = now;
      const open = element.querySelector("details")?.open ?? others.length <= 8;
      refill(element, others.length > 0 && h("details", { class: "night", set: { open } },
        h("summary", { set: { "data-same": "others" } }, `${counted(others.length, "result")} of no capture here`), h("ul", {}, others.map(rowOf))));
    } catch { /* the list of captures says what is wrong */ }
  };
  return { element, show };
}
