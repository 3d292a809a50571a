// The profile of the instrument that forms begin with, among those that the desk offers.
import { ApiError, get, post } from "./api.js";
import { announce } from "./announce.js";
import { fill, h } from "./dom.js";
import { on } from "./events.js";

/** @typedef {import("./types.js").Instruments} Instruments */

/**
 * A choice, hidden where there is nothing to choose from.
 * @param {AbortSignal} signal
 * @param {() => void} changed another profile holds now, chosen here or in another tab
 * @returns {Promise<{element: HTMLElement, end: () => void}>}
 */
export async function instrumentOf(signal, changed) {
  /** @type {Instruments} */
  let now = await get("profiles", signal);
  const trouble = h("p", { class: "caution small", set: { role: "alert", hidden: true } });
  const select = h("select", { set: { id: "instrument" }, on: { change: () => choose() } });
  const label = h("label", { set: { for: "instrument" } }, "Instrument");
  const element = h("div", { class: "field instrument" }, label, select, trouble);

  const show = () => {
    element.hidden = now.profiles.length === 0;
    /** @param {string} value @param {string} words */
    const choice = (value, words) => h("option", { set: { value, selected: value === (now.chosen ?? "") } }, words);
    const words = (/** @type {string} */ name) => (name === now.chosen && now.title ? now.title : name);
    fill(select, choice("", "none"), now.profiles.map((name) => choice(name, words(name))));
  };
  const settle = (/** @type {Instruments} */ next) => {
    const other = next.chosen !== now.chosen;
    now = next;
    show();
    if (other) changed();
  };
  const choose = async () => {
    trouble.hidden = true;
    try {
      settle(await post("profiles/chosen", { profile: select.value || null }));
      announce(now.chosen ? `The instrument is ${now.title ?? now.chosen}` : "No instrument");
    } catch (error) {
      if (!(error instanceof ApiError)) throw error;
      show();
      trouble.hidden = false;
      fill(trouble, [error.trouble.what, error.trouble.do].filter(Boolean).join(" "));
    }
  };
  show();
  // A tab that was not seen has heard nothing.
  const again = () => get("profiles", signal).then(settle, () => {});
  const ends = [on("profile", settle), on("open", again)];
  return { element, end: () => ends.forEach((end) => end()) };
}
