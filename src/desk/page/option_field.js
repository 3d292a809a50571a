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
function proposed({ kind, default: usual, low }) {
  if (usual === null || usual === "" || usual === false) return "";
  if (kind === "number" && low !== null && Number(usual) < low) return "";  // what is not known counts as 0
  return String(usual);
}

const other = "\u0000other";

/** @typedef {{value: string, words: string}} Choice */
/** @typedef {{parts: HTMLElement[], set: (value: Value) => void}} Control the first of its parts has the label */

/** @param {string} id @param {(value: Value) => void} changed @returns {Control} */
function switchControl(id, changed) {
  const input = h("input", { set: { type: "checkbox", id }, on: { change: () => changed(input.checked || undefined) } });
  return { parts: [input], set: (value) => { input.checked = value === true; } };
}

/** @param {Option} option @param {string} id @param {(value: Value) => void} changed @returns {Control} */
function numberControl(option, id, changed) {
  const input = h("input", {
    class: "digits",
    set: { type: "number", id, min: option.low, max: option.high, step: "any", placeholder: proposed(option) || "not known" },
    on: { change: () => changed(input.value === "" ? undefined : Number(input.value)) },
  });
  return { parts: [input], set: (value) => { input.value = value === undefined ? "" : String(value); } };
}

/** @param {Option} option @param {string} id @param {(value: Value) => void} changed */
function textControl(option, id, changed) {
  const syntax = option.value.split("|").filter((part) => !option.choices.includes(part)).join(" or ");
  const now = option.choices.length === 0 ? proposed(option) : "";
  const input = h("input", {
    set: { type: "text", id, placeholder: now ? `${now} (proposed)` : syntax, autocomplete: "off" },
    on: { change: () => changed(input.value.trim() || undefined) },
  });
  return { input, parts: [input], set: (/** @type {Value} */ value) => { input.value = value === undefined ? "" : String(value); } };
}

/**
 * Words to choose from; where others are possible, a text for them.
 * @param {Option} option @param {string} id @param {(value: Value) => void} changed @param {Choice[]} choices
 * @returns {Control}
 */
function choiceControl(option, id, changed, choices) {
  const { input: text } = textControl(option, `${id}-text`, changed);
  text.setAttribute("aria-label", `${titleOf(option)}: another value`);
  text.hidden = true;
  const now = proposed(option);
  const select = h("select", { set: { id }, on: { change: () => {
    text.hidden = select.value !== other;
    if (select.value === other) text.focus();
    else changed(select.value || undefined);
  } } });
  fill(select, h("option", { set: { value: "" } }, now ? `${now} (proposed)` : "none"),
    choices.filter(({ value }) => value !== now).map(({ value, words }) => h("option", { set: { value } }, words)),
    option.kind !== "choice" && h("option", { set: { value: other } }, option.kind === "file" ? "another file" : "another value"));
  return {
    parts: [select, text],
    set(value) {
      const known = value === undefined || value === now || choices.some((entry) => entry.value === value);
      select.value = value === undefined || value === now ? "" : known ? String(value) : other;
      text.hidden = select.value !== other;
      text.value = known ? "" : String(value);
    },
  };
}

/** @param {Option} option @param {string} id @param {(value: Value) => void} changed @param {Choice[]} files @returns {Control} */
function control(option, id, changed, files) {
  if (option.kind === "switch") return switchControl(id, changed);
  if (option.kind === "number") return numberControl(option, id, changed);
  const choices = option.kind === "file" ? files : option.choices.map((value) => ({ value, words: value }));
  return choices.length === 0 ? textControl(option, id, changed) : choiceControl(option, id, changed, choices);
}

/**
 * @param {Option} option
 * @param {(value: Value) => void} changed
 * @param {Choice[]} [files] that an option of kind `file` can take
 * @returns {Field}
 */
export function optionField(option, changed, files = []) {
  const id = `option${option.name}`;
  const trouble = h("p", { class: "small trouble", set: { id: `${id}-trouble`, hidden: true } });
  const made = control(option, id, (value) => { tell(""); changed(value); }, files);
  made.parts[0].setAttribute("aria-describedby", `${id}-help ${id}-trouble`);
  const element = h("div", { class: option.kind === "switch" ? "option switch" : "option" },
    h("label", { set: { for: id } }, titleOf(option)), h("div", { class: "row" }, made.parts),
    h("p", { class: "small soft", set: { id: `${id}-help` } }, option.help, "."), trouble);
  const tell = (/** @type {string} */ words) => {
    trouble.hidden = words === "";
    trouble.textContent = words;
    for (const part of made.parts) if (words) part.setAttribute("aria-invalid", "true"); else part.removeAttribute("aria-invalid");
  };
  return {
    element, trouble: tell, focus: () => made.parts[0].focus(),
    set: (value) => { made.set(value); element.classList.toggle("changed", value !== undefined); },
  };
}
