// Elements without markup in strings: whatever a file is called, it stays text.

/** @typedef {Node | string | number | null | undefined | false} Child */
/** @typedef {Child | Child[] | (Child | Child[])[]} Children */
/**
 * @typedef {object} Props
 * @property {string} [class]
 * @property {Record<string, (event: any) => void>} [on] listeners by name of event
 * @property {Record<string, string | number | boolean | null | undefined>} [set] attributes; null, undefined and false leave them out
 */

/**
 * @template {keyof HTMLElementTagNameMap} K
 * @param {K} tag
 * @param {Props} [props]
 * @param {...Children} children
 * @returns {HTMLElementTagNameMap[K]}
 */
export function h(tag, props = {}, ...children) {
  const element = document.createElement(tag);
  if (props.class) element.className = props.class;
  for (const [name, value] of Object.entries(props.set ?? {})) attribute(element, name, value);
  for (const [name, listener] of Object.entries(props.on ?? {})) element.addEventListener(name, listener);
  fill(element, ...children);
  return element;
}

/**
 * @param {Element} element
 * @param {string} name
 * @param {string | number | boolean | null | undefined} value
 */
export function attribute(element, name, value) {
  if (value === null || value === undefined || value === false) element.removeAttribute(name);
  else element.setAttribute(name, value === true ? "" : String(value));
}

/**
 * Puts children in the place of what an element holds.
 * @param {Element} element
 * @param {...Children} children
 */
export function fill(element, ...children) {
  const nodes = children.flat(2).filter((child) => child !== null && child !== undefined && child !== false);
  element.replaceChildren(...nodes.map((child) => (typeof child === "object" ? child : String(child))));
}

/**
 * As `fill`, for what changes by itself: the focus stays on the link to the same address, or on the
 * element with the same `data-same`.
 * @param {Element} element
 * @param {...Children} children
 */
export function refill(element, ...children) {
  const held = element.contains(document.activeElement) ? document.activeElement : null;
  fill(element, ...children);
  const what = (/** @type {Element} */ one) => one.getAttribute("href") ?? one.getAttribute("data-same");
  if (!held || element.contains(held) || what(held) === null) return;
  const same = [...element.querySelectorAll(held.localName)].find((one) => what(one) === what(held));
  if (same instanceof HTMLElement) same.focus({ preventScroll: true });
}

/**
 * @param {string} words
 * @param {() => void} act
 * @param {{class?: string, set?: Props["set"]}} [more]
 */
export function button(words, act, more = {}) {
  return h("button", { class: more.class, on: { click: act }, set: { type: "button", ...more.set } }, words);
}

/**
 * A few choices of which one holds.
 * @template {string} T
 * @param {string} name what is chosen, for screen readers
 * @param {[T, string][]} choices value and words
 * @param {T} now
 * @param {(value: T) => void} choose
 */
export function choice(name, choices, now, choose) {
  const buttons = choices.map(([value, words]) => button(words, () => { show(value); choose(value); }, { set: { "data-value": value } }));
  /** @param {T} value */
  const show = (value) => buttons.forEach((b) => b.setAttribute("aria-pressed", String(b.dataset.value === value)));
  show(now);
  return { element: h("div", { class: "pair", set: { role: "group", "aria-label": name } }, buttons), show };
}

/**
 * An element of the page that must be there.
 * @template {HTMLElement} T
 * @param {string} id
 * @param {new () => T} kind
 */
export function byId(id, kind) {
  const element = document.getElementById(id);
  if (!(element instanceof kind)) throw new Error(`the page has no ${id}`);
  return element;
}

/**
 * Calls at most once a frame of the screen, with what was asked last.
 * @template {any[]} A
 * @param {(...args: A) => void} act
 */
export function onceAFrame(act) {
  let waiting = 0;
  return (/** @type {A} */ ...args) => {
    cancelAnimationFrame(waiting);
    waiting = requestAnimationFrame(() => act(...args));
  };
}

/**
 * Calls when nothing more was asked for some time.
 * @template {any[]} A
 * @param {number} pause_ms
 * @param {(...args: A) => void} act
 */
export function afterPause(pause_ms, act) {
  let timer = 0;
  return (/** @type {A} */ ...args) => {
    clearTimeout(timer);
    timer = setTimeout(() => act(...args), pause_ms);
  };
}
