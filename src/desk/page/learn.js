// Next time: what the captures of this folder tell about how to record the next ones.
import { get } from "./api.js";
import { fill, h } from "./dom.js";
import { upper } from "./findings.js";
import { address } from "./route.js";
import { trend } from "./trend.js";
import { counted } from "./words.js";

/** @typedef {import("./types.js").Capture} Capture */
/** @typedef {import("./types.js").CaptureDetails} CaptureDetails */
/** @typedef {import("./types.js").Finding} Finding */

const most = 60;
const at_once = 4;
const mostLinks = 8;

/** @param {Capture} capture */
const when = (capture) => capture.begun_utc ?? capture.modified;

/** @param {Capture[]} captures @param {AbortSignal} signal */
async function inspected(captures, signal) {
  const waiting = [...captures];
  /** @type {CaptureDetails[]} */
  const out = [];
  const work = async () => {
    for (let next = waiting.shift(); next; next = waiting.shift()) {
      const details = /** @type {CaptureDetails} */ (await get(`captures/${encodeURIComponent(next.id)}`, signal));
      if (details.inspect) out.push(details);
    }
  };
  await Promise.all(Array.from({ length: at_once }, work));
  return out.sort((a, b) => when(a).localeCompare(when(b)));
}

/** Findings of one kind, with the captures that have them; the most frequent first. @param {CaptureDetails[]} captures */
function together(captures) {
  /** @type {Map<string, {finding: Finding, captures: CaptureDetails[]}>} */
  const kinds = new Map();
  for (const capture of captures) {
    for (const finding of /** @type {Finding[]} */ (capture.inspect?.findings ?? [])) {
      const of = kinds.get(finding.name)?.captures ?? [];
      kinds.set(finding.name, { finding, captures: [...of, capture] });
    }
  }
  return [...kinds.values()].sort((a, b) => b.captures.length - a.captures.length);
}

/** @typedef {{title: string, unit: string, reading: string, relative?: boolean, of: (inspect: Record<string, any>, figures: Partial<import("./types.js").NightFigures>) => number | null | undefined}} Trend */
/** @type {Trend[]} */
const trends = [
  {
    title: "Sharpness of the median frame", unit: "% of the sharpest capture", relative: true,
    reading: "Higher is sharper. It compares captures of one object by one instrument.",
    of: (_, { sharpness_middle: sharpness }) => sharpness,
  },
  {
    title: "Strength of the air", unit: "D/r0",
    reading: "Lower is calmer. It is measured when a capture is stacked and aperture, focal length and pixels are known.",
    of: (_, { d_over_r0: strength }) => strength,
  },
  {
    title: "Altitude of the object", unit: "degrees",
    reading: "The higher, the less air on the way. From the object in the name, the moment in the file and the site of the profile.",
    of: (_, { altitude_deg: altitude }) => altitude,
  },
  {
    title: "Focus: change of sharpness within a capture", unit: "% from first to last",
    reading: "Below zero again and again: the focus drifts, or dew settles.",
    of: ({ sharpness }) => (Number.isFinite(sharpness?.change) ? 100 * sharpness.change : null),
  },
  {
    title: "Finest detail in the frames", unit: "period, px",
    reading: "Lower is finer: focus, the air and the altitude of the object show here.",
    of: ({ detail }) => (detail?.limit_cycles_per_px > 0 ? 1 / detail.limit_cycles_per_px : null),
  },
  {
    title: "How much the calm moments gain", unit: "best tenth / middle",
    reading: "Higher: the air comes and goes, and choosing frames pays.",
    of: ({ sharpness }) => sharpness?.best_tenth_over_middle,
  },
  {
    title: "Jitter of the object", unit: "px",
    reading: "Wind and the mount move the whole picture between frames.",
    of: ({ motion }) => motion?.jitter_px,
  },
  {
    title: "Brightest light", unit: "% of full scale",
    reading: "Between 60 and 90% uses the range of the camera (common practice, no source).",
    of: ({ exposure }) => (Number.isFinite(exposure?.brightest) ? 100 * exposure.brightest : null),
  },
];

/** Links to a few captures; the rest as a number. @param {CaptureDetails[]} captures */
const linksTo = (captures) => [
  ...captures.slice(-mostLinks).flatMap(({ id, name }, i) => [i > 0 && ", ", h("a", { set: { href: address("look", id) } }, name)]),
  captures.length > mostLinks && ` and ${captures.length - mostLinks} more`,
];

/** @param {CaptureDetails[]} captures in the order of time */
function trendsOf(captures) {
  if (captures.length < 2) return [];
  return trends.flatMap(({ title, unit, reading, relative, of }) => {
    const values = captures.map((capture) => finite(of(capture.inspect ?? {}, capture.trend ?? {})));
    const full = relative ? Math.max(...values.map((value) => value ?? 0)) / 100 || 1 : 1;
    const entries = captures.map((capture, i) => ({ name: capture.name, when: when(capture), value: values[i] === null ? null : values[i] / full }));
    return entries.filter(({ value }) => value !== null).length < 2 ? [] : [trend(title, unit, reading, entries)];
  });
}

const noneYet = "No capture has been looked at yet. Open one from the folder: its frames are ranked, and what they tell is kept here.";

/** @type {import("./route.js").View} */
export async function openLearn(place, _rest, signal) {
  const answer = /** @type {{captures: Capture[]}} */ (await get("captures", signal));
  const surveyed = answer.captures.filter((capture) => capture.surveyed).sort((a, b) => when(b).localeCompare(when(a)));
  const captures = await inspected(surveyed.slice(0, most), signal);
  const plots = trendsOf(captures);
  const healthy = captures.filter((capture) => (capture.inspect?.findings ?? []).length === 0);
  const part = surveyed.length > most ? `, the newest of ${surveyed.length}` : "";
  const lessons = together(captures).map(({ finding, captures: of }) => h("li", {}, h("h2", {}, upper(finding.next)), h("p", {}, `${upper(finding.what)}.`),
    h("p", { class: "small soft" }, `${of.length} of ${captures.length}: `, linksTo(of))));
  fill(place, h("h1", {}, "Next time"),
    h("p", { class: "soft" }, captures.length === 0 ? noneYet : `From ${counted(captures.length, "capture")}${part}.`),
    lessons.length > 0 && h("ol", { class: "lessons" }, lessons),
    healthy.length > 0 && h("p", {}, `${counted(healthy.length, "capture")} without anything to change: `, linksTo(healthy)),
    plots.length > 0 && [h("h2", {}, "Over the night"), h("div", { class: "trends" }, plots.map((plot) => plot.element))]);
  return { title: "Next time", close: () => plots.forEach((plot) => plot.end()) };
}

/** @param {unknown} value @returns {number | null} */
const finite = (value) => (typeof value === "number" && Number.isFinite(value) ? value : null);
