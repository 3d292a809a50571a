// What `lull night` made, and still makes, of the captures of the folder.
import { get } from "./api.js";
import { h, refill } from "./dom.js";
import { counted } from "./words.js";

/** @typedef {import("./types.js").Night} Night */
/** @typedef {import("./types.js").NightPicture} NightPicture */

const pause = 3000;  // ms, while a picture is at work or waits
const order = ["failed", "at work", "waiting", "skipped", "done"];

/** @param {NightPicture} picture */
function rowOf({ name, state, error }) {
  return h("li", { class: state === "failed" ? "trouble" : "" }, h("bdi", {}, name), `: ${state}`,
    error && `. ${error.what}${error.do ? `; ${error.do}` : ""}`);
}

/** "3 done, 1 at work" @param {NightPicture[]} pictures */
const countsOf = (pictures) => [...order].reverse()
  .map((state) => ({ state, count: pictures.filter((picture) => picture.state === state).length }))
  .filter(({ count }) => count > 0).map(({ state, count }) => `${count} ${state}`).join(", ");

/** @param {Night} night @param {boolean} open */
function sectionOf(night, open) {
  const pictures = [...night.pictures].sort((a, b) => order.indexOf(a.state) - order.indexOf(b.state));
  const page = `api/nights/${encodeURIComponent(night.id)}/night.html`;
  return h("details", { class: "night", set: { open } },
    h("summary", { set: { "data-same": night.id } }, "Night in ", h("bdi", {}, night.results), `: ${counted(pictures.length, "picture")}, ${countsOf(pictures)}`),
    night.has_page && h("p", {}, h("a", { set: { href: page, target: "_blank", rel: "noopener" } }, "The page of this night")),
    h("ul", {}, pictures.map(rowOf)));
}

/** Shows them, and goes on while a night is at work. @param {AbortSignal} signal */
export function nightsOf(signal) {
  const element = h("div");
  let shown = "";
  let timer = 0;
  const show = async () => {
    window.clearTimeout(timer);
    let more = false;
    try {
      const { nights } = /** @type {{nights: Night[]}} */ (await get("nights", signal));
      more = nights.some(({ pictures }) => pictures.some(({ state }) => state === "at work" || state === "waiting"));
      const now = JSON.stringify(nights);
      if (now !== shown) {
        const open = new Set([...element.querySelectorAll("details[open] > summary")].map((one) => /** @type {HTMLElement} */ (one).dataset.same));
        refill(element, nights.map((night) => sectionOf(night, open.has(night.id))));
        shown = now;
      }
    } catch { /* the list of captures says what is wrong */ }
    if (more && !signal.aborted) timer = window.setTimeout(show, pause);
  };
  return { element, show };
}
