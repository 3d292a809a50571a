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
  const width = Number(stage.dataset.width);
  const height = Number(stage.dataset.height);
  const most = 24;
  const view = { zoom: 1, x: 0, y: 0 };

  // As large as the page allows, but a small picture is not blown up without being asked.
  function fit() {
    const room = stage.parentElement.clientWidth;
    const tall = Math.max(260, window.innerHeight * 0.78);
    const scale = Math.min(room / width, tall / height, width < 420 ? 2.5 : 1.6);
    stage.style.width = Math.round(width * scale) + "px";
    stage.style.height = Math.round(height * scale) + "px";
    place();
  }

  function place() {
    const w = stage.clientWidth;
    const h = stage.clientHeight;
    view.zoom = Math.min(most, Math.max(1, view.zoom));
    view.x = Math.min(0, Math.max(w - w * view.zoom, view.x));
    view.y = Math.min(0, Math.max(h - h * view.zoom, view.y));
    const transform = `translate(${view.x}px, ${view.y}px) scale(${view.zoom})`;
    for (const image of images) image.style.transform = transform;
    const pixels = (view.zoom * w) / width;
    stage.classList.toggle("zoomed", view.zoom > 1);
    stage.classList.toggle("grain", pixels >= 4);
    shown.textContent = Math.round(100 * pixels) + " %";
  }

  function zoomAt(factor, x, y) {
    const before = view.zoom;
    view.zoom = Math.min(most, Math.max(1, view.zoom * factor));
    const grown = view.zoom / before;
    view.x = x - (x - view.x) * grown;
    view.y = y - (y - view.y) * grown;
    place();
  }

  const zoomMiddle = (factor) => zoomAt(factor, stage.clientWidth / 2, stage.clientHeight / 2);
  const reset = () => { Object.assign(view, { zoom: 1, x: 0, y: 0 }); place(); };
  const toPixels = () => zoomMiddle(width / stage.clientWidth / view.zoom);

  // 100 units of the slider lead from one picture to the next, which comes in from the left.
  function compare() {
    const value = Number(slider.value);
    const below = Math.min(layers.length - 1, Math.floor(value / 100));
    const share = value - 100 * below;
    layers.forEach((layer, i) => {
      layer.style.visibility = i === below || (i === below + 1 && share > 0) ? "visible" : "hidden";
      layer.style.clipPath = i === below + 1 ? `inset(0 ${100 - share}% 0 0)` : "none";
    });
    curtain.hidden = share === 0;
    curtain.style.left = share + "%";
    left.textContent = share > 0 ? names[below + 1] : names[below];
    right.textContent = names[below];
    right.hidden = share === 0;
    stops.forEach((stop, i) => stop.setAttribute("aria-pressed", String(share === 0 && i === below)));
    slider.setAttribute("aria-valuetext", share === 0 ? names[below]
      : `${names[below + 1]} on the left ${share} percent, ${names[below]} on the right`);
  }

  slider.addEventListener("input", compare);
  stops.forEach((stop, i) => stop.addEventListener("click", () => { slider.value = 100 * i; compare(); }));
  const actions = { in: () => zoomMiddle(1.5), out: () => zoomMiddle(1 / 1.5), fit: reset, pixels: toPixels };
  for (const button of document.querySelectorAll(".zoom button"))
    button.addEventListener("click", actions[button.dataset.zoom]);

  const at = (event) => {
    const box = stage.getBoundingClientRect();
    return [event.clientX - box.left, event.clientY - box.top];
  };
  // At the smallest zoom the wheel scrolls the page on, so that the picture is no trap.
  stage.addEventListener("wheel", (event) => {
    if (event.deltaY > 0 && view.zoom <= 1) return;
    event.preventDefault();
    zoomAt(Math.exp(-event.deltaY * (event.deltaMode === 1 ? 0.05 : 0.002)), ...at(event));
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
    "+": () => zoomMiddle(1.25), "=": () => zoomMiddle(1.25), "-": () => zoomMiddle(0.8), "0": reset, "1": toPixels,
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
