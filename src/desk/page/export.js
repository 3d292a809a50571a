// Exporting a tuned result: the picture as a file, a copy to share, the recipe and the command.
import { ApiError, get, post } from "./api.js";
import { announce } from "./announce.js";
import { button, choice, fill, h } from "./dom.js";
import { isOver, jobs, onJobs } from "./jobs.js";
import { setKeys } from "./keys.js";
import { titleOf } from "./option_field.js";
import { address } from "./route.js";
import { chosenIn, tunedOptions } from "./tune_state.js";
import { percent, size } from "./words.js";

/** @typedef {import("./types.js").Result} Result */
/** @typedef {import("./types.js").Job} Job */
/** @typedef {import("./types.js").Option} Option */

/** @type {Record<string, string>} */
const kinds = { picture: "the picture", linear: "the linear stack", recipe: "the recipe", report: "the report", shared: "the copy to share", other: "" };
/** @type {[string, string][]} */
const formats = [["tif", "TIFF, 16 bit"], ["png", "PNG, 16 bit"], ["fits", "FITS, 32 bit"]];

/** @param {string} result id @param {{name: string, bytes: number, kind: string}[]} files */
const fileList = (result, files) => h("ul", { class: "plain" }, files.map((file) => h("li", {},
  h("a", { set: { href: `api/results/${encodeURIComponent(result)}/file/${encodeURIComponent(file.name)}`, download: file.name } }, file.name),
  h("span", { class: "soft small" }, ` ${[kinds[file.kind], size(file.bytes)].filter(Boolean).join(", ")}`))));

/** A command and how to copy it. @param {string} command */
export function commandBox(command) {
  const copy = button("Copy", () => navigator.clipboard.writeText(command).then(() => announce("Copied."), () => announce("The browser does not allow it: select the text and copy it.")));
  return h("div", {}, h("pre", { set: { tabindex: 0, "aria-label": "The command" } }, h("code", {}, command)), copy);
}

/** @type {import("./route.js").View} */
export async function openExport(place, [id], signal) {
  const path = `results/${encodeURIComponent(id)}`;
  const [found, table] = await Promise.all([get(path, signal), get("options?verb=finish", signal)]);
  const result = /** @type {Result} */ (found);
  const options = /** @type {{options: Option[]}} */ (table).options;
  const chosen = tunedOptions(id, chosenIn(result.recipe, options));
  let format = "tif";
  const stem = result.name.replace(/\.[^.]+$/, "");
  const name = h("input", { set: { type: "text", id: "export-name", value: `${stem}_tuned`, autocomplete: "off" } });
  const share = h("input", { set: { type: "checkbox", id: "export-share" }, on: { change: () => { captionPart.hidden = !share.checked; } } });
  const caption = h("input", { set: { type: "text", id: "export-caption", placeholder: "auto: object, time, aperture, resolution", autocomplete: "off" } });
  const scaleBar = h("input", { set: { type: "checkbox", id: "export-bar" } });
  const captionPart = h("div", { set: { hidden: true } },
    h("div", { class: "field" }, h("label", { set: { for: "export-caption" } }, "Caption"), caption),
    h("p", { class: "tick" }, scaleBar, h("label", { set: { for: "export-bar" } }, "A scale bar under it")));
  const problem = h("p", { class: "caution", set: { role: "alert", hidden: true } });
  const outcome = h("div", { set: { role: "status" } });
  /** @type {number | null} */
  let mine = null;

  async function write() {
    problem.hidden = true;
    const base = name.value.trim().replace(/\.(tiff?|png|fits?)$/i, "");
    const body = { options: chosen, output: `${base}.${format}`, ...(share.checked && { share: { output: `${base}_shared.jpg`, caption: caption.value.trim() || "auto", scale_bar: scaleBar.checked } }) };
    try {
      const job = /** @type {Job} */ (await post(`${path}/export`, body));
      mine = job.id;
      showJob(job);
    } catch (error) {
      if (!(error instanceof ApiError)) throw error;
      problem.hidden = false;
      problem.textContent = [error.trouble.what, error.trouble.do].filter(Boolean).join(" ");
    }
  }
  let shown = "";
  /** @param {Job} job */
  async function showJob(job) {
    const now = `${job.state} ${percent(job.share)}`;
    if (now === shown) return;
    shown = now;
    if (!isOver(job)) { fill(outcome, h("p", {}, job.state === "waiting" ? "It waits in the queue: another job runs." : `Being written: ${percent(job.share)}.`)); return; }
    if (job.state !== "done") { fill(outcome, h("p", { class: "caution" }, job.error ? `${job.error.what} ${job.error.do ?? ""}` : `The export was ${job.state}.`)); return; }
    const made = job.results[0] ? /** @type {Result} */ (await get(`results/${encodeURIComponent(job.results[0].id)}`, signal)) : null;
    fill(outcome, h("h2", {}, `${job.output} is written`), made && fileList(made.id, made.files), h("p", { class: "small soft" }, "This command repeats it with the same bytes:"), commandBox(job.command));
  }
  const endJobs = onJobs(() => { const job = jobs().find((one) => one.id === mine); if (job) showJob(job).catch((error) => announce(String(error))); });

  const tuned = options.filter((option) => option.name in chosen);
  fill(place, h("div", { class: "sheet" },
    h("div", { class: "seen" }, h("h1", {}, `Export ${result.name}`),
      result.linear ? h("form", { on: { submit: (/** @type {Event} */ event) => { event.preventDefault(); write(); } } },
        h("div", { class: "row" }, choice("Format", formats, format, (to) => { format = to; }).element),
        h("div", { class: "field" }, h("label", { set: { for: "export-name" } }, "Name"), name),
        h("p", { class: "tick" }, share, h("label", { set: { for: "export-share" } }, "Also a copy to share: 8 bits, as screens show it")), captionPart, problem,
        h("div", { class: "row" }, h("button", { class: "main", set: { type: "submit" } }, "Write the file")))
        : h("p", {}, "This result has no linear stack beside it. Its files are listed here."),
      outcome,
      h("h2", {}, "Files of this result"), fileList(id, result.files)),
    h("aside", { class: "notes", set: { "aria-label": "How it was made" } },
      result.linear && h("section", { class: "note" }, h("h2", {}, "As it is tuned"), tuned.length === 0 ? h("p", { class: "small soft" }, "Everything is as proposed.")
        : h("ul", { class: "plain small" }, tuned.map((option) => h("li", {}, `${titleOf(option)}: ${chosen[option.name]}`))),
      h("a", { class: "button", set: { href: address("tune", id) } }, "Tune it")),
      h("section", { class: "note" }, h("h2", {}, "How the stack was made"), commandBox(result.command),
        h("details", {}, h("summary", {}, "The recipe"), h("pre", { set: { tabindex: 0, "aria-label": "The recipe" } }, h("code", {}, JSON.stringify(result.recipe.options ?? result.recipe, null, 1))))))));
  setKeys([{ keys: ["Enter"], words: "Write the file", act: write }, { keys: ["t"], words: "Back to tuning", act: () => { location.hash = address("tune", id); } }]);
  return { title: `Export ${result.name}`, capture: result.captures?.[0], result: id, close: endJobs };
}
