// Stacking: every option of the table as a form, the few that matter first.
import { ApiError, get, post } from "./api.js";
import { announce } from "./announce.js";
import { errorOf, factsOf } from "./card.js";
import { afterPause, button, fill, h } from "./dom.js";
import { addJob } from "./jobs.js";
import { instrumentOf } from "./instrument.js";
import { setKeys } from "./keys.js";
import { optionField, titleOf } from "./option_field.js";
import { address, go, reopen } from "./route.js";
import { choicesOf, keepChoices } from "./state.js";
import { sunCaution, sunWords } from "./sun.js";
import { counted, ranges, roughly, size } from "./words.js";

/** @typedef {import("./types.js").Capture} Capture */
/** @typedef {import("./types.js").Option} Option */
/** @typedef {import("./types.js").Chosen} Chosen */
/** @typedef {import("./state.js").Choices} Choices */
/** @typedef {import("./option_field.js").Value} Value */
/** @typedef {import("./option_field.js").Field} Field */
/** @typedef {{value: string, words: string}} File */

/** What most people decide, in this order. */
const first = ["--keep", "--object", "--scale", "--finish", "--dark", "--flat"];
/** What the desk decides, or another part of it asks for. */
const elsewhere = new Set([
  "--output", "-o", "--recipe", "--json", "--quiet", "--overwrite", "--threads", "--share", "--caption", "--scale-bar", "--exclude",
]);
const knownEnding = /[.](tiff?|png|fits?)$/i;
const mostListed = 20;

/** @type {import("./route.js").View} */
export async function openStack(place, rest, signal) {
  const each = rest[0] === "each";
  const ids = each ? rest.slice(1) : rest;
  const [all, table] = await Promise.all([get("captures", signal), get("options?verb=stack", signal)]);
  const { captures } = /** @type {{captures: Capture[]}} */ (all);
  const chosen = ids.flatMap((id) => captures.find((capture) => capture.id === id) ?? []);
  if (chosen.length === 0 || chosen.length < ids.length) throw new ApiError(404, { what: "The capture that was to be stacked is not in the folder." });
  const sun = chosen.some((capture) => capture.sun === "named") ? "named" : chosen.some((capture) => capture.sun === "possible") ? "possible" : "no";
  await sunCaution(sun, signal);
  const options = /** @type {{options: Option[]}} */ (table).options.filter(({ name }) => name.startsWith("--") && !elsewhere.has(name));
  const form = new StackForm(captures, chosen, options, each);
  const instrument = await instrumentOf(signal, reopen);  // the form begins with other values
  fill(place, form.element(sun === "named", instrument.element));
  form.show();
  setKeys([{ keys: ["Enter"], words: "Stack", act: () => form.stack() }]);
  return { title: form.title, capture: ids[0], result: chosen[0].results[0]?.id, close: instrument.end };
}

class StackForm {
  /** @type {Map<string, Field>} */ fields = new Map();

  /** @param {Capture[]} captures of the folder @param {Capture[]} chosen @param {Option[]} options @param {boolean} each by itself */
  constructor(captures, chosen, options, each) {
    this.chosen = chosen;
    this.options = options;
    this.each = each;
    this.single = chosen.length === 1;
    this.ids = chosen.map(({ id }) => id);
    this.choices = choicesOf(this.ids[0]);
    /** @type {File[]} */
    this.files = captures.filter((capture) => !this.ids.includes(capture.id) && !errorOf(capture))
      .map(({ id, folder, name }) => ({ value: id, words: folder ? `${folder}/${name}` : name }));
    for (const option of options) this.fields.set(option.name, optionField(option, (value) => this.#choose(option.name, value), this.files));
    this.changed = h("div");
    this.estimate = h("p", { class: "small soft", set: { role: "status" } });
    this.estimateSoon = afterPause(300, () => this.#estimate().catch(() => fill(this.estimate)));  // what is wrong is told when one stacks
    this.problem = h("p", { class: "caution", set: { role: "alert", hidden: true } });
    this.output = h("input", { set: { type: "text", id: "output", placeholder: "a free name is chosen", autocomplete: "off" } });
  }

  get title() {
    if (this.single) return `Stack ${this.chosen[0].name}`;
    return `Stack ${counted(this.chosen.length, "capture")}${this.each ? ", each by itself" : " as one picture"}`;
  }

  /** @param {boolean} isSun @param {HTMLElement} instrument */
  element(isSun, instrument) {
    const each = "Each capture is stacked with what was chosen for it when it was looked at. What was not chosen is as proposed.";
    const matter = first.flatMap((name) => this.fields.get(name)?.element ?? []);
    const seen = h("div", { class: "seen" }, h("h1", {}, this.title), this.#captures(), instrument, this.each ? h("p", {}, each) : h("div", { class: "options" }, matter));
    const name = h("div", { class: "field" }, h("label", { set: { for: "output" } }, "Name"), this.output);
    const start = button(this.each ? "Stack all" : "Stack", () => this.stack(), { class: "main" });
    const send = (/** @type {Event} */ event) => { event.preventDefault(); this.stack(); };
    return h("form", { class: "sheet stacking", on: { submit: send } }, seen, h("aside", { class: "notes", set: { "aria-label": "The job" } },
      isSun && h("p", { class: "caution small" }, sunWords()),
      h("section", { class: "note" }, h("h2", {}, "What will be done"), !this.each && this.changed, this.problem, !this.each && [this.estimate, name],
        h("div", { class: "row" }, start),
        h("p", { class: "small soft" }, "The job runs on this computer, also when this page is closed. Nothing is overwritten."))),
      !this.each && h("div", { class: "seen" }, this.#groups()));
  }

  #captures() {
    const rest = this.chosen.length - mostListed;
    return h("ul", { class: "plain soft small" },
      this.chosen.slice(0, mostListed).map((capture) => h("li", {}, !this.single && [h("b", {}, capture.name), ": "], factsOf(capture))),
      rest > 0 && h("li", {}, `and ${rest} more`));
  }

  /** The other options, under the headings of the command line. */
  #groups() {
    const rest = this.options.filter(({ name }) => !first.includes(name));
    return [...new Set(rest.map(({ heading }) => heading))].map((heading) => {
      const elements = rest.filter((option) => option.heading === heading).map(({ name }) => this.fields.get(name)?.element);
      return h("details", { class: "group" }, h("summary", {}, heading), h("div", { class: "options" }, elements));
    });
  }

  /** @param {string} name @param {Value} value undefined: as proposed */
  #choose(name, value) {
    if (name === "--crop") this.choices.crop = value === undefined ? null : areaOf(value);
    if (value === undefined || (name === "--crop" && this.choices.crop)) delete this.choices.options[name];
    else this.choices.options[name] = value;
    keepChoices(this.ids[0], this.choices);
    this.show();
  }

  show() {
    const now = optionsOf(this.choices, this.single);
    for (const [name, field] of this.fields) field.set(/** @type {Value} */ (now[name]));
    const { out } = this.choices;
    const list = this.options.filter(({ name }) => name in now).map((option) => this.#changedRow(option, now[option.name]));
    if (out.length > 0 && this.single) {
      const frames = h("a", { set: { href: address("look", this.ids[0]) } }, short(ranges(out)));
      list.push(h("li", {}, `${counted(out.length, "frame")} left out: `, frames));
    }
    if (!this.each) this.estimateSoon();
    fill(this.changed, list.length === 0 ? h("p", { class: "soft small" }, "Everything is as proposed.") : h("ul", { class: "plain small" }, list));
  }

  /** @param {Option} option @param {Chosen[string]} value */
  #changedRow(option, value) {
    const words = value === true ? "yes" : this.files.find((file) => file.value === value)?.words ?? String(value);
    const back = () => {
      const field = this.fields.get(option.name);
      field?.trouble("");
      this.#choose(option.name, undefined);
      if (field) leadTo(field);  // the button has gone: without a focus, the next Enter would mean "Stack"
    };
    return h("li", {}, `${titleOf(option)}: ${words} `,
      button("As proposed", back, { class: "quiet", set: { "aria-label": `${titleOf(option)} as proposed` } }));
  }

  async #estimate() {
    const name = this.output.value.trim();
    // A name that is being typed has no format yet.
    const output = knownEnding.test(name) ? name : undefined;
    const body = { verb: "stack", captures: this.ids, options: optionsOf(this.choices, this.single), output };
    const { time_s: time, results_bytes: results, memory_bytes: memory } = await post("estimate", body);
    fill(this.estimate, time === null ? "How long it takes is known once the capture was looked at. " : `Takes about ${roughly(time)}. `,
      `Writes some ${size(results)}, and needs up to ${size(memory)} of memory.`);
  }

  async stack() {
    this.problem.hidden = true;
    const { ids } = this;
    try {
      if (this.each) for (const id of ids) await addJob({ verb: "stack", captures: [id], options: optionsOf(choicesOf(id), true) });
      else await addJob({ verb: "stack", captures: ids, options: optionsOf(this.choices, this.single), output: this.output.value.trim() || undefined });
      go("#/queue");
    } catch (error) {
      if (!(error instanceof ApiError)) throw error;
      this.#refused(error);
    }
  }

  /** Shows the words of the server at the option that they name. @param {ApiError} error */
  #refused({ trouble }) {
    const words = [trouble.what, trouble.do].filter(Boolean).join(" ");
    const field = this.fields.get(trouble.option ?? /--[a-z][a-z-]+/.exec(trouble.what)?.[0] ?? "");
    if (!field) {
      this.problem.hidden = false;
      this.problem.textContent = words;
      announce(words);
      return;
    }
    field.trouble(words);
    leadTo(field);
  }
}

/** @param {Field} field */
function leadTo(field) {
  const around = field.element.closest("details");
  if (around) around.open = true;
  field.focus();
}

/** @param {Choices} choices @param {boolean} single frames and crop are those of one capture @returns {Chosen} */
function optionsOf(choices, single) {
  const out = { ...choices.options };
  if (single && choices.out.length > 0) out["--exclude"] = ranges(choices.out);
  if (single && choices.crop) out["--crop"] = choices.crop.join(",");
  return out;
}

/** @param {Value} value @returns {[number, number, number, number] | null} */
function areaOf(value) {
  const [x, y, w, h, ...more] = String(value).split(",").map(Number);
  return [x, y, w, h].every(Number.isFinite) && more.length === 0 ? [x, y, w, h] : null;
}

/** @param {string} words */
const short = (words) => (words.length > 40 ? `${words.slice(0, 38)}...` : words);
