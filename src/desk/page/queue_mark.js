// The queue in the head: what runs, from every view.
import { announce } from "./announce.js";
import { fill, h } from "./dom.js";
import { jobs, onJobs, startJobs } from "./jobs.js";
import { percent } from "./words.js";

export function startQueueMark() {
  const bar = h("span", { class: "thread" });
  const words = h("span");
  const link = h("a", { class: "button queue-mark", set: { href: "#/queue" } }, words, bar);
  /** @type {Map<number, string>} */
  const states = new Map();
  const show = () => {
    const all = jobs();
    const running = all.find((job) => job.state === "running") ?? all.find((job) => job.state === "paused");
    const waiting = all.filter((job) => job.state === "waiting").length;
    fill(words, running ? `${running.state === "paused" ? "Paused at" : "Queue"} ${percent(running.share)}` : "Queue", waiting > 0 && `, ${waiting} waiting`);
    bar.style.width = `${100 * (running?.share ?? 0)}%`;
    for (const job of all) {
      const before = states.get(job.id);
      if (before && before !== job.state && job.verb !== "survey") announce(`${job.names[0] ?? job.verb}: ${job.state}.`);
      states.set(job.id, job.state);
    }
  };
  onJobs(show);
  startJobs();
  show();
  return link;
}
