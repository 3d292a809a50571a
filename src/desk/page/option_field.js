// One option of the table as a control, by its kind. An empty control means: as proposed.
import { fill, h } from "./dom.js";
import { upper } from "./findings.js";

/** @typedef {import("./types.js").Option} Option */
/** @typedef {string | number | boolean | undefined} Value undefined: as proposed */
/**
 * @typedef {object} Field
 * @property {HTMLElement} element
 * @property {(value: Value) => void} set
 * @property {(words: string) => void} trouble shown at the field; empty: none
 * @property {() => void} focus
 */

/** @param {Option} option */
export const titleOf = (option) => upper(option.name.replace(/^-+/, "").replaceAll("-", " ")) + (option.unit ? `, ${option.unit}` : "");

/** @param {Option} option */
const proposed = (option) => (option.default === null || option.default === "" || option.default === false ? "" : String(option.default));

const other = "\u0000other";

/**
 * @param {Option} option @param {string} id
 * @param {(value: Value) => void} changed
 * @param {{value: string, words: string}[]} files that an option of kind `file` can take
 * @returns {{parts: HTMLElement[], set: (value: Value) => void, first: HTMLElement}}
 */
function control(option, id, changed, files) {
  if (option.kind === "switch") {
    const input = h("input", { set: { type: "checkbox", id }, on: { change: () => changed(input.checked || undefined) } });
    return { parts: [input], first: input, set: (value) => { input.checked = value === true; } };
  }
  if (option.kind === "number") {
    const input = h("input", { class: "digits", set: { type: "number", id, min: option.low, max: option.high, step: "any", placeholder: proposed(option) || "not known" },
      on: { change: () => changed(input.value === "" ? undefined : Number(input.value)) } });
    return { parts: [input], first: input, set: (value) => { input.value = value === undefined ? "" : String(value); } };
  }
  const text = h("input", { set: { type: "text", id: `${id}-text`, placeholder: option.value.split("|").filter((part) => !option.choices.includes(part)).join(" or "), "aria-label": `${titleOf(option)}: another value`, autocomplete: "off" },
    on: { change: () => changed(text.value.trim() || undefined) } });
  const isFile = option.kind === "file";
  const choices = isFile ? files : option.choices.map((value) => ({ value, words: value }));
  if (choices.length === 0) {
    text.id = id;
    text.removeAttribute("aria-label");
    return { parts: [text], first: text, set: (value) => { text.value = value === undefined ? "" : String(value); } };
  }
  const now = proposed(option);
  const select = h("select", { set: { id }, on: { change: () => {
    text.hidden = select.value !== other;
    if (select.value === other) text.focus();
    else changed(select.value === "" ? undefined : select.value);
  } } });
  fill(select, h("option", { set: { value: "" } }, now ? `${now} (proposed)` : "none"),
    choices.filter(({ value }) => value !== now).map(({ value, words }) => h("option", { set: { value } }, words)),
    option.kind !== "choice" && h("option", { set: { value: other } }, isFile ? "another file" : "another value"));
  const set = (/** @type {Value} */ value) => {
    const known = value === undefined || choices.some((entry) => entry.value === value);
    select.value = value === undefined || value === now ? "" : known ? String(value) : other;
    text.hidden = select.value !== other;
    text.value = known ? "" : String(value);
  };
  text.hidden = true;
  return { parts: [select, text], first: select, set };
}

/**
 * @param {Option} option
 * @param {(value: Value) => void} changed
 * @param {{value: string, words: string}[]} [files]
 * @returns {Field}
 */
export function optionField(option, changed, files = []) {
  const id = `option${option.name}`;
  const trouble = h("p", { class: "small trouble", set: { id: `${id}-trouble`, hidden: true } });
  const made = control(option, id, (value) => { tell(""); changed(value); }, files);
  made.first.setAttribute("aria-describedby", `${id}-help ${id}-trouble`);
  const element = h("div", { class: option.kind === "switch" ? "option switch" : "option" },
    h("label", { set: { for: id } }, titleOf(option)), h("div", { class: "row" }, made.parts),
    h("p", { class: "small soft", set: { id: `${id}-help` } }, option.help, "."), trouble);
  const tell = (/** @type {string} */ words) => {
    trouble.hidden = words === "";
    trouble.textContent = words;
    for (const part of made.parts) if (words) part.setAttribute("aria-invalid", "true"); else part.removeAttribute("aria-invalid");
  };
  return {
    element, trouble: tell, focus: () => made.first.focus(),
    set: (value) => { made.set(value); element.classList.toggle("changed", value !== undefined); },
  };
}
