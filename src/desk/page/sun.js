// The caution wherever the Sun may be meant, before a capture is opened for the first time.
import { post } from "./api.js";
import { button, h } from "./dom.js";
import { desk } from "./state.js";

/** Words of the user's own guide, where the server has none. */
const otherwise = "If this is the Sun: record it only with a certified full-aperture filter in front of the optics, "
  + "the finder capped, and never an eye at unfiltered optics. Follow the maker's and local guidance.";

export const sunWords = () => desk.now?.sun_caution || otherwise;

/**
 * @param {"named" | "possible" | "no" | null} sun
 * @param {AbortSignal} signal
 * @returns {Promise<void>} when it was read, or when none is needed
 */
export async function sunCaution(sun, signal) {
  if ((sun !== "named" && sun !== "possible") || desk.now?.sun_caution_seen) return;
  await new Promise((resolve) => {
    const dialog = h("dialog", { class: "sun", set: { "aria-labelledby": "sun-title" } },
      h("h2", { set: { id: "sun-title" } }, sun === "named" ? "This capture is named after the Sun" : "This may be the Sun"),
      h("p", {}, sunWords()),
      h("div", { class: "row" }, button("I have read this", () => dialog.close(), { class: "main" })));
    dialog.addEventListener("close", () => { dialog.remove(); resolve(undefined); });
    signal.addEventListener("abort", () => dialog.close());
    document.body.append(dialog);
    dialog.showModal();
  });
  if (signal.aborted) return;
  if (desk.now) desk.now.sun_caution_seen = true;
  await post("desk/sun-caution").catch(() => { /* it is asked again next time */ });
}
