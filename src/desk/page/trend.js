// One figure over the captures of the folder, in the order of time.
import { h } from "./dom.js";
import { colour, onLight } from "./light.js";
import { day, number } from "./words.js";

/** @typedef {{name: string, when: string, value: number | null}} Entry */

const high_px = 170;

/**
 * @param {string} title @param {string} unit of the axis @param {string} reading how to read it @param {Entry[]} entries
 */
export function trend(title, unit, reading, entries) {
  const place = h("div", { class: "trend-plot", set: { "aria-hidden": true } });
  const readout = h("p", { class: "small digits soft", set: { "aria-hidden": true } });
  /** @type {uPlot | null} */
  let plot = null;
  const tell = () => {
    const entry = entries[plot?.cursor.idx ?? -1];
    readout.textContent = entry ? `${entry.name}, ${day(entry.when)}: ${number(entry.value)}` : " ";
  };
  const build = () => {
    plot?.destroy();
    plot = new uPlot(options(unit, entries, place.clientWidth, tell), [entries.map(placeOf), entries.map(({ value }) => value)], place);
  };
  const resized = new ResizeObserver(() => { if (place.clientWidth > 0) build(); });
  resized.observe(place);
  const endLight = onLight(build);
  const element = h("section", { class: "trend" }, h("h3", {}, title), h("p", { class: "small soft" }, reading), place, readout, table(title, entries));
  return { element, end: () => { resized.disconnect(); endLight(); plot?.destroy(); } };
}

/** Captures of one night stand where their time is, those of several beside each other. @param {Entry[]} entries */
function spansNight(entries) {
  const [from, to] = [seconds(entries[0]), seconds(entries[entries.length - 1])];
  return to > from && to - from < 86400;
}

/** @param {Entry} entry */
const seconds = ({ when }) => Date.parse(when) / 1000;

/** @param {Entry} entry @param {number} i @param {Entry[]} all in the order of time */
const placeOf = (entry, i, all) => (spansNight(all) ? seconds(entry) : i);

/** Room on both sides, so that no point lies on the edge. @param {Entry[]} entries @returns {[number, number]} */
function widened(entries) {
  const [from, to] = [seconds(entries[0]), seconds(entries[entries.length - 1])];
  const room = Math.max(30, 0.04 * (to - from));
  return [from - room, to + room];
}

/** What uPlot draws. @param {string} unit @param {Entry[]} entries @param {number} width @param {() => void} tell */
function options(unit, entries, width, tell) {
  const isNight = spansNight(entries);
  const rule = { stroke: colour("rule"), width: 1 };
  const font = "12px system-ui, sans-serif";
  const axis = { stroke: colour("soft"), font, grid: rule, ticks: rule };
  const times = (/** @type {unknown} */ _plot, /** @type {number[]} */ at) =>
    at.map((i) => (isNight ? clock(new Date(1000 * i).toISOString()) : Number.isInteger(i) && entries[i] ? clock(entries[i].when) : ""));
  const points = { show: true, size: 8, fill: colour("paper"), stroke: colour("blue"), width: 2 };
  return {
    width: Math.max(200, width), height: high_px, legend: { show: false },
    cursor: { y: false, drag: { x: false, y: false } }, hooks: { setCursor: [tell] },
    scales: { x: { time: isNight, range: isNight ? widened(entries) : [-0.5, entries.length - 0.5] } },
    axes: [{ ...axis, size: 30, values: times }, { ...axis, size: 56, label: unit, labelSize: 20, labelFont: font }],
    series: [{}, { stroke: colour("blue"), width: 1.5, spanGaps: true, points }],
  };
}

/** The same as a table, for those who do not see the plot. @param {string} title @param {Entry[]} entries */
const table = (title, entries) => h("details", { class: "small" }, h("summary", {}, `The figures of ${title.toLowerCase()}`),
  h("table", {}, h("tbody", {}, entries.map(({ name, when, value }) => h("tr", {},
    h("th", { set: { scope: "row" } }, name), h("td", {}, day(when)), h("td", { class: "digits" }, number(value)))))));

/** @param {string} when */
const clock = (when) => new Date(when).toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
