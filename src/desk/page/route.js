// Addresses of views: #/look/ID and so on. Opens the view, moves the focus, shows the way.
import { ApiError } from "./api.js";
import { announce } from "./announce.js";
import { button, byId, fill, h } from "./dom.js";
import { setKeys } from "./keys.js";

/**
 * What a view says of itself when it is open.
 * @typedef {object} Opened
 * @property {string} title
 * @property {() => void} [close]
 * @property {string} [capture] id, so that the way leads back to it
 * @property {string} [result] id
 */
/** @typedef {(place: HTMLElement, rest: string[], signal: AbortSignal) => Promise<Opened>} View */

/** @type {{capture?: string, result?: string}} */
const way = {};

/** @param {string} address */
export function go(address) { location.hash = address; }

/** Opens the view again, as what it shows has changed. */
export const reopen = () => window.dispatchEvent(new Event("hashchange"));

/** @param {...string} parts of an address, as they are */
export const address = (...parts) => "#/" + parts.map(encodeURIComponent).join("/");

/** @param {string} view */
function showWay(view) {
  /** @type {[string, string, string | null][]} */
  const stations = [
    ["", "Folder", "#/"],
    ["look", "Look", way.capture ? address("look", way.capture) : null],
    ["stack", "Stack", way.capture ? address("stack", way.capture) : null],
    ["tune", "Tune", way.result ? address("tune", way.result) : null],
    ["export", "Export", way.result ? address("export", way.result) : null],
    ["learn", "Next time", "#/learn"],
  ];
  fill(byId("path", HTMLElement), stations.map(([name, words, to]) => h("li", {}, to
    ? h("a", { set: { href: to, "aria-current": name === view && "page" } }, words)
    : h("span", { set: { title: name === "look" || name === "stack" ? "Choose a capture first" : "Choose a result first" } }, words))));
}

/** @param {unknown} error */
export function troubleView(error) {
  const trouble = error instanceof ApiError ? error.trouble : { what: String(error), do: "Load the page again." };
  const todo = error instanceof ApiError && error.status === 404 ? "It may have been moved or deleted. Choose again from the folder." : trouble.do;
  return h("section", { class: "error" }, h("h2", {}, trouble.what), todo && h("p", {}, todo),
    h("div", { class: "row" }, button("Try again", reopen, { class: "main" }),
      h("a", { class: "button", set: { href: "#/" } }, "To the folder")));
}

/** @param {HTMLElement} main @param {Record<string, View>} views */
export function startRoutes(main, views) {
  /** @type {Opened | null} */
  let open = null;
  let aborter = new AbortController();
  const show = async (/** @type {boolean} */ moved) => {
    aborter.abort();
    aborter = new AbortController();
    const { signal } = aborter;
    open?.close?.();
    open = null;
    setKeys([]);
    const [view, ...rest] = location.hash.replace(/^#\/?/, "").split("/").map(decode);
    const place = h("div", { class: "fade" });
    showWay(view);
    main.replaceChildren(place);
    main.dataset.view = view;
    try {
      const opened = await (views[view] ?? missing)(place, rest, signal);
      if (signal.aborted) { opened.close?.(); return; }
      open = opened;
      remember(opened);
      document.title = `${opened.title} – Lull`;
      showWay(view);
      if (moved) {
        // Who is quicker than the view and is in it already stays where they are.
        if (!main.contains(document.activeElement)) main.focus({ preventScroll: true });
        announce(opened.title);
      }
    } catch (error) {
      if (signal.aborted) return;
      document.title = "Trouble – Lull";
      place.replaceChildren(h("h1", {}, "That did not work"), troubleView(error));
      announce(place.innerText);
    }
  };
  window.addEventListener("hashchange", () => { window.scrollTo(0, 0); show(true); });
  show(false);
}

/** Another capture has other results. @param {Opened} opened */
function remember(opened) {
  if (opened.capture && opened.capture !== way.capture) Object.assign(way, { capture: opened.capture, result: undefined });
  if (opened.result) way.result = opened.result;
}

/** @param {string} part */
function decode(part) {
  try { return decodeURIComponent(part); } catch { return part; }
}

/** @type {View} */
const missing = async () => { throw new ApiError(404, { what: "There is no such view.", do: "Go to the folder and choose from there." }); };
