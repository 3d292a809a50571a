// The buttons that move closer and away.
import { button, h } from "./dom.js";

/** @param {import("./stage.js").Stage} stage */
export const zoomButtons = (stage) => h("div", { class: "pair", set: { role: "group", "aria-label": "Zoom" } },
  button("−", () => stage.zoom(0.8), { set: { "aria-label": "Smaller" } }), button("+", () => stage.zoom(1.25), { set: { "aria-label": "Larger" } }),
  button("Whole", () => stage.gaze.whole()), button("1:1", () => stage.toPixels(), { set: { "aria-label": "One pixel to one pixel" } }));

/** The key of the list that works for them. @param {import("./stage.js").Stage} stage @returns {import("./keys.js").Key} */
export const zoomKey = (stage) => ({
  keys: ["+", "-", "0", "1"], words: "Larger, smaller, whole, one pixel to one",
  act: (event) => { stage.canvas.dispatchEvent(new KeyboardEvent("keydown", { key: event.key })); },
});
