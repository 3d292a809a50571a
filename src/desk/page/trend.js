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
  function build() {
    plot?.destroy();
    const axis = { stroke: colour("soft"), font: "12px system-ui, sans-serif", grid: { stroke: colour("rule"), width: 1 }, ticks: { stroke: colour("rule"), width: 1 } };
    const size = { width: Math.max(200, place.clientWidth), height: high_px };
    plot = new uPlot({
      ...size, legend: { show: false }, cursor: { y: false, drag: { x: false, y: false } }, hooks: { setCursor: [tell] },
      scales: { x: { time: false, range: [-0.5, entries.length - 0.5] } },
      axes: [{ ...axis, size: 30, values: (/** @type {unknown} */ _u, /** @type {number[]} */ at) => at.map((i) => (Number.isInteger(i) && entries[i] ? clock(entries[i].when) : "")) },
        { ...axis, size: 56, label: unit, labelSize: 20, labelFont: "12px system-ui, sans-serif" }],
      series: [{}, { stroke: colour("blue"), width: 1.5, spanGaps: true, points: { show: true, size: 8, fill: colour("paper"), stroke: colour("blue"), width: 2 } }],
    }, [entries.map((_, i) => i), entries.map(({ value }) => value)], place);
  }
  const resized = new ResizeObserver(() => { if (place.clientWidth > 0) build(); });
  resized.observe(place);
  const endLight = onLight(build);
  const element = h("section", { class: "trend" }, h("h3", {}, title), h("p", { class: "small soft" }, reading), place, readout,
    h("details", { class: "small" }, h("summary", {}, `The figures of ${title.toLowerCase()}`), h("table", {}, h("tbody", {}, entries.map((entry) => h("tr", {}, h("th", { set: { scope: "row" } }, entry.name), h("td", {}, day(entry.when)), h("td", { class: "digits" }, number(entry.value))))))));
  return { element, end: () => { resized.disconnect(); endLight(); plot?.destroy(); } };
}

/** @param {string} when */
const clock = (when) => new Date(when).toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
