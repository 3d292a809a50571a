// A finished picture, however large: tiles of it come as they are shown.
import { get } from "./api.js";
import { attribute, button, fill, h } from "./dom.js";
import { setKeys } from "./keys.js";
import { address, go } from "./route.js";

/** @typedef {import("./types.js").Result} Result */
/** @typedef {import("./types.js").Tiles} Tiles */

/** @type {Promise<void> | null} */
let library = null;

/** The viewer is large, so only this view loads it. */
function loadLibrary() {
  library ??= new Promise((resolve, reject) => {
    const script = h("script", { set: { src: "openseadragon.js" }, on: { load: () => resolve(), error: () => { library = null; reject(new Error("openseadragon.js was not loaded")); } } });
    // The library adds a style sheet unless there is one of this mark, and the policy of the pages refuses it. This one is none.
    const mark = document.createElementNS(null, "style");
    attribute(mark, "data-openseadragon-mobile-css", true);
    document.head.append(script, mark);
  });
  return library;
}

/** @param {HTMLElement} element @param {string} path of the result @param {Tiles} tiles */
function viewerOf(element, path, tiles) {
  const still = window.matchMedia("(prefers-reduced-motion: reduce)").matches;
  return OpenSeadragon({
    element,
    tileSources: {
      width: tiles.width, height: tiles.height, tileSize: tiles.tile_px, tileOverlap: 0, minLevel: 0, maxLevel: tiles.levels - 1,
      getTileUrl: (/** @type {number} */ level, /** @type {number} */ x, /** @type {number} */ y) => `api/${path}/tiles/${level}/${x}/${y}`,
    },
    drawer: "canvas", showNavigationControl: false, showNavigator: true, navigatorPosition: "BOTTOM_RIGHT", navigatorAutoFade: false,
    animationTime: still ? 0 : 0.4, immediateRender: true, maxZoomPixelRatio: 8, minZoomImageRatio: 0.8, visibilityRatio: 0.5,
    imageSmoothingEnabled: true, gestureSettingsMouse: { clickToZoom: false, dblClickToZoom: true },
  });
}

/** @type {import("./route.js").View} */
export async function openView(place, [id], signal) {
  const path = `results/${encodeURIComponent(id)}`;
  const title = h("h1", {}, "Opening the picture");
  const facts = h("p", { class: "soft small", set: { role: "status" } }, "It is read once, and cut into tiles: large ones take some seconds.");
  fill(place, title, facts);
  const [found, tiles] = await Promise.all([
    /** @type {Promise<Result>} */ (get(path, signal)), /** @type {Promise<Tiles>} */ (get(`${path}/view`, signal)), loadLibrary()]);
  const stage = h("div", { class: "tiles", set: { role: "group", "aria-label": `The picture ${found.name}` } });
  const viewer = viewerOf(stage, path, tiles);
  const zoom = (/** @type {number} */ times) => { viewer.viewport.zoomBy(times); viewer.viewport.applyConstraints(); };
  const whole = () => viewer.viewport.goHome();
  const pixels = () => { viewer.viewport.zoomTo(viewer.viewport.imageToViewportZoom(1 / window.devicePixelRatio)); viewer.viewport.applyConstraints(); };
  const buttons = h("div", { class: "pair", set: { role: "group", "aria-label": "Zoom" } },
    button("−", () => zoom(0.8), { set: { "aria-label": "Smaller" } }), button("+", () => zoom(1.25), { set: { "aria-label": "Larger" } }),
    button("Whole", whole), button("1:1", pixels, { set: { "aria-label": "One pixel to one pixel" } }));
  title.textContent = found.name;
  facts.textContent = `${tiles.width} × ${tiles.height} px, ${(tiles.width * tiles.height / 1e6).toFixed(1)} million pixels`;
  fill(place, h("div", { class: "row apart" }, h("div", {}, title, facts), h("div", { class: "row" }, buttons,
    h("a", { class: "button", set: { href: address("tune", id) } }, "Tune"), h("a", { class: "button", set: { href: address("export", id) } }, "Files"))),
    stage, h("p", { class: "soft small" }, "Drag to move, turn the wheel to zoom. Shown by OpenSeadragon: ", h("a", { set: { href: "openseadragon.txt", target: "_blank", rel: "noopener" } }, "its licence"), "."));
  setKeys([
    { keys: ["+", "="], words: "Larger", act: () => zoom(1.25) },
    { keys: ["-"], words: "Smaller", act: () => zoom(0.8) },
    { keys: ["0"], words: "The whole picture", act: whole },
    { keys: ["1"], words: "One pixel to one pixel", act: pixels },
    { keys: ["t"], words: "Tune it", act: () => go(address("tune", id)) },
    { keys: ["e"], words: "Its files", act: () => go(address("export", id)) },
  ]);
  return { title: found.name, capture: found.captures?.[0], result: id, close: () => viewer.destroy() };
}
