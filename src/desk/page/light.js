// Dark, light or red: chosen once, kept by this browser.
import { choice } from "./dom.js";

/** @typedef {"dark" | "light" | "red"} Light */
const key = "lull.light";
/** @type {Set<() => void>} */
const watchers = new Set();

/** @returns {Light} */
export function light() {
  const kept = localStorage.getItem(key);
  return kept === "light" || kept === "red" ? kept : "dark";
}

export function applyLight() {
  document.documentElement.dataset.light = light();
  for (const watcher of watchers) watcher();
}

/** @param {Light} to */
export function setLight(to) {
  localStorage.setItem(key, to);
  applyLight();
}

/** @param {() => void} watcher called when colours have changed @returns {() => void} ends it */
export function onLight(watcher) {
  watchers.add(watcher);
  return () => watchers.delete(watcher);
}

/** @param {string} name of a colour in light.css, such as "blue" */
export const colour = (name) => getComputedStyle(document.documentElement).getPropertyValue("--" + name).trim();

export function lightChoice() {
  return choice("Light of these pages", [["dark", "Dark"], ["light", "Light"], ["red", "Red"]], light(), setLight).element;
}
