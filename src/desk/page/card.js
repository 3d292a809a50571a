// One capture of the folder: a picture, its name, what it is and how healthy.
import { h } from "./dom.js";
import { address } from "./route.js";
import { counted, day, duration, size } from "./words.js";

/** @typedef {import("./types.js").Capture} Capture */

/** @param {Capture} capture */
export const errorOf = (capture) => (typeof capture.error === "string" ? capture.error : capture.error?.what ?? "");

const colours = new Set(["rgb", "yuv", "cfa"]);

/** What it is in one sentence. @param {Capture} capture */
export function factsOf(capture) {
  if (capture.width === null) return size(capture.bytes);
  const parts = [`${capture.width} × ${capture.height} px`, capture.frames !== null && counted(capture.frames, "frame"), duration(capture.duration_s),
    colours.has(capture.colour ?? "") ? "colour" : "mono", size(capture.bytes)];
  return parts.filter(Boolean).join(", ");
}

/** @type {Record<string, string>} words that stand apart by form, not by colour only */
const marks = { good: "◦◦◦", fair: "◦◦", poor: "◦" };

/** @param {Capture} capture */
function stateOf(capture) {
  const error = errorOf(capture);
  if (error) return h("p", { class: "state trouble", set: { title: error } }, error);
  if (capture.growing) return h("p", { class: "state" }, "Being recorded");
  if (!capture.health) return h("p", { class: "state soft" }, capture.surveyed ? "Surveyed" : "Not looked at yet");
  const { word, advice } = capture.health;
  return h("p", { class: "state", set: { title: advice.join("\n") } }, h("span", { set: { "aria-hidden": true } }, marks[word] ?? ""),
    h("b", {}, ` ${word}`), advice.length > 0 && `: ${advice[0]}`);
}

/**
 * @param {Capture} capture
 * @param {{marked: boolean, mark: (marked: boolean) => void}} how
 */
export function cardOf(capture, how) {
  const { id, name, results } = capture;
  const version = `${capture.modified}.${capture.surveyed}`;
  const source = `api/captures/${encodeURIComponent(id)}/thumbnail?v=${encodeURIComponent(version)}`;
  const image = h("img", { set: { alt: "", decoding: "async" } });
  image.addEventListener("error", () => image.removeAttribute("src"));
  // Who scrolls past asks for nothing.
  setTimeout(() => { if (image.isConnected && !errorOf(capture)) image.src = source; }, 60);
  const mark = h("input", { set: { type: "checkbox", title: "Mark, to stack several", "aria-label": `Mark ${name}` }, on: { change: () => how.mark(mark.checked) } });
  mark.checked = how.marked;
  return h("article", { class: "card" }, h("div", { class: "thumb" }, image),
    h("div", { class: "about" },
      h("h2", {}, h("a", { class: "whole", set: { href: address("look", id), title: name } }, name)),
      h("p", { class: "soft small line" }, [capture.folder, day(capture.begun_utc ?? capture.modified)].filter(Boolean).join(", ")),
      h("p", { class: "small" }, [capture.target && `${capture.target}, `, factsOf(capture)]),
      stateOf(capture),
      results.length > 0 && h("p", { class: "small line above" }, `${counted(results.length, "result")}: `,
        h("a", { set: { href: address("tune", results[0].id) } }, results[0].name))),
    h("label", { class: "above mark" }, mark));
}
