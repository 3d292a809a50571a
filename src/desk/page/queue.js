// The queue: what runs, waits and is done; and all results.
import { get } from "./api.js";
import { fill, h, refill } from "./dom.js";
import { on } from "./events.js";
import { attempt, JobRow, pictureOf } from "./job_row.js";
import { jobs, onJobs, tellJob } from "./jobs.js";
import { setKeys } from "./keys.js";
import { onLight } from "./light.js";
import { address } from "./route.js";
import { counted, day } from "./words.js";

/** @typedef {import("./types.js").ResultEntry} ResultEntry */

class JobList {
  /** @type {Map<number, JobRow>} */ #rows = new Map();
  element = h("ul", { class: "jobs", set: { "aria-label": "Jobs" } });
  none = h("p", { class: "soft" }, "Nothing runs. Choose a capture in the folder and stack it: the job appears here, and goes on when this page is closed.");

  show() {
    // Frames were ranked because a capture was looked at: only what is under way or went wrong matters.
    const all = jobs().filter((job) => job.verb !== "survey" || !["done", "cancelled"].includes(job.state));
    this.none.hidden = all.length > 0;
    for (const [id, row] of this.#rows) {
      if (all.some((job) => job.id === id)) continue;
      row.element.remove();
      this.#rows.delete(id);
    }
    all.forEach((job, i) => {
      const row = this.#rows.get(job.id) ?? new JobRow(job.id);
      this.#rows.set(job.id, row);
      row.write(job);
      if (this.element.children[i] !== row.element) this.element.insertBefore(row.element, this.element.children[i] ?? null);
    });
  }

  repaint() {
    for (const row of this.#rows.values()) row.repaint();
    this.show();
  }
}

/** @param {HTMLElement} place @param {AbortSignal} signal */
async function showResults(place, signal) {
  const { results } = /** @type {{results: ResultEntry[]}} */ (await get("results", signal));
  refill(place, results.length === 0 && h("li", { class: "soft" }, "There are none yet."), results.map((entry) => h("li", {},
    h("img", { set: { alt: "", loading: "lazy", decoding: "async", src: pictureOf(entry.id, entry.modified) } }),
    h("span", {}, h("a", { set: { href: address("tune", entry.id) } }, entry.name), h("span", { class: "soft small" }, ` ${day(entry.modified)}`)))));
}

async function pauseOrGoOn() {
  const job = jobs().find(({ state }) => state === "running" || state === "paused");
  if (job) await tellJob(job, job.state === "paused" ? "resume" : "pause");
}

/** @type {import("./route.js").View} */
export async function openQueue(place, _rest, signal) {
  const list = new JobList();
  const results = h("ul", { class: "plain made" });
  await showResults(results, signal);
  fill(place, h("h1", {}, "The queue"), h("p", { class: "soft" }, "One job runs at a time. Jobs go on when this page is closed."),
    list.none, list.element, h("h2", {}, "Results in the folder"), results);
  list.show();
  setKeys([{ keys: ["p", " "], words: "Pause what runs, or go on", act: attempt(pauseOrGoOn) }]);
  const again = () => showResults(results, signal).catch(() => { /* the stream tells again */ });
  const ends = [onJobs(() => list.show()), on("results", again), onLight(() => list.repaint())];
  return { title: `The queue: ${counted(jobs().length, "job")}`, close: () => ends.forEach((end) => end()) };
}
