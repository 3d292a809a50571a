// The gain of detail over the size of features as a curve one draws; behind it, what is certain.
import { fill, h, onceAFrame } from "./dom.js";
import { coarsest_px, curveThrough, finest_px, mostGain, mostGains, uncertain } from "./gains.js";
import { colour, onLight } from "./light.js";
import { number } from "./words.js";

/** @typedef {import("./gains.js").Gain} Gain */
/** @typedef {import("./types.js").Frc} Frc */

const foot_px = 34;
const left_px = 30;
const head_px = 8;
const closest = 1.04;

/**
 * @param {{frc: Frc | null, measured: Gain[], changed: (gains: Gain[], settled: boolean) => void}} given
 */
export function detailChart({ frc, measured, changed }) {
  /** @type {Gain[]} */
  let gains = [];
  let editable = false;
  const perPx = frc?.arcsec_per_px ?? null;
  const canvas = h("canvas", { set: { "aria-hidden": true } });
  const handles = h("div", { class: "handles" });
  const element = h("div", { class: "detail-chart", set: { role: "group", "aria-label": "Gain of detail over the size of features" } }, canvas, handles);
  const room = () => ({ w: Math.max(1, element.clientWidth - left_px - 8), h: Math.max(1, element.clientHeight - foot_px - head_px) });
  const widest = () => Math.max(24, ...gains.map(({ size }) => size * 1.4));
  const most = () => Math.max(4, ...(editable ? gains : measured).map(({ gain }) => gain * 1.15));
  const x = (/** @type {number} */ size) => left_px + (Math.log2(size / finest_px) / Math.log2(widest() / finest_px)) * room().w;
  const y = (/** @type {number} */ gain) => head_px + (1 - Math.sqrt(gain / most())) * room().h;
  const sizeAt = (/** @type {number} */ px) => finest_px * (widest() / finest_px) ** ((px - left_px) / room().w);
  const gainAt = (/** @type {number} */ py) => most() * Math.max(0, 1 - (py - head_px) / room().h) ** 2;
  const sizeWords = (/** @type {number} */ size) => (perPx ? `${number(size * perPx)} arcsec (${number(size)} px)` : `${number(size)} px`);

  /** Between its neighbours, and within what the option takes. @param {number} i @param {number} size @param {number} gain @returns {Gain} */
  function bounded(i, size, gain) {
    const low = i > 0 ? gains[i - 1].size * closest : finest_px;
    const high = i + 1 < gains.length ? gains[i + 1].size / closest : coarsest_px;
    return { size: Math.min(high, Math.max(low, size)), gain: Math.min(mostGain, Math.max(0, gain)) };
  }
  /** @param {number} i @param {number} size @param {number} gain @param {boolean} settled */
  function move(i, size, gain, settled) {
    gains = gains.map((at, j) => (j === i ? bounded(i, size, gain) : at));
    place();
    changed(gains, settled);
  }
  /** @param {number} i */
  function drop(i) {
    if (gains.length <= 1) return;
    gains = gains.filter((_, j) => j !== i);
    build();
    /** @type {HTMLElement | undefined} */ (handles.children[Math.min(i, gains.length - 1)])?.focus();
    changed(gains, true);
  }
  /** @param {number} size @param {number} gain */
  function add(size, gain) {
    if (!editable || gains.length >= mostGains || gains.some((at) => Math.max(at.size / size, size / at.size) < closest)) return;
    gains = [...gains, { size: Math.min(coarsest_px, Math.max(finest_px, size)), gain: Math.min(mostGain, gain) }].sort((a, b) => a.size - b.size);
    build();
    changed(gains, true);
  }
  /** @param {number} i */
  function handle(i) {
    const button = h("button", { class: "handle", set: { type: "button", role: "slider", "aria-orientation": "vertical", "aria-valuemin": 0, "aria-valuemax": mostGain } });
    button.addEventListener("pointerdown", (event) => { button.setPointerCapture(event.pointerId); button.focus(); event.preventDefault(); });
    button.addEventListener("pointermove", (event) => {
      if (!button.hasPointerCapture(event.pointerId)) return;
      const box = element.getBoundingClientRect();
      move(i, sizeAt(event.clientX - box.left), gainAt(event.clientY - box.top), false);
    });
    button.addEventListener("pointerup", () => changed(gains, true));
    button.addEventListener("dblclick", (event) => { event.stopPropagation(); drop(i); });
    button.addEventListener("keydown", (event) => {
      const { size, gain } = gains[i];
      const step = event.shiftKey ? 1.2 : 1.05;
      /** @type {Record<string, () => void>} */
      const keys = {
        ArrowUp: () => move(i, size, Math.max(gain, 0.1) * step, true), ArrowDown: () => move(i, size, gain / step, true),
        ArrowRight: () => move(i, size * step, gain, true), ArrowLeft: () => move(i, size / step, gain, true),
        Delete: () => drop(i), Backspace: () => drop(i),
        Insert: () => add(size * 1.3, curveThrough(gains)(size * 1.3)),
      };
      if (!keys[event.key]) return;
      event.preventDefault();
      keys[event.key]();
    });
    return button;
  }
  function build() {
    fill(handles, editable ? gains.map((_, i) => handle(i)) : []);
    place();
  }
  function place() {
    [.../** @type {HTMLCollectionOf<HTMLElement>} */ (handles.children)].forEach((button, i) => {
      const { size, gain } = gains[i];
      button.style.transform = `translate(${x(size)}px, ${y(gain)}px)`;
      button.setAttribute("aria-label", `Gain of features of ${sizeWords(size)}`);
      button.setAttribute("aria-valuenow", String(Number(gain.toPrecision(3))));
      button.setAttribute("aria-valuetext", `${number(gain)} times`);
    });
    draw();
  }
  const draw = onceAFrame(() => {
    const ratio = devicePixelRatio;
    Object.assign(canvas, { width: Math.round(element.clientWidth * ratio), height: Math.round(element.clientHeight * ratio) });
    const context = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d"));
    context.scale(ratio, ratio);
    drawCertainty(context);
    drawAxes(context);
    const curve = editable && gains.length > 0 ? curveThrough(gains) : null;
    const line = curve ? Array.from({ length: 160 }, (_, i) => { const size = finest_px * (widest() / finest_px) ** (i / 159); return { size, gain: curve(size) }; })
      : measured.filter(({ size }) => size <= widest());
    context.strokeStyle = colour("ink");
    context.lineWidth = 2;
    context.beginPath();
    for (const { size, gain } of line) context.lineTo(x(size), y(gain));
    context.stroke();
    const doubtful = curve && uncertain(curve, frc);
    if (!doubtful || !curve) return;
    context.strokeStyle = colour("orange");
    context.lineWidth = 4;
    context.setLineDash([3, 4]);
    context.beginPath();
    for (const { size, gain } of line) if (size >= doubtful[0] && size <= doubtful[1]) context.lineTo(x(size), y(gain));
    context.stroke();
  });
  /** The FRC fills from the foot; where it ends the halves agree on nothing. @param {CanvasRenderingContext2D} context */
  function drawCertainty(context) {
    if (!frc) return;
    const foot = head_px + room().h;
    const points = frc.frequency_cycles_per_px.map((frequency, i) => ({ size: 0.5 / frequency, frc: Math.max(0, frc.frc[i] ?? 0) }))
      .filter(({ size }) => size >= finest_px && size <= widest()).sort((a, b) => a.size - b.size);
    if (points.length < 2) return;
    context.fillStyle = colour("shade");
    context.beginPath();
    context.moveTo(x(points[0].size), foot);
    for (const point of points) context.lineTo(x(point.size), foot - point.frc * room().h);
    context.lineTo(x(points[points.length - 1].size), foot);
    context.fill();
    if (!frc.resolution_px) return;
    const finest = frc.resolution_px / 2;
    context.strokeStyle = colour("blue");
    context.setLineDash([5, 4]);
    context.beginPath();
    context.moveTo(x(finest), head_px);
    context.lineTo(x(finest), foot);
    context.stroke();
    context.setLineDash([]);
    context.fillStyle = colour("blue");
    context.font = "12px system-ui, sans-serif";
    context.fillText("finest certain detail", x(finest) + 5, foot - 6);
  }
  /** @param {CanvasRenderingContext2D} context */
  function drawAxes(context) {
    const { w, h: high } = room();
    const foot = head_px + high;
    context.font = "12px system-ui, sans-serif";
    for (const gain of [0, 1, 2, 4, 8, 16].filter((at) => at <= most())) {
      context.fillStyle = colour("rule");
      context.fillRect(left_px, y(gain), w, gain === 1 ? 2 : 1);
      context.fillStyle = colour("soft");
      context.textAlign = "right";
      context.fillText(`${gain}×`, left_px - 5, y(gain) + 4);
    }
    context.textAlign = "center";
    for (const size of [1, 2, 4, 8, 16, 32, 64, 128, 256].filter((at) => at <= widest()))
      context.fillText(perPx ? number(size * perPx, 2) : String(size), x(size), foot + 15);
    context.fillText(perPx ? "size of features, arcsec" : "size of features, px", left_px + w / 2, foot + 30);
  }
  canvas.addEventListener("dblclick", (event) => add(sizeAt(event.offsetX), gainAt(event.offsetY)));
  const resized = new ResizeObserver(place);
  resized.observe(element);
  const endLight = onLight(draw);
  return {
    element,
    /** @param {Gain[] | null} to null: as measured, not to be moved */
    set(to) {
      const focused = [...handles.children].indexOf(/** @type {Element} */ (document.activeElement));
      const same = editable === (to !== null) && gains.length === (to?.length ?? 0);
      editable = to !== null;
      gains = to ?? [];
      if (same) place();
      else build();
      if (focused >= 0) /** @type {HTMLElement | undefined} */ (handles.children[focused])?.focus();
    },
    end() { resized.disconnect(); endLight(); },
  };
}
