// The jobs of the desk, as the server tells them.
import { get, post, remove } from "./api.js";
import { on } from "./events.js";

/** @typedef {import("./types.js").Job} Job */

/** @type {Map<number, Job>} */
const known = new Map();
/** @type {Set<() => void>} */
const watchers = new Set();

/** All of them, the newest first. */
export const jobs = () => [...known.values()].sort((a, b) => b.id - a.id);

/** @param {() => void} watcher @returns {() => void} ends it */
export function onJobs(watcher) {
  watchers.add(watcher);
  return () => watchers.delete(watcher);
}

function tell() { for (const watcher of [...watchers]) watcher(); }

async function load() {
  const answer = /** @type {{jobs: Job[]}} */ (await get("jobs"));
  known.clear();
  for (const job of answer.jobs) known.set(job.id, job);
  tell();
}

export function startJobs() {
  on("job", (/** @type {Job} */ job) => { known.set(job.id, job); tell(); });
  on("open", () => load().catch(() => { /* the stream opens again */ }));
}

/** @param {unknown} body */
export async function addJob(body) {
  const job = /** @type {Job} */ (await post("jobs", body));
  known.set(job.id, job);
  tell();
  return job;
}

/** @param {Job} job */
export const isOver = (job) => !["waiting", "running", "paused"].includes(job.state);

/** @param {Job} job @param {"pause" | "resume" | "again"} what */
export async function tellJob(job, what) {
  const now = /** @type {Job} */ (await post(`jobs/${job.id}/${what}`));
  if (now?.id) known.set(now.id, now);
  tell();
}

/** Cancels it, or forgets one that is over. @param {Job} job */
export async function dropJob(job) {
  await remove(`jobs/${job.id}`);
  if (isOver(job)) known.delete(job.id);
  tell();
}
