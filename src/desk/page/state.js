// What the whole page knows: the desk, and what was chosen for each capture. Choices are kept by the
// browser, so that a closed page comes back as it was.

/** @type {{now: import("./types.js").Desk | null}} */
export const desk = { now: null };

/**
 * @typedef {object} Choices for one capture
 * @property {number[]} out frames that are left out
 * @property {[number, number, number, number] | null} crop X, Y, W, H in px of the frame
 * @property {import("./types.js").Chosen} options
 */

const prefix = "lull.choices.";

/** @param {string} capture id @returns {Choices} */
export function choicesOf(capture) {
  /** @type {Choices} */
  const none = { out: [], crop: null, options: {} };
  try {
    return { ...none, ...JSON.parse(localStorage.getItem(prefix + capture) ?? "{}") };
  } catch {
    return none;
  }
}

/** @param {string} capture id @param {Choices} choices */
export function keepChoices(capture, choices) {
  try {
    localStorage.setItem(prefix + capture, JSON.stringify(choices));
  } catch { /* the browser keeps nothing more: the choices last as long as the page */ }
}
