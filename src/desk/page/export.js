// Exporting a tuned result: the picture as a file, a copy to share, the recipe and the command.
import { ApiError, get, post } from "./api.js";
import { announce } from "./announce.js";
import { button, choice, fill, h } from "./dom.js";
import { pictureOf } from "./job_row.js";
import { isOver, jobs, onJobs } from "./jobs.js";
import { setKeys } from "./keys.js";
import { titleOf } from "./option_field.js";
import { address, go } from "./route.js";
import { desk } from "./state.js";
import { canBeTuned, chosenIn, TuneState } from "./tune_state.js";
import { percent, size } from "./words.js";

/** @typedef {import("./types.js").Result} Result */
/** @typedef {import("./types.js").Job} Job */
/** @typedef {import("./types.js").Option} Option */

/** @type {Record<string, string>} */
const kinds = { picture: "the picture", linear: "the linear stack", recipe: "the recipe", report: "the report", shared: "the copy to share" };
/** @type {[string, string][]} */
const formats = [["tif", "TIFF, 16 bit"], ["png", "PNG, 16 bit"], ["fits", "FITS, 32 bit"]];

const linearWords = "The file stays in proportion to light, for work in other programs: there it looks dark. To look at, or to send to somebody, take the copy to share.";

/** @param {Result} result */
const fileList = (result) => h("div", {}, h("ul", { class: "plain" }, result.files.map(({ name, bytes, kind }) => {
  const href = `api/results/${encodeURIComponent(result.id)}/file/${encodeURIComponent(name)}`;
  // A report is a page to read.
  const how = kind === "report" ? { href, target: "_blank", rel: "noopener" } : { href, download: name };
  return h("li", {}, h("a", { set: how }, name), h("span", { class: "soft small" }, ` ${[kinds[kind], size(bytes)].filter(Boolean).join(", ")}`));
})), desk.now && h("p", { class: "small soft" }, `They lie in the folder ${desk.now.results_folder} of the computer where the desk runs.`));

/** A command and how to copy it. @param {string} command */
function commandBox(command) {
  const copied = () => announce("Copied.");
  const refused = () => announce("The browser does not allow it: select the text and copy it.");
  return h("div", {}, h("pre", { set: { tabindex: 0, "aria-label": "The command" } }, h("code", {}, command)),
    button("Copy", () => navigator.clipboard.writeText(command).then(copied, refused)));
}

/** @param {string} id @param {string} words @param {HTMLInputElement} input */
const field = (id, words, input) => h("div", { class: "field" }, h("label", { set: { for: id } }, words), input);
/** @param {string} id @param {string} words @param {HTMLInputElement} input */
const tick = (id, words, input) => h("p", { class: "tick" }, input, h("label", { set: { for: id } }, words));

/** @type {import("./route.js").View} */
export async function openExport(place, [id], signal) {
  const [found, table] = await Promise.all([get(`results/${encodeURIComponent(id)}`, signal), get("options?verb=finish", signal)]);
  const result = /** @type {Result} */ (found);
  const view = new Exporting(result, /** @type {{options: Option[]}} */ (table).options, signal);
  fill(place, view.element);
  setKeys([
    { keys: ["Enter"], words: "Write the file", act: () => view.write() },
    { keys: ["t"], words: "Back to tuning", act: () => go(address("tune", id)) },
  ]);
  return { title: `Export ${result.name}`, capture: result.captures?.[0], result: id, close: view.end };
}

class Exporting {
  #format = "tif";
  /** id of the job of this export @type {number | null} */ #job = null;
  #shown = "";

  /** @param {Result} result @param {Option[]} options @param {AbortSignal} signal */
  constructor(result, options, signal) {
    this.result = result;
    this.signal = signal;
    this.chosen = new TuneState(result.id, chosenIn(result.recipe, options)).steps.now;
    const text = (/** @type {string} */ id, /** @type {string} */ value, /** @type {string} */ placeholder) =>
      h("input", { set: { type: "text", id, value, placeholder, autocomplete: "off" } });
    this.name = text("export-name", `${result.name.replace(/\.[^.]+$/, "")}_tuned`, "");
    this.caption = text("export-caption", "", "auto: object, time, aperture, resolution");
    this.share = h("input", { set: { type: "checkbox", id: "export-share", checked: true }, on: { change: () => { this.captionPart.hidden = !this.share.checked; } } });
    this.scaleBar = h("input", { set: { type: "checkbox", id: "export-bar" } });
    this.captionPart = h("div", {},
      field("export-caption", "Caption", this.caption), tick("export-bar", "A scale bar under it", this.scaleBar));
    this.problem = h("p", { class: "caution", set: { role: "alert", hidden: true } });
    this.outcome = h("div", { set: { role: "status" } });
    this.end = onJobs(() => {
      const job = jobs().find(({ id }) => id === this.#job);
      if (job) this.#show(job).catch((error) => announce(String(error)));
    });
    this.element = h("div", { class: "sheet" }, this.#seen(), this.#notes(options));
  }

  #seen() {
    const { result } = this;
    return h("div", { class: "seen" }, h("h1", {}, `Export ${result.name}`),
      h("p", {}, h("a", { set: { href: address("view", result.id) } }, "Look at the picture, up to its pixels")),
      canBeTuned(result) ? this.#form() : h("p", {}, "There is no linear stack beside this result that can be read. Its files are listed here."),
      this.outcome, h("h2", {}, "Files of this result"), fileList(result));
  }

  #form() {
    const isLinear = (this.chosen["--tone"] ?? "linear") === "linear";
    const format = choice("Format", formats, this.#format, (to) => { this.#format = to; });
    return h("form", { on: { submit: (event) => { event.preventDefault(); this.write(); } } },
      h("div", { class: "row" }, format.element), isLinear && h("p", { class: "small soft" }, linearWords),
      field("export-name", "Name", this.name), tick("export-share", "Also a copy to share: JPEG, 8 bits, bright as it is seen here", this.share), this.captionPart, this.problem,
      h("div", { class: "row" }, h("button", { class: "main", set: { type: "submit" } }, "Write the file")));
  }

  /** @param {Option[]} options */
  #notes(options) {
    const { result } = this;
    const tuned = options.filter(({ name }) => name in this.chosen).map((option) => h("li", {}, `${titleOf(option)}: ${this.chosen[option.name]}`));
    const recipe = JSON.stringify(result.recipe.options ?? result.recipe, null, 1);
    return h("aside", { class: "notes", set: { "aria-label": "How it was made" } },
      canBeTuned(result) && h("section", { class: "note" }, h("h2", {}, "As it is tuned"),
        tuned.length === 0 ? h("p", { class: "small soft" }, "Everything is as proposed.") : h("ul", { class: "plain small" }, tuned),
        h("a", { class: "button", set: { href: address("tune", result.id) } }, "Tune it")),
      h("section", { class: "note" }, h("h2", {}, "How it was made"), commandBox(result.command),
        h("details", {}, h("summary", {}, "The recipe"), h("pre", { set: { tabindex: 0, "aria-label": "The recipe" } }, h("code", {}, recipe)))));
  }

  get #body() {
    const base = this.name.value.trim().replace(/\.(tiff?|png|fits?)$/i, "");
    const share = { output: `${base}.jpg`, caption: this.caption.value.trim() || "auto", scale_bar: this.scaleBar.checked };
    return { options: this.chosen, output: `${base}.${this.#format}`, ...(this.share.checked && { share }) };
  }

  async write() {
    if (!canBeTuned(this.result)) return;
    this.problem.hidden = true;
    try {
      const job = /** @type {Job} */ (await post(`results/${encodeURIComponent(this.result.id)}/export`, this.#body));
      this.#job = job.id;
      await this.#show(job);
    } catch (error) {
      if (!(error instanceof ApiError)) throw error;
      this.problem.hidden = false;
      this.problem.textContent = [error.trouble.what, error.trouble.do].filter(Boolean).join(" ");
    }
  }

  /** @param {Job} job */
  async #show(job) {
    const now = `${job.id} ${job.state} ${percent(job.share)}`;
    if (now === this.#shown) return;
    this.#shown = now;
    if (job.state === "waiting") fill(this.outcome, h("p", {}, "It waits in the queue: another job runs."));
    else if (!isOver(job)) fill(this.outcome, h("p", {}, `Being written: ${percent(job.share)}.`));
    else if (job.state === "done") await this.#showFiles(job);
    else fill(this.outcome, h("p", { class: "caution" }, job.error ? `${job.error.what} ${job.error.do ?? ""}` : `The export was ${job.state}.`));
  }

  /** @param {Job} job */
  async #showFiles(job) {
    const [id] = job.results;
    const made = id ? /** @type {Result} */ (await get(`results/${encodeURIComponent(id)}`, this.signal)) : null;
    const picture = made && h("img", { class: "written", set: { alt: `${job.output} as a screen shows it`, src: pictureOf(made.id, String(job.ended_utc)) } });
    fill(this.outcome, h("h2", {}, `${job.output} is written`), picture, made && fileList(made),
      h("p", { class: "small soft" }, "This command repeats it with the same bytes:"), commandBox(job.command));
  }
}
