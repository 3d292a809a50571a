// The picture: pictures on top of each other, a curtain between two neighbours, and zoom.
"use strict";

(() => {
  const stage = document.querySelector(".stage");
  if (!stage) return;
  const layers = [...stage.querySelectorAll("figure")];
  const images = layers.map((layer) => layer.querySelector("img"));
  const names = layers.map((layer) => layer.dataset.name);
  const slider = document.querySelector("#compare");
  const stops = [...document.querySelectorAll(".stops button")];
  const shown = document.querySelector(".zoom output");
  const curtain = stage.querySelector(".curtain");
  const [left, right] = ["left", "right"].map((side) => stage.querySelector(".side." + side));
  const [line, handle] = ["line", "handle"].map((part) => curtain.querySelector("." + part));
  const scaleBar = stage.querySelector(".bar");
  const width = Number(stage.dataset.width);
  const height = Number(stage.dataset.height);
  const most = 24;
  // x, y: where the corner of the picture is, in the stage. turned: matrix of turns and mirrors.
  const view = { zoom: 1, x: 0, y: 0, turned: [1, 0, 0, 1] };
  const base = { w: 1, h: 1 };  // of the picture as it is turned, at zoom 1, in px of the page

  // Pixels of the screen for one of the picture. At 1, pixels of the screen are not interpolated.
  const ratio = () => window.devicePixelRatio || 1;
  const sideways = () => view.turned[0] === 0;
  const acrossPx = () => (sideways() ? height : width);
  const toOne = () => acrossPx() / ratio() / base.w;
  const least = () => Math.min(1, toOne());

  for (const image of images) {
    image.style.width = width + "px";
    image.style.height = height + "px";
  }

  // As large as the page allows, but a small picture is not blown up without being asked.
  function fit() {
    const room = stage.parentElement.clientWidth;
    const tall = Math.max(260, window.innerHeight * 0.78);
    const [w, h] = sideways() ? [height, width] : [width, height];
    const scale = Math.min(room / w, tall / h, width < 420 ? 2.5 : 1.6);
    base.w = Math.round(w * scale);
    base.h = (base.w * h) / w;  // not rounded: both sides reach 1:1 together
    stage.style.width = base.w + "px";
    stage.style.height = base.h + "px";
    place();
  }

  // A smaller picture stands in the middle; a larger one covers the stage. At whole pixels of the
  // screen, or 1:1 would blur; `edge` is where the stage begins in the page.
  function within(at, room, size, edge) {
    const from = size <= room ? (room - size) / 2 : Math.min(0, Math.max(room - size, at));
    return Math.round((from + edge) * ratio()) / ratio() - edge;
  }

  function place() {
    view.zoom = Math.min(most, Math.max(least(), view.zoom));
    const [w, h] = [base.w * view.zoom, base.h * view.zoom];
    const edges = stage.getBoundingClientRect();
    view.x = within(view.x, base.w, w, edges.left + window.scrollX);
    view.y = within(view.y, base.h, h, edges.top + window.scrollY);
    // Turned about the corner, then moved so that all of it is right of and below the corner.
    const [a, b, c, d] = view.turned;
    const [across, down] = sideways() ? [h, w] : [w, h];
    const x = view.x - Math.min(0, a * across) - Math.min(0, c * down);
    const y = view.y - Math.min(0, b * across) - Math.min(0, d * down);
    // Exact at 1:1, so that nothing is interpolated.
    const pixels = view.zoom / toOne();
    const scale = (Math.abs(pixels - 1) < 1e-6 ? 1 : pixels) / ratio();
    const matrix = view.turned.map((v) => v * scale).join(", ");
    for (const image of images) image.style.transform = `matrix(${matrix}, ${x}, ${y})`;
    stage.classList.toggle("zoomed", view.zoom > 1);
    stage.classList.toggle("grain", pixels >= 4 || Math.abs(pixels - 1) < 1e-6);
    showBar(pixels / ratio());
    shown.textContent = Math.round(100 * pixels) + "%";
  }

  // A bar of 1, 2 or 5 times a power of ten that takes at most a quarter of the stage.
  function showBar(perPixel) {
    const unit = Number(stage.dataset.scale) / perPixel;  // for one px of the page
    const room = 0.25 * stage.clientWidth * unit;
    const power = 10 ** Math.floor(Math.log10(room));
    const length = power * [5, 2, 1].find((m) => m * power <= room);
    scaleBar.style.width = length / unit + "px";
    scaleBar.textContent = Number(length.toPrecision(1)) + stage.dataset.unit;
  }

  function zoomAt(factor, x, y) {
    const before = view.zoom;
    view.zoom = Math.min(most, Math.max(least(), view.zoom * factor));
    const grown = view.zoom / before;
    view.x = x - (x - view.x) * grown;
    view.y = y - (y - view.y) * grown;
    place();
  }

  const zoomMiddle = (factor) => zoomAt(factor, stage.clientWidth / 2, stage.clientHeight / 2);
  const reset = () => { Object.assign(view, { zoom: 1, x: 0, y: 0 }); place(); };
  const toPixels = () => zoomMiddle(toOne() / view.zoom);

  // A further change of what is seen, whatever was turned before.
  function turn([a, b, c, d]) {
    const [e, f, g, i] = view.turned;
    view.turned = [a * e + c * f, b * e + d * f, a * g + c * i, b * g + d * i];
    Object.assign(view, { zoom: 1, x: 0, y: 0 });
    fit();
  }
  const clockwise = () => turn([0, 1, -1, 0]);
  const mirror = () => turn([-1, 0, 0, 1]);

  // 100 units of the slider lead from one picture to the next, which comes in from the left.
  const pairs = layers.length - 1;
  const pairAt = (value) => Math.max(0, Math.min(pairs - 1, Math.floor(value / 100)));
  function compare(pair = pairAt(Number(slider.value))) {
    const value = Number(slider.value);
    const share = value - 100 * pair;
    const whole = share === 0 ? pair : share === 100 ? pair + 1 : -1;
    layers.forEach((layer, i) => {
      layer.style.visibility = (i === pair && share < 100) || (i === pair + 1 && share > 0) ? "visible" : "hidden";
      layer.style.clipPath = i === pair + 1 && whole < 0 ? `inset(0 ${100 - share}% 0 0)` : "none";
    });
    curtain.hidden = pairs === 0;
    line.style.left = share + "%";
    handle.style.left = `clamp(1.3rem, ${share}%, calc(100% - 1.3rem))`;
    left.textContent = whole < 0 ? names[pair + 1] : names[whole];
    right.textContent = names[pair];
    right.hidden = whole >= 0;
    stops.forEach((stop, i) => stop.setAttribute("aria-pressed", String(i === whole)));
    const words = whole >= 0 ? names[whole]
      : `${names[pair + 1]} on the left ${share} percent, ${names[pair]} on the right`;
    slider.setAttribute("aria-valuetext", words);
    handle.setAttribute("aria-valuenow", String(share));
    handle.setAttribute("aria-valuetext", words);
    handle.dataset.pair = pair;
  }
  // The handle stays between its two pictures, also at their ends.
  function moveHandle(share) {
    const pair = Number(handle.dataset.pair);
    slider.value = 100 * pair + Math.min(100, Math.max(0, Math.round(share)));
    compare(pair);
  }
  let dragged = null;  // pointer that holds the handle
  const acrossStage = (event) => {
    const box = stage.getBoundingClientRect();
    return (100 * (event.clientX - box.left)) / box.width;
  };
  handle.addEventListener("pointerdown", (event) => {
    if (event.button !== 0) return;
    event.stopPropagation();  // the picture does not move along
    dragged = event.pointerId;
    handle.setPointerCapture(dragged);
  });
  handle.addEventListener("pointermove", (event) => {
    if (event.pointerId === dragged) moveHandle(acrossStage(event));
  });
  for (const end of ["pointerup", "pointercancel"])
    handle.addEventListener(end, () => { dragged = null; });
  handle.addEventListener("dblclick", (event) => event.stopPropagation());
  handle.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const now = Number(handle.getAttribute("aria-valuenow"));
    const to = { ArrowLeft: now - 1, ArrowDown: now - 1, ArrowRight: now + 1, ArrowUp: now + 1,
      PageDown: now - 10, PageUp: now + 10, Home: 0, End: 100 }[event.key];
    if (to === undefined) return;
    event.preventDefault();
    event.stopPropagation();
    moveHandle(to);
  });

  slider.addEventListener("input", () => compare());
  stops.forEach((stop, i) => stop.addEventListener("click", () => { slider.value = 100 * i; compare(); }));
  const actions = { in: () => zoomMiddle(1.5), out: () => zoomMiddle(1 / 1.5), fit: reset, pixels: toPixels, turn: clockwise, mirror };
  for (const button of document.querySelectorAll(".zoom button"))
    button.addEventListener("click", actions[button.dataset.zoom]);

  const at = (event) => {
    const box = stage.getBoundingClientRect();
    return [event.clientX - box.left, event.clientY - box.top];
  };
  // Where all of it is seen, the wheel scrolls the page on, so that the picture is no trap.
  stage.addEventListener("wheel", (event) => {
    if (event.deltaY > 0 && view.zoom <= 1) return;
    event.preventDefault();
    const factor = Math.exp(-event.deltaY * (event.deltaMode === 1 ? 0.05 : 0.002));
    zoomAt(event.deltaY > 0 ? Math.max(factor, 1 / view.zoom) : factor, ...at(event));
  }, { passive: false });

  const held = new Map();
  stage.addEventListener("pointerdown", (event) => {
    held.set(event.pointerId, at(event));
    if (view.zoom > 1 || event.pointerType === "mouse") stage.setPointerCapture(event.pointerId);
    stage.classList.add("held");
  });
  stage.addEventListener("pointermove", (event) => {
    const from = held.get(event.pointerId);
    if (!from) return;
    const to = at(event);
    if (held.size === 2) {
      const other = [...held].find(([id]) => id !== event.pointerId)[1];
      const spread = (p) => Math.max(1, Math.hypot(p[0] - other[0], p[1] - other[1]));
      zoomAt(spread(to) / spread(from), (to[0] + other[0]) / 2, (to[1] + other[1]) / 2);
    } else {
      view.x += to[0] - from[0];
      view.y += to[1] - from[1];
      place();
    }
    held.set(event.pointerId, to);
  });
  const release = (event) => { held.delete(event.pointerId); if (held.size === 0) stage.classList.remove("held"); };
  for (const end of ["pointerup", "pointercancel"]) stage.addEventListener(end, release);
  stage.addEventListener("dblclick", (event) => zoomAt(2, ...at(event)));

  const step = 60;
  const keys = {
    "+": () => zoomMiddle(1.25), "=": () => zoomMiddle(1.25), "-": () => zoomMiddle(0.8), "0": reset, "1": toPixels, r: clockwise, m: mirror,
    ArrowLeft: () => { view.x += step; place(); }, ArrowRight: () => { view.x -= step; place(); },
    ArrowUp: () => { view.y += step; place(); }, ArrowDown: () => { view.y -= step; place(); },
  };
  stage.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const action = keys[event.key];
    // At the smallest zoom there is nothing to move: the arrows scroll the page.
    if (!action || (event.key.startsWith("Arrow") && view.zoom <= 1)) return;
    event.preventDefault();
    action();
  });

  window.addEventListener("resize", fit);
  compare();
  fit();
})();
