// The folder: every capture with a picture and its health; search, sort, keys; new ones appear.
import { get } from "./api.js";
import { announce } from "./announce.js";
import { cardOf } from "./card.js";
import { Cards } from "./cards.js";
import { afterPause, button, fill, h } from "./dom.js";
import { on } from "./events.js";
import { orders, search } from "./folder_orders.js";
import { instrumentOf } from "./instrument.js";
import { setKeys } from "./keys.js";
import { nightsOf } from "./nights.js";
import { otherResultsOf } from "./other_results.js";
import { address, go, troubleView } from "./route.js";
import { desk } from "./state.js";
import { counted } from "./words.js";

/** @typedef {import("./types.js").Capture} Capture */
/** @typedef {{complete: boolean, problems?: import("./types.js").Trouble[], captures: Capture[]}} Answer */

// What was looked for and marked stays while other views are open.
const kept = { words: "", order: "newest" };
/** @type {Set<string>} ids */
const marked = new Set();

const nextStep = "Open a capture to look at its frames: the line at the top leads on from there. Mark several by their boxes to stack them at once.";
const noneFound = "No capture has all of these words. Search by name, folder, target or health.";
const noneThere = "There is no capture in this folder yet. Record into it, or copy captures there: they appear here by themselves. "
  + "Lull reads SER, AVI, MP4, Matroska and FITS files, and numbered sequences of pictures.";

/** @type {import("./route.js").View} */
export async function openFolder(place, _rest, signal) {
  const folder = new Folder(signal);
  const [instrument] = await Promise.all([instrumentOf(signal, () => {}), folder.load()]);
  fill(place, folder.element(instrument.element));
  folder.show();
  folder.nights.show();
  folder.others.show(folder.captures);
  setKeys(folder.keys());
  const again = afterPause(300, () => folder.reload());
  const ends = [on("captures", again), on("results", again), on("open", again), instrument.end];
  return { title: folder.title.textContent || "The folder", close: () => { folder.cards.end(); ends.forEach((end) => end()); } };
}

class Folder {
  /** @type {Capture[]} */ captures = [];
  complete = true;

  /** @param {AbortSignal} signal */
  constructor(signal) {
    this.signal = signal;
    this.title = h("h1");
    this.count = h("p", { class: "soft", set: { role: "status" } });
    this.hint = h("p", { class: "soft small" }, nextStep);
    this.empty = h("div");
    this.troubles = h("div");
    this.nights = nightsOf(signal);
    this.others = otherResultsOf(signal);
    this.bar = h("div", { class: "marked row", set: { hidden: true } });
    this.cards = new Cards({ id: (/** @type {Capture} */ capture) => capture.id, card: (capture) => this.#card(capture) }, "Captures");
    this.search = h("input", {
      set: { type: "search", placeholder: "Search", "aria-label": "Search captures: name, folder, target, health", value: kept.words },
      on: { input: () => this.#searched(), keydown: (event) => this.#fromSearch(event) },
    });
    this.sort = h("select", { set: { "aria-label": "Order of captures" }, on: { change: () => { kept.order = this.sort.value; this.show(); } } },
      Object.entries(orders).map(([value, { words }]) => h("option", { set: { value, selected: value === kept.order } }, words)));
  }

  /** @param {HTMLElement} instrument */
  element(instrument) {
    const tools = h("div", { class: "row" }, instrument, this.search, this.sort);
    const head = h("div", { class: "row apart" }, h("div", {}, this.title, this.count), tools);
    this.#showMarked();
    return [head, this.hint, this.troubles, this.nights.element, this.others.element, this.empty, this.cards.element, this.bar];
  }

  /** @param {Capture} capture */
  #card(capture) {
    const mark = (/** @type {boolean} */ yes) => {
      if (yes) marked.add(capture.id);
      else marked.delete(capture.id);
      this.#showMarked();
    };
    return cardOf(capture, { marked: marked.has(capture.id), mark });
  }

  async load() {
    const [now, list] = await Promise.all([get("desk", this.signal), get("captures", this.signal)]);
    desk.now = /** @type {import("./types.js").Desk} */ (now);
    const answer = /** @type {Answer} */ (list);
    const more = answer.captures.length - this.captures.length;
    if (this.complete && this.captures.length > 0 && more > 0) announce(counted(more, "new capture"));
    this.captures = this.#settled(answer.captures);
    this.complete = answer.complete;
    this.title.textContent = desk.now.folder.split("/").pop() || desk.now.folder;
    fill(this.troubles, (answer.problems ?? []).map((trouble) => h("p", { class: "caution" }, h("b", {}, trouble.what), " ", trouble.do)));
  }

  async reload() {
    try {
      await this.load();
      this.show();
      this.nights.show();
      this.others.show(this.captures);
    } catch (error) {
      if (!this.signal.aborted) fill(this.empty, troubleView(error));
    }
  }

  /** Those that are as they were stay the same objects, so that their cards are not made again. @param {Capture[]} now */
  #settled(now) {
    const known = new Map(this.captures.map((capture) => [capture.id, capture]));
    return now.map((capture) => {
      const old = known.get(capture.id);
      return old && JSON.stringify(old) === JSON.stringify(capture) ? old : capture;
    });
  }

  show() {
    const found = search(this.captures, kept.words).sort(orders[kept.order].order);
    this.cards.show(found);
    const all = counted(this.captures.length, "capture");
    const searched = kept.words.trim() !== "";
    const text = `${searched ? `${found.length} of ${all}` : all}${this.complete ? "" : "; files are still being opened"}`;
    if (this.count.textContent !== text) this.count.textContent = text;
    // Who has a result knows the way.
    this.hint.hidden = this.captures.length === 0 || this.captures.some(({ results }) => results.length > 0);
    const none = found.length === 0 && this.complete && desk.now?.folder_error === null;
    fill(this.empty, none && h("p", {}, searched ? noneFound : noneThere));
  }

  #searched() {
    kept.words = this.search.value;
    this.cards.current = 0;
    this.show();
  }

  /** @param {KeyboardEvent} event */
  #fromSearch(event) {
    if (event.key !== "ArrowDown" && event.key !== "Enter") return;
    event.preventDefault();
    this.cards.focus(0);
  }

  #showMarked() {
    const ids = [...marked];
    this.bar.hidden = ids.length === 0;
    fill(this.bar, h("b", {}, `${counted(ids.length, "capture")} marked`),
      button(ids.length === 1 ? "Stack it" : "Stack as one picture", () => go(address("stack", ...ids)), { class: "main" }),
      ids.length > 1 && button("Stack each by itself", () => go(address("stack", "each", ...ids))),
      button("Unmark", () => this.#unmark()));
  }

  #unmark() {
    marked.clear();
    this.#showMarked();
    this.captures = this.captures.map((capture) => ({ ...capture }));  // cards are made anew
    this.show();
  }

  /** @returns {import("./keys.js").Key[]} */
  keys() {
    const { cards } = this;
    const mark = () => /** @type {HTMLElement | null} */ (cards.element.querySelector(`li[data-index="${cards.current}"] input`))?.click();
    return [
      { keys: ["ArrowRight"], words: "The next capture", act: () => cards.step(1, 0) },
      { keys: ["ArrowLeft"], words: "The one before", act: () => cards.step(-1, 0) },
      { keys: ["ArrowDown"], words: "A row down", act: () => cards.step(0, 1) },
      { keys: ["ArrowUp"], words: "A row up", act: () => cards.step(0, -1) },
      { keys: ["Home"], words: "The first", act: () => cards.focus(0) },
      { keys: ["End"], words: "The last", act: () => cards.focus(this.captures.length) },
      { keys: ["/"], words: "Search", act: () => this.search.focus() },
      { keys: ["m"], words: "Mark, to stack several", act: mark },
      { keys: ["Escape"], words: "Leave the search", act: () => cards.focus(cards.current) },
    ];
  }
}
