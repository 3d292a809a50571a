// The folder: every capture with a picture and its health; search, sort, keys; new ones appear.
import { get } from "./api.js";
import { announce } from "./announce.js";
import { cardOf, errorOf } from "./card.js";
import { Cards } from "./cards.js";
import { afterPause, button, fill, h } from "./dom.js";
import { on } from "./events.js";
import { setKeys } from "./keys.js";
import { address, go, troubleView } from "./route.js";
import { desk } from "./state.js";
import { counted } from "./words.js";

/** @typedef {import("./types.js").Capture} Capture */

const rank = { good: 0, fair: 1, poor: 2 };
/** @type {Record<string, {words: string, order: (a: Capture, b: Capture) => number}>} */
const orders = {
  newest: { words: "newest first", order: (a, b) => (b.begun_utc ?? b.modified).localeCompare(a.begun_utc ?? a.modified) },
  name: { words: "by name", order: (a, b) => `${a.folder}/${a.name}`.localeCompare(`${b.folder}/${b.name}`, "en", { numeric: true }) },
  largest: { words: "largest first", order: (a, b) => b.bytes - a.bytes },
  longest: { words: "longest first", order: (a, b) => (b.frames ?? -1) - (a.frames ?? -1) },
  healthy: { words: "healthiest first", order: (a, b) => (a.health ? rank[a.health.word] : 3) - (b.health ? rank[b.health.word] : 3) },
};

/** @param {Capture} capture */
const textOf = (capture) => [capture.folder, capture.name, capture.target, capture.health?.word, capture.colour, errorOf(capture),
  capture.results.length > 0 && "stacked", capture.growing && "recorded"].filter(Boolean).join(" ").toLowerCase();

// What was looked for stays while other views are open.
const kept = { words: "", order: "newest" };
/** @type {Set<string>} ids */
const marked = new Set();

/** Items that are as they were stay the same objects, so that their cards are not made again. @param {Capture[]} before @param {Capture[]} now */
function settled(before, now) {
  const known = new Map(before.map((capture) => [capture.id, capture]));
  return now.map((capture) => {
    const old = known.get(capture.id);
    return old && JSON.stringify(old) === JSON.stringify(capture) ? old : capture;
  });
}

/** @type {import("./route.js").View} */
export async function openFolder(place, _rest, signal) {
  /** @type {Capture[]} */
  let captures = [];
  const title = h("h1", {}, "The folder");
  const count = h("p", { class: "soft", set: { role: "status" } });
  const cards = new Cards({
    id: (/** @type {Capture} */ capture) => capture.id,
    card: (capture) => cardOf(capture, {
      marked: marked.has(capture.id),
      mark: (yes) => { if (yes) marked.add(capture.id); else marked.delete(capture.id); showMarked(); },
    }),
  }, "Captures");
  const bar = h("div", { class: "marked row", set: { hidden: true } });
  const empty = h("div");
  const troubles = h("div");

  const showMarked = () => {
    bar.hidden = marked.size === 0;
    const ids = [...marked];
    fill(bar, h("b", {}, `${counted(ids.length, "capture")} marked`),
      button(ids.length === 1 ? "Stack it" : "Stack as one picture", () => go(address("stack", ...ids)), { class: "main" }),
      ids.length > 1 && button("Stack each by itself", () => go(address("stack", "each", ...ids))),
      button("Unmark", () => { marked.clear(); showMarked(); captures = captures.map((c) => ({ ...c })); show(); }));
  };
  const show = () => {
    const words = kept.words.toLowerCase().split(/\s+/).filter(Boolean);
    const found = captures.filter((capture) => { const text = textOf(capture); return words.every((word) => text.includes(word)); });
    found.sort(orders[kept.order].order);
    cards.show(found);
    const all = counted(captures.length, "capture");
    const text = `${words.length > 0 ? `${found.length} of ${all}` : all}${complete ? "" : "; files are still being opened"}`;
    if (count.textContent !== text) count.textContent = text;
    fill(empty, found.length === 0 && complete && !unreadable && nothing(words.length > 0));
  };
  let complete = true;
  let unreadable = false;
  const load = async () => {
    const [now, list] = await Promise.all([get("desk", signal), get("captures", signal)]);
    desk.now = /** @type {import("./types.js").Desk} */ (now);
    const answer = /** @type {{complete: boolean, problems?: import("./types.js").Trouble[], captures: Capture[]}} */ (list);
    const before = captures.length;
    captures = settled(captures, answer.captures);
    if (complete && before > 0 && captures.length > before) announce(`${counted(captures.length - before, "new capture")}`);
    complete = answer.complete;
    title.textContent = desk.now.folder.split("/").pop() || desk.now.folder;
    fill(troubles, (answer.problems ?? []).map((trouble) => h("p", { class: "caution" }, h("b", {}, trouble.what), " ", trouble.do)));
    unreadable = desk.now.folder_error !== null;
    show();
  };
  await load();

  const again = afterPause(300, () => load().catch((error) => { if (!signal.aborted) fill(empty, troubleView(error)); }));
  const search = h("input", { set: { type: "search", placeholder: "Search", "aria-label": "Search captures: name, folder, target, health", value: kept.words },
    on: { input: () => { kept.words = search.value; cards.current = 0; show(); }, keydown: (/** @type {KeyboardEvent} */ event) => { if (event.key === "ArrowDown" || event.key === "Enter") { event.preventDefault(); cards.focus(0); } } } });
  const sort = h("select", { set: { "aria-label": "Order of captures" }, on: { change: () => { kept.order = sort.value; show(); } } },
    Object.entries(orders).map(([value, { words }]) => h("option", { set: { value, selected: value === kept.order } }, words)));
  fill(place, h("div", { class: "row apart" }, h("div", {}, title, count), h("div", { class: "row" }, search, sort)), troubles, empty, cards.element, bar);
  showMarked();
  show();
  setKeys([
    { keys: ["ArrowRight"], words: "The next capture", act: () => cards.step(1, 0) },
    { keys: ["ArrowLeft"], words: "The one before", act: () => cards.step(-1, 0) },
    { keys: ["ArrowDown"], words: "A row down", act: () => cards.step(0, 1) },
    { keys: ["ArrowUp"], words: "A row up", act: () => cards.step(0, -1) },
    { keys: ["Home"], words: "The first", act: () => cards.focus(0) },
    { keys: ["End"], words: "The last", act: () => cards.focus(captures.length) },
    { keys: ["/"], words: "Search", act: () => search.focus() },
    { keys: ["m"], words: "Mark, to stack several", act: () => cards.element.querySelector(`li[data-index="${cards.current}"] input`)?.dispatchEvent(new MouseEvent("click")) },
    { keys: ["Escape"], words: "Leave the search", act: () => cards.focus(cards.current) },
  ]);
  const ends = [on("captures", again), on("results", again), on("open", again)];
  return { title: title.textContent || "The folder", close: () => { cards.end(); ends.forEach((end) => end()); } };
}

/** @param {boolean} searched */
const nothing = (searched) => (searched
  ? h("p", {}, "No capture has all of these words. Search by name, folder, target or health.")
  : h("p", {}, "There is no capture in this folder yet. Record into it, or copy captures there: they appear here by themselves. Lull reads SER, AVI, MP4, Matroska and FITS files, and numbered sequences of pictures."));
