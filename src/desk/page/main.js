// The start of the page: head, keys, events, and the view that the address names.
import { get, onAnswers } from "./api.js";
import { button, byId, fill, h } from "./dom.js";
import { startEvents } from "./events.js";
import { setCommonKeys, showKeys, startKeys } from "./keys.js";
import { applyLight, lightChoice, setLight } from "./light.js";
import { startQueueMark } from "./queue_mark.js";
import { go, startRoutes } from "./route.js";
import { desk } from "./state.js";
import { openCapture } from "./capture.js";
import { openExport } from "./export.js";
import { openFolder } from "./folder.js";
import { openLearn } from "./learn.js";
import { openQueue } from "./queue.js";
import { openStack } from "./stack.js";
import { openTune } from "./tune.js";
import { openView } from "./view.js";

const gone = byId("gone", HTMLElement);

/** @param {boolean} is whether the server does not answer */
function showGone(is) {
  if (gone.hidden === !is) return;
  gone.hidden = !is;
  fill(gone, is && "The desk does not answer. If 'lull desk' was ended, start it again and open the address that it prints. "
    + "This page tries again by itself; jobs do not need it.");
}

async function start() {
  applyLight();
  onAnswers(showGone);
  fill(byId("tools", HTMLElement), startQueueMark(), lightChoice(), button("Keys", showKeys, { set: { "aria-keyshortcuts": "?" } }));
  setCommonKeys([
    { keys: ["?"], words: "This list", act: showKeys },
    { keys: ["h"], words: "The folder", act: () => go("#/") },
    { keys: ["j"], words: "The queue", act: () => go("#/queue") },
    { keys: ["n"], words: "Next time: what to change", act: () => go("#/learn") },
    { keys: ["d"], words: "Dark, light or red", act: nextLight },
  ]);
  startKeys();
  try {
    desk.now = await get("desk");
  } catch { /* the view says what is wrong */ }
  startRoutes(byId("main", HTMLElement), {
    "": openFolder, look: openCapture, stack: openStack, queue: openQueue, tune: openTune, export: openExport, view: openView, learn: openLearn,
  });
  startEvents(showGone);
}

function nextLight() {
  const order = /** @type {const} */ (["dark", "light", "red"]);
  const now = order.findIndex((name) => name === document.documentElement.dataset.light);
  setLight(order[(now + 1) % order.length]);
  const tools = byId("tools", HTMLElement);
  tools.querySelector("[aria-label='Light of these pages']")?.replaceWith(lightChoice());
}

start().catch((error) => fill(byId("main", HTMLElement), h("p", { class: "caution" }, String(error))));
