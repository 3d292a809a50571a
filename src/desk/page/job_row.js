// One job of the queue: made once, written again as it goes on.
import { ApiError, samples } from "./api.js";
import { announce } from "./announce.js";
import { button, fill, h } from "./dom.js";
import { dropJob, isOver, tellJob } from "./jobs.js";
import { light } from "./light.js";
import { address } from "./route.js";
import { paint } from "./tone.js";
import { day, duration, percent } from "./words.js";

/** @typedef {import("./types.js").Job} Job */

/** @type {Record<string, string>} */
const states = {
  waiting: "Waiting", running: "Running", paused: "Paused", done: "Done", failed: "Failed", cancelled: "Cancelled",
  interrupted: "Interrupted: the desk ended meanwhile",
};
/** @type {Record<string, string>} */
const verbs = { stack: "Stack", survey: "Ranking of frames", finish: "Export" };

/** @param {Job} job */
function titleOf({ verb, names }) {
  const of = names.length > 2 ? `${names[0]} and ${names.length - 1} more` : names.join(" and ");
  return `${verbs[verb] ?? verb} of ${of}`;
}

/** @param {Job} job */
function stateOf(job) {
  const words = [states[job.state]];
  if (job.state === "running" || job.state === "paused") words.push(`: ${job.stage || "starting"}, ${percent(job.share)}`);
  if (job.state === "running" && job.left_s !== null) words.push(`, ${duration(job.left_s)} left`);
  if (job.state === "done" && job.started_utc && job.ended_utc)
    words.push(` in ${duration((Date.parse(job.ended_utc) - Date.parse(job.started_utc)) / 1000)}`);
  return `${words.join("")}. ${day(job.created_utc)}`;
}

/** Where a small picture of a result is. @param {string} id @param {string} version */
export const pictureOf = (id, version) => `api/results/${encodeURIComponent(id)}/picture?v=${encodeURIComponent(version)}`;

/** Says what went wrong instead of throwing it. @param {() => Promise<void>} act */
export const attempt = (act) => () => act().catch((error) => announce(error instanceof ApiError ? error.trouble.what : String(error)));

/** @param {Job} job */
function actions(job) {
  const act = (/** @type {string} */ words, /** @type {() => Promise<void>} */ what) =>
    button(words, attempt(what), { set: { "aria-label": `${words} (${titleOf(job)})` } });
  if (!isOver(job)) {
    return [job.state === "running" && act("Pause", () => tellJob(job, "pause")), job.state === "paused" && act("Go on", () => tellJob(job, "resume")),
      act("Cancel", () => dropJob(job))];
  }
  const link = (/** @type {string} */ view, /** @type {string} */ id, /** @type {string} */ words, main = false) =>
    h("a", { class: main ? "button main" : "button", set: { href: address(view, id) } }, words);
  const results = job.results.flatMap((id) => (job.verb === "finish" ? [link("export", id, `Files of ${job.output}`, true)]
    : [link("tune", id, `Tune ${job.output}`, true), link("export", id, "Export")]));
  return [...results, job.verb !== "survey" && act("The same again", () => tellJob(job, "again")), act("Forget", () => dropJob(job))];
}

export class JobRow {
  /** number of the preview that is shown */ #seen = 0;
  #written = "";

  /** @param {number} id */
  constructor(id) {
    this.id = id;
    this.title = h("h2");
    this.state = h("p", { class: "small digits" });
    this.bar = h("span", { class: "thread" });
    const range = { "aria-valuemin": 0, "aria-valuemax": 100 };
    this.progress = h("div", { class: "progress", set: { role: "progressbar", "aria-label": "Progress", ...range } }, this.bar);
    this.notes = h("div", { class: "small" });
    this.buttons = h("div", { class: "row" });
    this.canvas = h("canvas", { set: { role: "img", "aria-label": "The stack as it grows", hidden: true } });
    this.picture = h("img", { set: { alt: "", decoding: "async", hidden: true }, on: { load: () => { this.picture.hidden = false; }, error: () => { this.picture.hidden = true; } } });
    this.element = h("li", { class: "job" }, h("div", { class: "grown" }, this.canvas, this.picture),
      h("div", { class: "told" }, this.title, this.state, this.progress, this.notes, this.buttons));
  }

  /** @param {Job} job */
  write(job) {
    this.title.textContent = titleOf(job);
    this.state.textContent = stateOf(job);
    this.progress.hidden = isOver(job) || job.state === "waiting";
    this.progress.setAttribute("aria-valuenow", String(Math.round(100 * job.share)));
    this.bar.style.width = `${100 * job.share}%`;
    if (job.preview && !isOver(job)) this.#look(job.preview);
    if (isOver(job)) this.canvas.hidden = true;
    if (job.state === "done" && job.results.length > 0 && !this.picture.src) this.picture.src = pictureOf(job.results[0], String(job.ended_utc));
    const now = JSON.stringify([job.state, job.results, job.warnings, job.error]);
    if (now === this.#written) return;
    this.#written = now;
    const focused = this.buttons.contains(document.activeElement);
    fill(this.notes, job.error && h("p", { class: "caution" }, h("b", {}, job.error.what), " ", job.error.do),
      job.warnings.map((words) => h("p", {}, words)));
    fill(this.buttons, actions(job));
    if (focused) /** @type {HTMLElement | null} */ (this.buttons.querySelector("a, button"))?.focus();
  }

  /** The picture as it grows. @param {number} preview */
  async #look(preview) {
    if (preview === this.#seen) return;
    this.#seen = preview;
    try {
      const { picture, show } = await samples(`jobs/${this.id}/preview`);
      const painted = paint(picture, show, light() === "red");
      Object.assign(this.canvas, { width: picture.width, height: picture.height, hidden: false });
      /** @type {CanvasRenderingContext2D} */ (this.canvas.getContext("2d")).drawImage(painted, 0, 0);
    } catch { /* the job has ended meanwhile */ }
  }

  /** Another light: the next writing shows the picture again. */
  repaint() { this.#seen = 0; }
}
