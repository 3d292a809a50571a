// What changed, for those who do not see it.
import { afterPause, byId } from "./dom.js";

const say = afterPause(250, (/** @type {string} */ words) => { byId("announce", HTMLElement).textContent = words; });

/** @param {string} words one sentence; of several in a row the last is read */
export const announce = (words) => say(words);
