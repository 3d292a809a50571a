// The charts: data from the page, lines and dots by uPlot, track, arrows and map as SVG and canvas.
"use strict";

(() => {
  const charts = JSON.parse(document.querySelector("#data").textContent);
  const drawn = [];  // what a change of size or colours redraws

  const colour = (name) => getComputedStyle(document.documentElement).getPropertyValue("--" + name).trim();
  const number = (value) => value === null || value === undefined ? "–"
    : Math.abs(value) >= 1e6 || (value !== 0 && Math.abs(value) < 1e-3) ? value.toExponential(2)
    : String(Number(value.toPrecision(4)));
  // A logarithmic axis has powers of ten: 10⁶ is short enough for it.
  const raised = (n) => [...String(n)].map((c) => c === "-" ? "⁻" : "⁰¹²³⁴⁵⁶⁷⁸⁹"[c]).join("");
  const tickText = (of, value) => {
    if (value === null) return "";
    if (of.scale !== "logarithmic") return number(value);
    const power = Math.round(Math.log10(value));
    const isPower = Math.abs(value / 10 ** power - 1) < 1e-9;
    return isPower && Math.abs(power) >= 4 ? `10${raised(power)}` : number(value);
  };
  const clear = (element) => element.replaceChildren();

  // uPlot: a plot over one list of x values. A y of null breaks a line; false is no point at all.
  function plot(element, spec, readout) {
    const dashes = { dashed: [7, 5], dotted: [2, 4] };
    const series = [{}].concat(spec.series.map((s) => {
      const stroke = colour(s.colour);
      const out = { label: s.name, scale: s.side === "right" ? "right" : "y", stroke, width: s.mark === "reference" ? 1 : 2, points: { show: false }, spanGaps: false };
      if (dashes[s.mark]) out.dash = dashes[s.mark];
      if (s.mark === "dots" || s.mark === "rings") {
        out.paths = () => null;
        out.points = { show: true, size: 5, width: 1.2, stroke, fill: s.mark === "dots" ? stroke : "transparent" };
      }
      if (s.mark === "points") out.points = { show: true, size: 8, width: 1.5, stroke, fill: colour("paper") };
      if (s.mark === "steps" || s.mark === "area") out.paths = uPlot.paths.stepped({ align: 1 });
      if (s.mark === "area") out.fill = stroke + "40";
      return out;
    }));
    const axis = (scale, of, extra) => Object.assign({
      scale, label: of.label, stroke: colour("soft"), font: "12px system-ui, sans-serif", labelFont: "12px system-ui, sans-serif",
      labelSize: 22, grid: { stroke: colour("rule"), width: 1 }, ticks: { stroke: colour("rule"), width: 1 },
      values: (u, values) => values.map((v) => tickText(of, v)),
    }, extra);
    const axes = [axis("x", spec.x, { size: 36 }), axis("y", spec.y, { size: 58 })];
    const scale = (of) => ({ time: false, distr: of.scale === "logarithmic" ? 3 : 1, ...(of.range && { range: of.range }) });
    const scales = { x: scale(spec.x), y: scale(spec.y) };
    if (spec.right) {
      axes.push(axis("right", spec.right, { side: 1, size: 52, grid: { show: false } }));
      scales.right = scale(spec.right);
    }
    // Lines at single x values, such as the resolution.
    const draw = (u) => {
      const { ctx, bbox } = u;
      const ratio = window.devicePixelRatio || 1;
      spec.lines.forEach((line, row) => {
        const x = u.valToPos(line.x, "x", true);
        if (!(x >= bbox.left && x <= bbox.left + bbox.width)) return;
        ctx.save();
        ctx.strokeStyle = ctx.fillStyle = colour("ink");
        ctx.lineWidth = 1.5 * ratio;
        ctx.setLineDash([4 * ratio, 3 * ratio]);
        ctx.beginPath();
        ctx.moveTo(x, bbox.top - 17 * (spec.lines.length - 1 - row) * ratio);
        ctx.lineTo(x, bbox.top + bbox.height);
        ctx.stroke();
        ctx.font = `600 ${13 * ratio}px system-ui, sans-serif`;
        const near = x + ctx.measureText(line.name).width + 8 * ratio > bbox.left + bbox.width;
        ctx.textAlign = near ? "right" : "left";
        const at = [line.name, x + (near ? -6 : 6) * ratio, bbox.top - (6 + 17 * (spec.lines.length - 1 - row)) * ratio];
        // Above the curves; a rim of paper parts the words from the lines of others.
        ctx.setLineDash([]);
        ctx.lineJoin = "round";
        ctx.lineWidth = 5 * ratio;
        ctx.strokeStyle = colour("paper");
        ctx.strokeText(...at);
        ctx.fillText(...at);
        ctx.restore();
      });
    };
    const tell = (u) => {
      const i = u.cursor.idx;
      if (i === null || i === undefined) { readout.textContent = ""; return; }
      const values = spec.series.filter((s) => Number.isFinite(s.ys[i])).map((s) => `${s.name} ${number(s.ys[i])}`);
      readout.textContent = values.length ? `${spec.x.label} ${number(spec.xs[i])}: ${values.join(", ")}` : "";
    };
    let u = null;
    const build = () => {
      if (u) u.destroy();
      clear(element);
      const size = () => ({ width: element.clientWidth, height: Math.max(260, Math.min(300, element.clientWidth * 0.6)) + 17 * spec.lines.length });
      u = new uPlot({
        ...size(), series, axes, scales, padding: [10 + 17 * spec.lines.length, null, null, null], legend: { show: false }, cursor: { y: false, drag: { x: false, y: false } },
        hooks: { draw: [draw], setCursor: [tell] },
      }, [spec.xs, ...spec.series.map((s) => s.ys.map((y) => y === false ? undefined : y))], element);
      u.canvas = element.querySelector("canvas");
      return size;
    };
    const size = build();
    element.addEventListener("keydown", (event) => {
      const step = { ArrowLeft: -1, ArrowRight: 1 }[event.key];
      if (!step) return;
      event.preventDefault();
      const now = u.cursor.idx ?? (step > 0 ? -1 : spec.xs.length);
      const i = Math.min(spec.xs.length - 1, Math.max(0, now + step));
      u.setCursor({ left: u.valToPos(spec.xs[i], "x"), top: 20 });
    });
    return { resize: () => u.setSize(size()), destroy: () => u.destroy() };
  }

  const svg = (name, attributes, parent) => {
    const node = document.createElementNS("http://www.w3.org/2000/svg", name);
    for (const [key, value] of Object.entries(attributes)) node.setAttribute(key, value);
    if (parent) parent.append(node);
    return node;
  };
  const label = (parent, x, y, text, anchor = "start") =>
    (svg("text", { x, y, "text-anchor": anchor }, parent).textContent = text);

  // A length of 1, 2 or 5 times a power of ten that is not above `most`.
  function round(most) {
    const power = 10 ** Math.floor(Math.log10(most));
    return [5, 2, 1].map((m) => m * power).find((v) => v <= most * 1.0001) || power;
  }

  function bar(parent, x, y, scale, room) {
    const length = round(room / scale);
    svg("path", { d: `M${x} ${y - 4}v4h${length * scale}v-4`, fill: "none", stroke: colour("ink"), "stroke-width": 1.5 }, parent);
    label(parent, x, y + 15, number(length) + " px");
  }

  // Where the object was, frame by frame; the same scale on both axes.
  function track(element, spec) {
    clear(element);
    const [w, h, rim] = [520, 380, 34];
    const xs = spec.points.map((p) => p[0]);
    const ys = spec.points.map((p) => p[1]);
    const [x0, x1, y0, y1] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
    const scale = Math.min((w - 2 * rim) / Math.max(x1 - x0, 1e-3), (h - 2 * rim - 20) / Math.max(y1 - y0, 1e-3), 80);
    const place = (p) => [w / 2 + (p[0] - (x0 + x1) / 2) * scale, (h - 20) / 2 + (p[1] - (y0 + y1) / 2) * scale];
    const root = svg("svg", { viewBox: `0 0 ${w} ${h}`, "aria-hidden": "true" }, element);
    svg("rect", { x: 0.5, y: 0.5, width: w - 1, height: h - 1, fill: "none", stroke: colour("rule") }, root);
    // Three parts of the capture in three shades, so that the direction shows.
    const parts = 3;
    for (let part = 0; part < parts; ++part) {
      const from = Math.floor((part * spec.points.length) / parts);
      const to = Math.floor(((part + 1) * spec.points.length) / parts) + 1;
      const d = spec.points.slice(from, to).map((p) => place(p).map((v) => v.toFixed(1)).join(" ")).join("L");
      if (d) svg("path", { d: "M" + d, fill: "none", stroke: colour("blue"), "stroke-width": 1 + 0.5 * part, opacity: 0.35 + 0.3 * part, "stroke-linejoin": "round" }, root);
    }
    const ends = [[spec.points[0], "first"], [spec.points.at(-1), "last"]];
    for (const [point, name] of ends) {
      const [x, y] = place(point);
      svg("circle", { cx: x, cy: y, r: 6, fill: name === "last" ? colour("orange") : colour("paper"), stroke: colour("orange"), "stroke-width": 2 }, root);
      const high = name === "first" ? y - 12 : y + 22;
      const label = svg("text", { x, y: high, "text-anchor": "middle" }, root);
      // The page's policy allows no style in an attribute.
      label.style.cssText = `fill:${colour("ink")};paint-order:stroke;stroke:${colour("paper")};stroke-width:4px`;
      label.textContent = name;
    }
    bar(root, 14, h - 24, scale, 130);
  }

  // Displacement of the regions of one frame; a slider and a button lead through the frames.
  function arrows(element, spec) {
    const figure = element.closest("figure");
    const slider = figure.querySelector("input");
    const button = figure.querySelector("button");
    const readout = figure.querySelector("output");
    clear(element);
    const longer = Math.max(spec.width, spec.height);
    const unit = 520 / longer;
    const [w, h] = [spec.width * unit, spec.height * unit];
    const root = svg("svg", { viewBox: `0 0 ${w} ${h + 44}`, "aria-hidden": "true" }, element);
    svg("rect", { x: 0.5, y: 0.5, width: w - 1, height: h - 1, fill: "none", stroke: colour("rule") }, root);
    const group = svg("g", { stroke: colour("blue"), fill: colour("blue"), "stroke-width": 1.6 }, root);
    const arrow = spec.arrow * unit;
    const mark = round(spec.typical * 2);
    svg("path", { d: `M14 ${h + 30}h${mark * arrow}`, stroke: colour("blue"), "stroke-width": 1.6 }, root);
    label(root, 22 + mark * arrow, h + 34, `${number(mark)} px; arrows are drawn ${Number(spec.arrow.toPrecision(2))} times as long`);
    let timer = null;
    function show() {
      const frame = spec.frames[Number(slider.value)];
      clear(group);
      let sum = 0;
      spec.places.forEach(([x, y], i) => {
        const [dx, dy] = frame.at[i];
        sum += dx * dx + dy * dy;
        const [px, py] = [x * unit, y * unit];
        const [ex, ey] = [px + dx * arrow, py + dy * arrow];
        svg("circle", { cx: px, cy: py, r: 1.5, stroke: "none" }, group);
        const length = Math.hypot(ex - px, ey - py);
        if (length < 2) return;
        const [ux, uy] = [(ex - px) / length, (ey - py) / length];
        const head = Math.min(5, length * 0.5);
        svg("path", { d: `M${px} ${py}L${ex} ${ey}M${ex - head * (ux + 0.5 * uy)} ${ey - head * (uy - 0.5 * ux)}L${ex} ${ey}L${ex - head * (ux - 0.5 * uy)} ${ey - head * (uy + 0.5 * ux)}`, fill: "none" }, group);
      });
      const words = `frame ${frame.index}: ${Math.sqrt(sum / spec.places.length).toFixed(2)} px rms`;
      readout.textContent = words;
      slider.setAttribute("aria-valuetext", words);
    }
    const stop = () => { clearInterval(timer); timer = null; button.textContent = "Play"; };
    const go = () => {
      if (timer) { stop(); return; }
      button.textContent = "Stop";
      timer = setInterval(() => { slider.value = (Number(slider.value) + 1) % spec.frames.length; show(); }, 180);
    };
    slider.oninput = () => { stop(); show(); };
    button.onclick = go;
    show();
    return { destroy: stop };
  }

  // A grid of values as shades from low to high.
  function map(element, spec) {
    clear(element);
    const parse = (hex) => [1, 3, 5].map((i) => parseInt(hex.slice(i, i + 2), 16));
    const [low, high] = [parse(colour("low")), parse(colour("high"))];
    const canvas = document.createElement("canvas");
    canvas.width = spec.columns;
    canvas.height = spec.rows;
    canvas.className = "map";
    canvas.style.aspectRatio = `${spec.columns} / ${spec.rows}`;
    canvas.style.imageRendering = "pixelated";
    canvas.setAttribute("aria-hidden", "true");
    const context = canvas.getContext("2d");
    const pixels = context.createImageData(spec.columns, spec.rows);
    spec.values.forEach((value, i) => {
      const share = spec.high > spec.low ? Math.min(1, Math.max(0, (value - spec.low) / (spec.high - spec.low))) : 1;
      for (let c = 0; c < 3; ++c) pixels.data[4 * i + c] = Math.round(low[c] + share * (high[c] - low[c]));
      pixels.data[4 * i + 3] = 255;
    });
    context.putImageData(pixels, 0, 0);
    element.append(canvas);
  }

  const kinds = { plot, track, arrows, map };

  function drawAll() {
    for (const old of drawn.splice(0)) if (old.destroy) old.destroy();
    for (const element of document.querySelectorAll(".draw")) {
      const spec = charts[element.dataset.chart];
      const fresh = element.cloneNode(false);  // without the listeners of an earlier drawing
      element.replaceWith(fresh);
      drawn.push(kinds[spec.kind](fresh, spec, fresh.closest("figure").querySelector(".readout")) || {});
    }
    for (const swatch of document.querySelectorAll(".legend [data-colour]"))
      swatch.style.color = colour(swatch.dataset.colour);
  }

  drawAll();
  for (const query of ["(prefers-color-scheme: dark)", "print"])
    window.matchMedia(query).addEventListener("change", drawAll);
  let waiting = 0;
  window.addEventListener("resize", () => {
    cancelAnimationFrame(waiting);
    waiting = requestAnimationFrame(() => drawn.forEach((chart) => chart.resize && chart.resize()));
  });
})();
