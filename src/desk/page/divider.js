// The line between two pictures on one stage, to be dragged or moved by keys.
import { h } from "./dom.js";

/**
 * @param {import("./stage.js").Stage} stage
 * @param {() => [string, string]} names left, right
 */
export function divider(stage, names) {
  const line = h("div", { class: "divider", set: { role: "slider", tabindex: 0, "aria-label": "Divider between two pictures", "aria-valuemin": 0, "aria-valuemax": 100 } });
  const labels = [h("span", { class: "side left" }), h("span", { class: "side right" })];
  let share = 0.5;
  let shown = false;
  const write = () => {
    const [left, right] = names();
    stage.divide = shown ? share : 0;
    line.hidden = !shown;
    labels[0].hidden = labels[1].hidden = !shown;
    line.style.left = `${100 * share}%`;
    labels[0].textContent = left;
    labels[1].textContent = right;
    line.setAttribute("aria-valuenow", String(Math.round(100 * share)));
    line.setAttribute("aria-valuetext", `${left} on the left ${Math.round(100 * share)} percent, ${right} on the right`);
    stage.redraw();
  };
  const set = (/** @type {number} */ to) => { share = Math.min(1, Math.max(0, to)); write(); };
  line.addEventListener("pointerdown", (event) => { line.setPointerCapture(event.pointerId); event.stopPropagation(); });
  line.addEventListener("pointermove", (event) => {
    if (!line.hasPointerCapture(event.pointerId)) return;
    const box = stage.element.getBoundingClientRect();
    set((event.clientX - box.left) / box.width);
  });
  line.addEventListener("keydown", (event) => {
    /** @type {Record<string, number>} */
    const steps = { ArrowLeft: -0.02, ArrowRight: 0.02, PageDown: -0.1, PageUp: 0.1, Home: -1, End: 1 };
    if (steps[event.key] === undefined) return;
    event.preventDefault();
    set(share + steps[event.key]);
  });
  stage.element.append(...labels, line);
  write();
  /** @param {boolean} yes */
  const show = (yes) => { shown = yes; write(); };
  return { show, set, element: line };
}
