// Stacking: every option of the table as a form, the few that matter first.
import { ApiError, get } from "./api.js";
import { announce } from "./announce.js";
import { errorOf, factsOf } from "./card.js";
import { button, fill, h } from "./dom.js";
import { addJob } from "./jobs.js";
import { setKeys } from "./keys.js";
import { optionField, titleOf } from "./option_field.js";
import { address, go } from "./route.js";
import { choicesOf, keepChoices } from "./state.js";
import { sunCaution, sunWords } from "./sun.js";
import { counted, ranges } from "./words.js";

/** @typedef {import("./types.js").Capture} Capture */
/** @typedef {import("./types.js").Option} Option */
/** @typedef {import("./types.js").Chosen} Chosen */

/** What most people decide, in this order. */
const first = ["--keep", "--object", "--scale", "--finish", "--dark", "--flat"];
/** What the desk decides, or another part of it asks for. */
const elsewhere = new Set(["--output", "-o", "--recipe", "--json", "--quiet", "--overwrite", "--threads", "--share", "--caption", "--scale-bar", "--exclude"]);

/** @param {string[]} ids @param {AbortSignal} signal */
async function load(ids, signal) {
  const [all, table] = await Promise.all([get("captures", signal), get("options?verb=stack", signal)]);
  const captures = /** @type {{captures: Capture[]}} */ (all).captures;
  const chosen = ids.map((id) => captures.find((capture) => capture.id === id));
  if (chosen.length === 0 || chosen.some((capture) => !capture)) throw new ApiError(404, { what: "The capture that was to be stacked is not in the folder." });
  return { captures, chosen: /** @type {Capture[]} */ (chosen), options: /** @type {{options: Option[]}} */ (table).options.filter((option) => !elsewhere.has(option.name)) };
}

/** @type {import("./route.js").View} */
export async function openStack(place, rest, signal) {
  const each = rest[0] === "each";
  const ids = each ? rest.slice(1) : rest;
  const { captures, chosen, options } = await load(ids, signal);
  const sun = chosen.some(({ sun: is }) => is === "named") ? "named" : chosen.some(({ sun: is }) => is === "possible") ? "possible" : "no";
  await sunCaution(sun, signal);
  const choices = choicesOf(ids[0]);
  const single = ids.length === 1;
  const changedList = h("div");
  const problem = h("p", { class: "caution", set: { role: "alert", hidden: true } });
  const output = h("input", { set: { type: "text", id: "output", placeholder: "a free name is chosen", autocomplete: "off" } });

  const files = captures.filter((capture) => !ids.includes(capture.id) && !errorOf(capture)).map((capture) => ({ value: capture.id, words: capture.folder ? `${capture.folder}/${capture.name}` : capture.name }));
  const fields = new Map(options.map((option) => [option.name, optionField(option, (value) => choose(option, value), files)]));
  /** @param {Option} option @param {import("./option_field.js").Value} value */
  function choose(option, value) {
    if (option.name === "--crop") choices.crop = areaOf(value) ?? choices.crop;
    if (option.name === "--crop" && value === undefined) choices.crop = null;
    if (value === undefined) delete choices.options[option.name];
    else choices.options[option.name] = value;
    keepChoices(ids[0], choices);
    show();
  }
  const current = () => optionsOf(choices, single);
  function show() {
    const now = current();
    for (const [name, field] of fields) field.set(/** @type {import("./option_field.js").Value} */ (now[name]));
    const names = Object.keys(now);
    fill(changedList, names.length === 0 ? h("p", { class: "soft small" }, "Everything is as proposed.") : h("ul", { class: "plain small" }, options.filter((option) => option.name in now).map((option) => h("li", {}, `${titleOf(option)}: ${valueWords(now[option.name], files)} `,
      button("As proposed", () => { fields.get(option.name)?.trouble(""); choose(option, undefined); }, { class: "quiet", set: { "aria-label": `${titleOf(option)} as proposed` } }))),
      choices.out.length > 0 && single && h("li", {}, `${counted(choices.out.length, "frame")} left out: `, h("a", { set: { href: address("look", ids[0]) } }, short(ranges(choices.out))))));
  }
  async function stack() {
    problem.hidden = true;
    const body = { verb: "stack", options: current(), ...(output.value.trim() && { output: output.value.trim() }) };
    try {
      if (each) for (const id of ids) await addJob({ ...body, options: optionsOf(choicesOf(id), true), captures: [id], output: undefined });
      else await addJob({ ...body, captures: ids });
      go("#/queue");
    } catch (error) {
      if (error instanceof ApiError) wrong(error);
      else throw error;
    }
  }
  /** @param {ApiError} error */
  function wrong({ trouble }) {
    const name = trouble.option ?? /--[a-z][a-z-]+/.exec(trouble.what)?.[0];
    const words = [trouble.what, trouble.do].filter(Boolean).join(" ");
    const field = name && fields.get(name);
    if (!field) { problem.hidden = false; problem.textContent = words; announce(words); return; }
    field.trouble(words);
    const around = field.element.closest("details");
    if (around) around.open = true;
    field.focus();
  }

  const matter = first.flatMap((name) => fields.get(name)?.element ?? []);
  const title = single ? `Stack ${chosen[0].name}` : each ? `Stack ${counted(ids.length, "capture")}, each by itself` : `Stack ${counted(ids.length, "capture")} as one picture`;
  const start = button(each ? "Stack all" : "Stack", stack, { class: "main" });
  fill(place, h("div", { class: "sheet" },
    h("form", { class: "seen", on: { submit: (/** @type {Event} */ event) => { event.preventDefault(); stack(); } } }, h("h1", {}, title),
      h("ul", { class: "plain soft small" }, chosen.slice(0, 20).map((capture) => h("li", {}, [!single && h("b", {}, capture.name), !single && ": ", factsOf(capture)])), chosen.length > 20 && h("li", {}, `and ${chosen.length - 20} more`)),
      each ? h("p", {}, "Each capture is stacked with what was chosen for it when it was looked at. What was not chosen is as proposed.")
        : [h("div", { class: "options" }, matter), grouped(options, fields)]),
    h("aside", { class: "notes", set: { "aria-label": "The job" } },
      sun === "named" && h("p", { class: "caution small" }, sunWords()),
      h("section", { class: "note" }, h("h2", {}, "What will be done"), !each && changedList, problem,
        !each && h("div", { class: "field" }, h("label", { set: { for: "output" } }, "Name"), output),
        h("div", { class: "row" }, start), h("p", { class: "small soft" }, "The job runs on this computer, also when this page is closed. Nothing is overwritten.")))));
  show();
  setKeys([{ keys: ["Enter"], words: "Stack", act: stack }]);
  return { title, capture: ids[0], result: chosen[0].results[0]?.id };
}

/** @param {import("./state.js").Choices} choices @param {boolean} single frames and crop are those of one capture @returns {Chosen} */
function optionsOf(choices, single) {
  const out = { ...choices.options };
  if (single && choices.out.length > 0) out["--exclude"] = ranges(choices.out);
  if (single && choices.crop) out["--crop"] = choices.crop.join(",");
  return out;
}

/** @param {import("./option_field.js").Value} value @returns {[number, number, number, number] | null} */
function areaOf(value) {
  const parts = String(value).split(",").map(Number);
  return parts.length === 4 && parts.every(Number.isFinite) ? [parts[0], parts[1], parts[2], parts[3]] : null;
}

/** @param {Option[]} options @param {Map<string, import("./option_field.js").Field>} fields */
function grouped(options, fields) {
  /** @type {Map<string, HTMLElement[]>} */
  const groups = new Map();
  for (const option of options) {
    const field = fields.get(option.name);
    if (first.includes(option.name) || !field) continue;
    groups.set(option.heading, [...groups.get(option.heading) ?? [], field.element]);
  }
  return [...groups].map(([heading, elements]) => h("details", { class: "group" }, h("summary", {}, heading), h("div", { class: "options" }, elements)));
}

/** @param {Chosen[string]} value @param {{value: string, words: string}[]} files */
const valueWords = (value, files) => (value === true ? "yes" : files.find((file) => file.value === value)?.words ?? String(value));
/** @param {string} words */
const short = (words) => (words.length > 40 ? `${words.slice(0, 38)}...` : words);
