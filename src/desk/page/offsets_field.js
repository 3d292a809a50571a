// How far red and blue are moved against green: two numbers for each.
import { h } from "./dom.js";

/** @typedef {import("./types.js").Option} Option */

const step_px = 0.1;
const parts = ["Red, to the right", "Red, down", "Blue, to the right", "Blue, down"];

/**
 * @param {Option} option
 * @param {(value: string | undefined) => void} changed
 * @returns {import("./option_field.js").Field}
 */
export function offsetsField(option, changed) {
  const id = `option${option.name}`;
  const trouble = h("p", { class: "small trouble", set: { id: `${id}-trouble`, hidden: true } });
  const take = () => {
    const values = inputs.map(({ value }) => Number(value) || 0);
    changed(values.some((value) => value !== 0) ? values.join(",") : undefined);
  };
  const inputs = parts.map((_, i) => h("input", {
    class: "digits", set: { type: "number", id: `${id}-${i}`, step: step_px, "aria-describedby": `${id}-trouble` }, on: { change: take },
  }));
  const fields = parts.map((words, i) => h("div", { class: "field" }, h("label", { class: "small", set: { for: `${id}-${i}` } }, `${words}, px`), inputs[i]));
  const element = h("fieldset", { class: "option offsets" }, h("legend", {}, "Move colours"), fields,
    h("p", { class: "small soft" }, option.help, "."), trouble);
  return {
    element, focus: () => inputs[0].focus(),
    set(value) {
      const now = String(value ?? "0,0,0,0").split(",");
      inputs.forEach((input, i) => { if (document.activeElement !== input) input.value = String(Number(now[i]) || 0); });
      element.classList.toggle("changed", value !== undefined);
    },
    trouble(words) {
      trouble.hidden = words === "";
      trouble.textContent = words;
    },
  };
}
