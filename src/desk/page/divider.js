// The line between two pictures on one stage, to be dragged or moved by keys.
import { h } from "./dom.js";

/** @type {Record<string, number>} */
const keySteps = { ArrowLeft: -0.02, ArrowRight: 0.02, PageDown: -0.1, PageUp: 0.1, Home: -1, End: 1 };

export class Divider {
  #share = 0.5;
  #shown = false;

  /** @param {import("./stage.js").Stage} stage @param {() => [string, string]} names left, right */
  constructor(stage, names) {
    this.stage = stage;
    this.names = names;
    const range = { "aria-valuemin": 0, "aria-valuemax": 100 };
    this.line = h("div", { class: "divider", set: { role: "slider", tabindex: 0, "aria-label": "Divider between two pictures", ...range } });
    this.left = h("span", { class: "side left" });
    this.right = h("span", { class: "side right" });
    this.line.addEventListener("pointerdown", (event) => { this.line.setPointerCapture(event.pointerId); event.stopPropagation(); });
    this.line.addEventListener("pointermove", (event) => {
      if (!this.line.hasPointerCapture(event.pointerId)) return;
      const box = stage.element.getBoundingClientRect();
      this.#set((event.clientX - box.left) / box.width);
    });
    this.line.addEventListener("keydown", (event) => {
      if (keySteps[event.key] === undefined) return;
      event.preventDefault();
      this.#set(this.#share + keySteps[event.key]);
    });
    stage.element.append(this.left, this.right, this.line);
    this.#write();
  }

  /** @param {boolean} yes */
  show(yes) {
    this.#shown = yes;
    this.#write();
  }

  /** @param {number} to share of the stage */
  #set(to) {
    this.#share = Math.min(1, Math.max(0, to));
    this.#write();
  }

  #write() {
    const [left, right] = this.names();
    const hundredths = Math.round(100 * this.#share);
    this.stage.divide = this.#shown ? this.#share : 0;
    this.line.hidden = this.left.hidden = this.right.hidden = !this.#shown;
    this.line.style.left = `${100 * this.#share}%`;
    this.left.textContent = left;
    this.right.textContent = right;
    this.line.setAttribute("aria-valuenow", String(hundredths));
    this.line.setAttribute("aria-valuetext", `${left} on the left ${hundredths} percent, ${right} on the right`);
    this.stage.redraw();
  }
}
