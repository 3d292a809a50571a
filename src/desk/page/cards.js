// A list of any length: only the cards that are seen exist.
import { h, onceAFrame } from "./dom.js";

/**
 * @template T
 * @typedef {object} Source
 * @property {(item: T) => string} id
 * @property {(item: T) => HTMLElement} card makes a card, with one link that leads on
 */

const least_px = 350;
const high_px = 148;

/** @template {object} T */
export class Cards {
  /** @type {T[]} */ #items = [];
  /** @type {Map<string, {item: T, element: HTMLElement}>} */ #made = new Map();
  /** the card that keys move */ current = 0;
  #columns = 1;

  /** @param {Source<T>} source @param {string} name of the list */
  constructor(source, name) {
    this.source = source;
    this.element = h("ul", { class: "cards", set: { "aria-label": name } });
    this.redraw = onceAFrame(() => this.#draw());
    const resized = new ResizeObserver(() => this.redraw());
    resized.observe(this.element);
    const scrolled = () => this.redraw();
    window.addEventListener("scroll", scrolled, { passive: true });
    this.end = () => { resized.disconnect(); window.removeEventListener("scroll", scrolled); };
    this.element.addEventListener("focusin", (event) => {
      const index = Number(/** @type {HTMLElement} */ (event.target).closest("li")?.dataset.index);
      if (Number.isInteger(index)) this.current = index;
    });
  }

  /** @param {T[]} items in their order */
  show(items) {
    this.#items = items;
    this.current = Math.max(0, Math.min(this.current, items.length - 1));
    this.redraw();
  }

  /** Moves to another card. @param {number} right @param {number} down */
  step(right, down) {
    this.focus(this.current + right + down * this.#columns);
  }

  /** @param {number} index */
  focus(index) {
    if (this.#items.length === 0) return;
    this.current = Math.max(0, Math.min(this.#items.length - 1, index));
    const top = this.element.getBoundingClientRect().top + Math.floor(this.current / this.#columns) * high_px;
    if (top < 80 || top + high_px > innerHeight - 20) window.scrollBy(0, top - innerHeight / 2 + high_px / 2);
    this.#draw();
    this.#made.get(this.source.id(this.#items[this.current]))?.element.querySelector("a")?.focus({ preventScroll: true });
  }

  #draw() {
    const width = this.element.clientWidth;
    const columns = this.#columns = Math.max(1, Math.floor(width / least_px));
    const rows = Math.ceil(this.#items.length / columns);
    this.element.style.height = `${rows * high_px}px`;
    const top = -this.element.getBoundingClientRect().top;
    const first = Math.max(0, Math.floor(top / high_px) - 2) * columns;
    const last = Math.min(this.#items.length, (Math.ceil((top + innerHeight) / high_px) + 2) * columns);
    /** @type {Set<string>} */
    const seen = new Set();
    for (let i = first; i < last; ++i) seen.add(this.#place(i, width / columns));
    if (this.current < this.#items.length) seen.add(this.#place(this.current, width / columns));
    for (const [id, { element }] of this.#made) {
      if (seen.has(id)) continue;
      element.remove();
      this.#made.delete(id);
    }
  }

  /** @param {number} index @param {number} wide px of a card */
  #place(index, wide) {
    const item = this.#items[index];
    const id = this.source.id(item);
    let made = this.#made.get(id);
    if (made?.item !== item) {
      const focused = made?.element.contains(document.activeElement);
      const element = h("li", {}, this.source.card(item));
      if (made) made.element.replaceWith(element);
      else this.#insert(element, index);
      made = { item, element };
      this.#made.set(id, made);
      if (focused) element.querySelector("a")?.focus({ preventScroll: true });
    }
    const { element } = made;
    if (element.dataset.index !== String(index)) {
      element.dataset.index = String(index);
      element.setAttribute("aria-posinset", String(index + 1));
    }
    element.setAttribute("aria-setsize", String(this.#items.length));
    element.style.width = `${wide}px`;
    element.style.transform = `translate(${(index % this.#columns) * wide}px, ${Math.floor(index / this.#columns) * high_px}px)`;
    return id;
  }

  /** In the order of the list, in which Tab and screen readers go. @param {HTMLElement} element @param {number} index */
  #insert(element, index) {
    const next = [.../** @type {HTMLCollectionOf<HTMLElement>} */ (this.element.children)].find((other) => Number(other.dataset.index) > index);
    this.element.insertBefore(element, next ?? null);
  }
}
