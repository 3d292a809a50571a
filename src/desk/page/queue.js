// The queue: what runs, waits and is done, with the picture as it grows; and all results.
import { ApiError, get, samples } from "./api.js";
import { announce } from "./announce.js";
import { button, fill, h } from "./dom.js";
import { on } from "./events.js";
import { dropJob, isOver, jobs, onJobs, tellJob } from "./jobs.js";
import { setKeys } from "./keys.js";
import { light, onLight } from "./light.js";
import { address } from "./route.js";
import { paint } from "./tone.js";
import { counted, day, duration, percent } from "./words.js";

/** @typedef {import("./types.js").Job} Job */

/** @type {Record<string, string>} */
const stateWords = { waiting: "Waiting", running: "Running", paused: "Paused", done: "Done", failed: "Failed", cancelled: "Cancelled", interrupted: "Interrupted: the desk ended meanwhile" };
/** @type {Record<string, string>} */
const verbs = { stack: "Stack", survey: "Ranking of frames", finish: "Export" };

/** @param {Job} job */
const titleOf = (job) => `${verbs[job.verb] ?? job.verb} of ${job.names.length > 2 ? `${job.names[0]} and ${job.names.length - 1} more` : job.names.join(" and ")}`;

/** @param {() => Promise<void>} act */
const attempt = (act) => () => act().catch((error) => announce(error instanceof ApiError ? error.trouble.what : String(error)));

/** One job; made once, written again as it goes on. @param {number} id */
function row(id) {
  const title = h("h2");
  const state = h("p", { class: "small digits" });
  const thread = h("div", { class: "progress", set: { role: "progressbar", "aria-valuemin": 0, "aria-valuemax": 100, "aria-label": "Progress" } }, h("span", { class: "thread" }));
  const bar = /** @type {HTMLElement} */ (thread.firstElementChild);
  const notes = h("div", { class: "small" });
  const buttons = h("div", { class: "row" });
  const canvas = h("canvas", { set: { role: "img", "aria-label": "The stack as it grows", hidden: true } });
  const element = h("li", { class: "job" }, h("div", { class: "grown" }, canvas), h("div", { class: "told" }, title, state, thread, notes, buttons));
  let seen = 0;
  let buttonsOf = "";

  /** @param {number} version */
  async function look(version) {
    if (version === seen) return;
    seen = version;
    try {
      const { picture, show } = await samples(`jobs/${id}/preview`);
      const painted = paint(picture, show, light() === "red");
      Object.assign(canvas, { width: picture.width, height: picture.height, hidden: false });
      /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d")).drawImage(painted, 0, 0);
    } catch { /* the job has ended meanwhile */ }
  }
  /** @param {Job} job */
  function write(job) {
    title.textContent = titleOf(job);
    const left = job.state === "running" && job.left_s !== null ? `, ${duration(job.left_s)} left` : "";
    const at = job.state === "running" || job.state === "paused" ? `: ${job.stage || "starting"}, ${percent(job.share)}${left}` : "";
    const took = job.state === "done" && job.started_utc && job.ended_utc ? ` in ${duration((Date.parse(job.ended_utc) - Date.parse(job.started_utc)) / 1000)}` : "";
    state.textContent = `${stateWords[job.state]}${at}${took}. ${day(job.created_utc)}`;
    thread.hidden = isOver(job) || job.state === "waiting";
    thread.setAttribute("aria-valuenow", String(Math.round(100 * job.share)));
    bar.style.width = `${100 * job.share}%`;
    element.dataset.state = job.state;
    if (job.preview && !isOver(job)) look(job.preview);
    if (isOver(job)) canvas.hidden = true;
    const now = JSON.stringify([job.state, job.results, job.warnings, job.error]);
    if (now === buttonsOf) return;
    buttonsOf = now;
    const focused = buttons.contains(document.activeElement);
    fill(notes, job.error && h("p", { class: "caution" }, h("b", {}, job.error.what), " ", job.error.do), job.warnings.map((words) => h("p", {}, words)));
    fill(buttons, actions(job));
    if (focused) /** @type {HTMLElement | null} */ (buttons.querySelector("a, button"))?.focus();
  }
  return { element, write, repaint: () => { seen = 0; } };
}

/** @param {Job} job */
function actions(job) {
  const of = ` (${titleOf(job)})`;
  const act = (/** @type {string} */ words, /** @type {() => Promise<void>} */ what) => button(words, attempt(what), { set: { "aria-label": words + of } });
  if (!isOver(job)) {
    return [job.state === "running" && act("Pause", () => tellJob(job, "pause")), job.state === "paused" && act("Go on", () => tellJob(job, "resume")), act("Cancel", () => dropJob(job))];
  }
  return [job.results.map(({ id, name }) => [h("a", { class: "button main", set: { href: address("tune", id) } }, `Tune ${name}`), h("a", { class: "button", set: { href: address("export", id) } }, "Export")]).flat(),
    job.verb !== "survey" && act("The same again", () => tellJob(job, "again")), act("Forget", () => dropJob(job))];
}

/** @type {import("./route.js").View} */
export async function openQueue(place, _rest, signal) {
  const list = h("ul", { class: "jobs", set: { "aria-label": "Jobs" } });
  const none = h("p", { class: "soft" }, "Nothing runs. Choose a capture in the folder and stack it: the job appears here, and goes on when this page is closed.");
  const results = h("ul", { class: "plain" });
  /** @type {Map<number, ReturnType<typeof row>>} */
  const rows = new Map();
  const show = () => {
    const all = jobs();
    none.hidden = all.length > 0;
    for (const id of rows.keys()) if (!all.some((job) => job.id === id)) { rows.get(id)?.element.remove(); rows.delete(id); }
    all.forEach((job, i) => {
      const made = rows.get(job.id) ?? row(job.id);
      rows.set(job.id, made);
      made.write(job);
      if (list.children[i] !== made.element) list.insertBefore(made.element, list.children[i] ?? null);
    });
  };
  const loadResults = async () => {
    const answer = /** @type {{results: import("./types.js").ResultEntry[]}} */ (await get("results", signal));
    fill(results, answer.results.length === 0 && h("li", { class: "soft" }, "There are none yet."),
      answer.results.map((entry) => h("li", {}, h("a", { set: { href: address("tune", entry.id) } }, entry.name), h("span", { class: "soft small" }, ` ${day(entry.modified)}`))));
  };
  await loadResults();
  fill(place, h("h1", {}, "The queue"), h("p", { class: "soft" }, "One job runs at a time. Jobs go on when this page is closed."), none, list,
    h("h2", {}, "Results in the folder"), results);
  show();
  const running = () => jobs().find((job) => job.state === "running" || job.state === "paused");
  setKeys([
    { keys: ["p", " "], words: "Pause what runs, or go on", act: attempt(async () => { const job = running(); if (job) await tellJob(job, job.state === "paused" ? "resume" : "pause"); }) },
  ]);
  const ends = [onJobs(show), on("results", () => loadResults().catch(() => { /* the stream tells again */ })), onLight(() => { rows.forEach((made) => made.repaint()); show(); })];
  return { title: `The queue: ${counted(jobs().length, "job")}`, close: () => ends.forEach((end) => end()) };
}
