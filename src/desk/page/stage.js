// A stage shows pictures of one place: zoom, pan, a divider between two, drawings on top.
import { h, onceAFrame } from "./dom.js";
import { colour, onLight } from "./light.js";
import { Pose } from "./pose.js";

/** @typedef {import("./gaze.js").Gaze} Gaze */
/** @typedef {{image: CanvasImageSource, x: number, y: number, w: number, h: number}} Layer the place it covers, px of the picture */
/** @typedef {(context: CanvasRenderingContext2D, place: Place) => void} Drawing */
/** @typedef {{x: number, y: number}} Point */
/**
 * What a press on the picture does instead of moving it; points in px of the picture.
 * @typedef {object} Tool
 * @property {(at: Point, place: Place) => boolean} down whether it takes the press
 * @property {(at: Point) => void} move
 * @property {() => void} up
 */
/** @typedef {{scale: number, left: number, top: number}} Place of the picture on the stage, px of the page */

const most = 32;

export class Stage {
  /** @type {Layer[]} */ layers = [];
  /** @type {Layer[]} shown left of the divider */ over = [];
  /** share of the stage that is left of the divider; 0 shows none of `over` */ divide = 0;
  /** @type {Drawing[]} */ drawings = [];
  /** on the layers, in their pose, but not on what is left of the divider @type {Drawing[]} */ marks = [];
  /** @type {Tool | null} */ tool = null;
  /** @type {(() => void) | null} */ onseen = null;
  pose = new Pose();
  width = 1;
  height = 1;
  #held = new Map();
  /** @type {(() => void)[]} */ #ends = [];

  /** @param {Gaze} gaze @param {string} name what it shows, for screen readers */
  constructor(gaze, name) {
    this.gaze = gaze;
    this.canvas = h("canvas", { set: { tabindex: 0, role: "img", "aria-label": name } });
    this.element = h("div", { class: "stage" }, this.canvas);
    this.context = /** @type {CanvasRenderingContext2D} */ (this.canvas.getContext("2d", { alpha: false }));
    this.redraw = onceAFrame(() => this.#draw());
    const resized = new ResizeObserver(() => this.#moved());
    resized.observe(this.element);
    this.#ends.push(() => resized.disconnect(), gaze.watch(() => this.#moved()), onLight(this.redraw));
    this.#listen();
  }

  end() { for (const end of this.#ends.splice(0)) end(); }

  /** @param {string} words what is shown */
  name(words) { this.canvas.setAttribute("aria-label", words); }

  /** @param {number} width @param {number} height of the picture, px */
  size(width, height) {
    if (width === this.width && height === this.height) return;
    Object.assign(this, { width, height });
    this.gaze.set({ x: width / 2, y: height / 2 });
  }

  /** @param {Pose} pose */
  hold(pose) {
    this.pose = pose;
    this.#moved();
  }

  get fit() {
    const [width, height] = this.pose.around(this.width, this.height);
    return Math.min(this.element.clientWidth / width, this.element.clientHeight / height) || 1;
  }

  /** As the picture lies before it is turned. @returns {Place} */
  get place() {
    const { clientWidth: w, clientHeight: h } = this.element;
    const scale = this.gaze.scale || this.fit;
    const [x, y] = this.gaze.scale ? [this.gaze.x, this.gaze.y] : [this.width / 2, this.height / 2];
    return { scale, left: w / 2 - x * scale, top: h / 2 - y * scale };
  }

  /** The part of the picture that is seen, whole pixels of the picture. @returns {[number, number, number, number]} */
  get seen() {
    const { scale, left, top } = this.place;
    const { clientWidth: w, clientHeight: h } = this.element;
    const [wide, high] = this.pose.around(w, h);  // of the stage, as the picture lies
    const x = Math.max(0, Math.floor(((w - wide) / 2 - left) / scale));
    const y = Math.max(0, Math.floor(((h - high) / 2 - top) / scale));
    const right = Math.min(this.width, Math.ceil(((w + wide) / 2 - left) / scale));
    const bottom = Math.min(this.height, Math.ceil(((h + high) / 2 - top) / scale));
    return [x, y, Math.max(1, right - x), Math.max(1, bottom - y)];
  }

  /** @param {number} factor @param {number} [px] @param {number} [py] the place on the stage that stays */
  zoom(factor, px = this.element.clientWidth / 2, py = this.element.clientHeight / 2) {
    const now = this.place;
    const scale = Math.min(most, now.scale * factor);
    if (scale <= this.fit * 1.001) { this.gaze.whole(); return; }
    const way = this.#way({ x: px, y: py });
    const middle = this.#middle();
    this.#look(scale, middle.x + way.x / now.scale - way.x / scale, middle.y + way.y / now.scale - way.y / scale);
  }

  /** One pixel of the picture to one of the screen. */
  toPixels() {
    const scale = 1 / devicePixelRatio;
    const { x, y } = this.#middle();
    this.#look(scale, x, y);
  }

  /** @param {number} dx @param {number} dy px of the page */
  pan(dx, dy) {
    const { scale } = this.place;
    const { x, y } = this.#middle();
    const way = this.pose.lying({ x: dx, y: dy });
    if (this.gaze.scale) this.#look(scale, x - way.x / scale, y - way.y / scale);
  }

  /** From the middle of the stage, as the picture lies. @param {Point} at on the stage */
  #way(at) { return this.pose.lying({ x: at.x - this.element.clientWidth / 2, y: at.y - this.element.clientHeight / 2 }); }

  #middle() { return this.gaze.scale ? { x: this.gaze.x, y: this.gaze.y } : { x: this.width / 2, y: this.height / 2 }; }

  /** The picture does not leave the stage. @param {number} scale @param {number} x @param {number} y */
  #look(scale, x, y) {
    const inside = (/** @type {number} */ at, /** @type {number} */ room, /** @type {number} */ size) => {
      const half = room / 2 / scale;
      return size <= 2 * half ? size / 2 : Math.min(size - half, Math.max(half, at));
    };
    const [wide, high] = this.pose.around(this.element.clientWidth, this.element.clientHeight);
    this.gaze.set({ scale, x: inside(x, wide, this.width), y: inside(y, high, this.height) });
  }

  #moved() {
    this.element.classList.toggle("close", this.gaze.scale > 0);
    this.redraw();
    this.onseen?.();
  }

  #draw() {
    const ratio = devicePixelRatio;
    const [w, h] = [this.element.clientWidth, this.element.clientHeight];
    const [wide, high] = [Math.round(w * ratio), Math.round(h * ratio)];
    if (this.canvas.width !== wide || this.canvas.height !== high) Object.assign(this.canvas, { width: wide, height: high });
    const { context, place } = this;
    context.setTransform(1, 0, 0, 1, 0, 0);
    context.fillStyle = colour("stage");
    context.fillRect(0, 0, wide, high);
    this.#layers(this.layers, place, ratio);
    this.#marks(place, ratio);
    if (this.divide > 0) {
      context.save();
      context.beginPath();
      context.rect(0, 0, wide * this.divide, high);
      context.clip();
      context.fillRect(0, 0, wide, high);
      this.#layers(this.over, place, ratio);
      context.restore();
    }
    context.setTransform(ratio, 0, 0, ratio, 0, 0);
    for (const drawing of this.drawings) { context.save(); drawing(context, place); context.restore(); }
  }

  /** @param {Place} place @param {number} ratio */
  #marks(place, ratio) {
    this.context.save();
    this.pose.apply(this.context, this.canvas.width, this.canvas.height);
    this.context.scale(ratio, ratio);
    this.context.beginPath();
    this.context.rect(place.left, place.top, this.width * place.scale, this.height * place.scale);
    this.context.clip();
    for (const mark of this.marks) mark(this.context, place);
    this.context.restore();
  }

  /** @param {Layer[]} layers @param {Place} place @param {number} ratio */
  #layers(layers, place, ratio) {
    // At whole pixels of the screen, or 1:1 would blur; large pixels are shown as they are.
    const scale = place.scale * ratio;
    const [left, top] = [Math.round(place.left * ratio), Math.round(place.top * ratio)];
    this.context.save();
    this.pose.apply(this.context, this.canvas.width, this.canvas.height);
    this.context.imageSmoothingEnabled = scale < 4 && Math.abs(scale - 1) > 1e-6;
    this.context.imageSmoothingQuality = scale < 1 ? "high" : "low";
    for (const layer of layers)
      this.context.drawImage(layer.image, left + layer.x * scale, top + layer.y * scale, layer.w * scale, layer.h * scale);
    this.context.restore();
  }

  #listen() {
    const { canvas } = this;
    const at = (/** @type {PointerEvent | WheelEvent | MouseEvent} */ event) => {
      const box = canvas.getBoundingClientRect();
      return { x: event.clientX - box.left, y: event.clientY - box.top };
    };
    const inPicture = (/** @type {Point} */ point) => {
      const { scale } = this.place;
      const [way, middle] = [this.#way(point), this.#middle()];
      return { x: middle.x + way.x / scale, y: middle.y + way.y / scale };
    };
    canvas.addEventListener("wheel", (event) => {
      event.preventDefault();
      const point = at(event);
      this.zoom(Math.exp(-event.deltaY * (event.deltaMode === 1 ? 0.05 : 0.0015)), point.x, point.y);
    }, { passive: false });
    let tooled = false;
    canvas.addEventListener("pointerdown", (event) => {
      canvas.setPointerCapture(event.pointerId);
      tooled = this.#held.size === 0 && (this.tool?.down(inPicture(at(event)), this.place) ?? false);
      this.#held.set(event.pointerId, at(event));
    });
    canvas.addEventListener("pointermove", (event) => {
      const from = this.#held.get(event.pointerId);
      if (!from) return;
      const to = at(event);
      if (tooled) this.tool?.move(inPicture(to));
      else if (this.#held.size === 2) this.#pinch(event.pointerId, from, to);
      else this.pan(to.x - from.x, to.y - from.y);
      this.#held.set(event.pointerId, to);
    });
    const release = (/** @type {PointerEvent} */ event) => {
      if (!this.#held.delete(event.pointerId) || !tooled) return;
      tooled = false;
      this.tool?.up();
    };
    canvas.addEventListener("pointerup", release);
    canvas.addEventListener("pointercancel", release);
    canvas.addEventListener("dblclick", (event) => { const point = at(event); this.zoom(2, point.x, point.y); });
    canvas.addEventListener("keydown", (event) => this.#key(event));
  }

  /** @param {number} id @param {Point} from @param {Point} to */
  #pinch(id, from, to) {
    const other = [...this.#held].find(([held]) => held !== id)?.[1];
    const spread = (/** @type {Point} */ p) => Math.max(1, Math.hypot(p.x - other.x, p.y - other.y));
    this.zoom(spread(to) / spread(from), (to.x + other.x) / 2, (to.y + other.y) / 2);
  }

  /** @param {KeyboardEvent} event */
  #key(event) {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    /** @type {Record<string, () => void>} */
    const keys = { "+": () => this.zoom(1.25), "=": () => this.zoom(1.25), "-": () => this.zoom(0.8), 0: () => this.gaze.whole(), 1: () => this.toPixels() };
    /** @type {Record<string, () => void>} only where there is more than is seen */
    const arrows = { ArrowLeft: () => this.pan(60, 0), ArrowRight: () => this.pan(-60, 0), ArrowUp: () => this.pan(0, 60), ArrowDown: () => this.pan(0, -60) };
    const act = keys[event.key] ?? (this.gaze.scale ? arrows[event.key] : undefined);
    if (!act) return;
    event.preventDefault();
    act();
  }
}
