// Keys: a view registers its own; one list shows those that work now.
import { button, h } from "./dom.js";

/** @typedef {{keys: string[], words: string, act: (event: KeyboardEvent) => void}} Key keys as KeyboardEvent.key names them */

/** @type {Key[]} */
let ofView = [];
/** @type {Key[]} */
let always = [];

/** @param {Key[]} keys of the view that is open */
export function setKeys(keys) { ofView = keys; }

/** @param {Key[]} keys that work in every view */
export function setCommonKeys(keys) { always = keys; }

/** @type {Record<string, string>} */
const shown = { ArrowLeft: "←", ArrowRight: "→", ArrowUp: "↑", ArrowDown: "↓", " ": "Space", Escape: "Esc" };

const typing = (/** @type {EventTarget | null} */ target) => target instanceof HTMLElement && (
  target instanceof HTMLTextAreaElement || target instanceof HTMLSelectElement || target.isContentEditable
  || (target instanceof HTMLInputElement && !["checkbox", "range"].includes(target.type)));

/** What has a use of its own for a key when it is in focus. @param {KeyboardEvent} event */
function taken(event) {
  const { target, key } = event;
  if (typing(target)) return key !== "Escape";
  if (!(target instanceof HTMLElement)) return false;
  if (target.matches("button, a, summary, [role=option]") && (key === "Enter" || key === " ")) return true;
  return target.matches("input[type=range]") && (key.startsWith("Arrow") || ["Home", "End", "PageUp", "PageDown"].includes(key));
}

export function startKeys() {
  document.addEventListener("keydown", (event) => {
    if (event.defaultPrevented || event.altKey || event.ctrlKey || event.metaKey) return;
    if (document.querySelector("dialog[open]") || taken(event)) return;
    const key = [...ofView, ...always].find((entry) => entry.keys.includes(event.key));
    if (!key) return;
    event.preventDefault();
    key.act(event);
  });
}

/** @param {Key[]} list */
const listed = (list) => h("dl", { class: "keys" }, list.flatMap((key) => [
  h("dt", {}, key.keys.flatMap((name, i) => [i > 0 && " ", h("kbd", {}, shown[name] ?? name)])), h("dd", {}, key.words),
]));

export function showKeys() {
  const dialog = h("dialog", { set: { "aria-labelledby": "keys-title" }, on: { close: () => dialog.remove() } },
    h("h2", { set: { id: "keys-title" } }, "Keys"),
    ofView.length > 0 && [h("h3", {}, "In this view"), listed(ofView)],
    h("h3", {}, "Everywhere"), listed(always),
    h("p", { class: "soft small" }, "Tab leads through all controls; Enter or Space uses one."),
    h("div", { class: "row" }, button("Close", () => dialog.close(), { class: "main" })));
  document.body.append(dialog);
  dialog.showModal();
}
