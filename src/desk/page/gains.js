// Gains of detail over the size of features, as the option --detail takes them: 1.5:2,3:1.6.
// The curve through them is that of src/finish/detail_curve.cpp, so that what is drawn is what is done.

/** @typedef {{size: number, gain: number}} Gain of features of this size, px */

export const finest_px = 1;
export const coarsest_px = 1000;
export const mostGain = 20;
export const mostGains = 20;
const octavesToOne = 2;

/** @param {Gain[]} gains */
export const textOf = (gains) => gains.map(({ size, gain }) => `${Number(size.toPrecision(4))}:${Number(gain.toPrecision(4))}`).join(",");

/** @param {unknown} text @returns {Gain[] | null} null where it is auto, none or no list of gains */
export function gainsOf(text) {
  const gains = String(text).split(",").map((part) => {
    const [size, gain] = part.split(":").map(Number);
    return { size, gain };
  });
  return gains.every(({ size, gain }) => size > 0 && gain >= 0) ? gains : null;
}

/**
 * Cubic pieces on the logarithm of the size, monotone between neighbours; slopes of Fritsch and
 * Butland 1984, SIAM J. Sci. Stat. Comput. 5(2).
 * @param {Gain[]} gains from fine to coarse, at least one
 * @returns {(size_px: number) => number}
 */
export function curveThrough(gains) {
  const knots = gains.map(({ size, gain }) => ({ place: Math.log2(size), gain, slope: 0 }));
  knots.push({ place: knots[knots.length - 1].place + octavesToOne, gain: 1, slope: 0 });
  for (let i = 1; i + 1 < knots.length; ++i) {
    const [a, b, c] = [knots[i - 1], knots[i], knots[i + 1]];
    const [h0, h1] = [b.place - a.place, c.place - b.place];
    const [d0, d1] = [(b.gain - a.gain) / h0, (c.gain - b.gain) / h1];
    const [w0, w1] = [2 * h1 + h0, h1 + 2 * h0];
    b.slope = d0 * d1 <= 0 ? 0 : (w0 + w1) / (w0 / d0 + w1 / d1);
  }
  return (size_px) => {
    const place = Math.log2(size_px);
    if (!(place > knots[0].place)) return knots[0].gain;
    const next = knots.findIndex((knot) => place < knot.place);
    if (next < 0) return 1;
    const [a, b] = [knots[next - 1], knots[next]];
    const h = b.place - a.place;
    const t = (place - a.place) / h;
    return a.gain * (1 + 2 * t) * (1 - t) ** 2 + a.slope * h * t * (1 - t) ** 2 + b.gain * t * t * (3 - 2 * t) + b.slope * h * t * t * (t - 1);
  };
}

/**
 * The gains that were measured for a result, over the size of features: half a period.
 * @param {{cycles_per_px: number, gain: number}[] | undefined} measured
 * @returns {Gain[]} from fine to coarse
 */
export const measuredGains = (measured) => (measured ?? []).filter((at) => at.cycles_per_px > 0)
  .map((at) => ({ size: 0.5 / at.cycles_per_px, gain: at.gain })).sort((a, b) => a.size - b.size);

/**
 * A few gains that a hand can move, from many.
 * @param {Gain[]} many from fine to coarse
 * @returns {Gain[]}
 */
export function fewGains(many) {
  if (many.length === 0) return [{ size: 1.5, gain: 1.5 }, { size: 3, gain: 1.3 }, { size: 8, gain: 1 }];
  return [1.2, 1.7, 2.5, 3.8, 6, 10].map((size) => {
    const next = many.findIndex((at) => at.size >= size);
    if (next <= 0) return { size, gain: many[next < 0 ? many.length - 1 : 0].gain };
    const [a, b] = [many[next - 1], many[next]];
    const t = (size - a.size) / (b.size - a.size);
    return { size, gain: Math.min(mostGain, a.gain + t * (b.gain - a.gain)) };
  });
}

/**
 * Sizes at which a curve raises what the half stacks do not agree on: certainty below half, gain
 * above one. Certainty of the whole from its halves: 2 FRC / (1 + FRC).
 * @param {(size_px: number) => number} curve
 * @param {import("./types.js").Frc | null} frc
 * @returns {[number, number] | null} from, to in px
 */
export function uncertain(curve, frc) {
  if (!frc) return null;
  const sizes = frc.frequency_cycles_per_px.flatMap((frequency, i) => {
    const agreed = Math.max(0, frc.frc[i] ?? 0);
    const certain = (2 * agreed) / (1 + agreed);
    return frequency > 0 && frequency <= 0.5 && certain < 0.5 && curve(0.5 / frequency) > 1.02 ? [0.5 / frequency] : [];
  });
  return sizes.length === 0 ? null : [Math.min(...sizes), Math.max(...sizes)];
}
