// Orders of the captures of a folder, and the words by which one is found.
import { errorOf } from "./card.js";

/** @typedef {import("./types.js").Capture} Capture */

const rank = { good: 0, fair: 1, poor: 2 };
/** @param {Capture} capture */
const when = (capture) => capture.begun_utc ?? capture.modified;
/** @param {Capture} capture */
const health = (capture) => (capture.health ? rank[capture.health.word] : 3);
/** @param {Capture} capture */
const path = (capture) => `${capture.folder}/${capture.name}`;

/** @type {Record<string, {words: string, order: (a: Capture, b: Capture) => number}>} */
export const orders = {
  newest: { words: "newest first", order: (a, b) => when(b).localeCompare(when(a)) },
  name: { words: "by name", order: (a, b) => path(a).localeCompare(path(b), "en", { numeric: true }) },
  largest: { words: "largest first", order: (a, b) => b.bytes - a.bytes },
  longest: { words: "longest first", order: (a, b) => (b.frames ?? -1) - (a.frames ?? -1) },
  healthy: { words: "healthiest first", order: (a, b) => health(a) - health(b) },
};

/** @param {Capture} capture */
const textOf = (capture) => [
  capture.folder, capture.name, capture.target, capture.health?.word, capture.colour, errorOf(capture),
  capture.results.length > 0 && "stacked", capture.growing && "recorded",
].filter(Boolean).join(" ").toLowerCase();

/** Those that have all of the words. @param {Capture[]} captures @param {string} text */
export function search(captures, text) {
  const words = text.toLowerCase().split(/\s+/).filter(Boolean);
  return captures.filter((capture) => {
    const of = textOf(capture);
    return words.every((word) => of.includes(word));
  });
}
