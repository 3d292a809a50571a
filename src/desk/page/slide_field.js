// A number that one slides, which may also be as proposed.
import { button, h } from "./dom.js";
import { titleOf } from "./option_field.js";
import { number } from "./words.js";

/** @typedef {import("./types.js").Option} Option */

/**
 * @param {Option} option
 * @param {{low: number, high: number, proposed: number, root?: boolean, title?: string, step?: number}} range root: dark values get more room
 * @param {(value: number | undefined, settled: boolean) => void} changed
 * @returns {import("./option_field.js").Field}
 */
export function slideField(option, range, changed) {
  const title = range.title ?? titleOf(option);
  const id = `option${option.name}`;
  const toPlace = (/** @type {number} */ value) => (range.root ? Math.sqrt(Math.max(0, value)) : value);
  const toValue = (/** @type {number} */ place) => Number((range.root ? place * place : place).toPrecision(3));
  const [low, high] = [toPlace(range.low), toPlace(range.high)];
  const input = h("input", { set: { type: "range", id, min: low, max: high, step: range.step ?? (high - low) / 400 }, on: {
    input: () => { write(toValue(Number(input.value))); changed(toValue(Number(input.value)), false); },
    change: () => changed(toValue(Number(input.value)), true),
  } });
  const output = h("output", { class: "digits small", set: { for: id } });
  const back = button("As proposed", () => changed(undefined, true), { class: "quiet", set: { "aria-label": `${title} as proposed` } });
  const trouble = h("p", { class: "small trouble", set: { id: `${id}-trouble`, hidden: true } });
  input.setAttribute("aria-describedby", `${id}-trouble`);
  const element = h("div", { class: "slid", set: { title: option.help } }, h("label", { set: { for: id } }, title), input, output, back, trouble);
  const write = (/** @type {number | undefined} */ value) => {
    output.textContent = value === undefined ? "as proposed" : number(value);
    input.setAttribute("aria-valuetext", value === undefined ? `as proposed, ${number(range.proposed)}` : number(value));
    back.hidden = value === undefined;
    element.classList.toggle("changed", value !== undefined);
  };
  return {
    element, focus: () => input.focus(),
    set(value) {
      const given = value === undefined ? undefined : Number(value);
      if (document.activeElement !== input || given === undefined) input.value = String(toPlace(given ?? range.proposed));
      write(given);
    },
    trouble(words) {
      trouble.hidden = words === "";
      trouble.textContent = words;
    },
  };
}
