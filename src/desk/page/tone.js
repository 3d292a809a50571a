// From 16-bit samples to what a screen shows: black, white and a curve, without asking the server.

/**
 * Samples as they are stored, rows of pixels, channels of a pixel beside each other.
 * @typedef {object} Picture
 * @property {number} width
 * @property {number} height
 * @property {number} channels 1 or 3
 * @property {Uint16Array} samples
 */
/**
 * @typedef {object} Tone
 * @property {number} black share of full scale that becomes black
 * @property {number} white share of full scale that becomes white
 * @property {number} power 1 keeps light in proportion; below 1 lifts the dark parts
 */

/** @type {Tone} */
export const plainTone = { black: 0, white: 1, power: 1 };

/** What a screen shows of each of the 65,536 samples. @param {Tone} tone */
function table(tone) {
  const out = new Uint8Array(65536);
  const span = Math.max(1 / 65535, tone.white - tone.black);
  for (let i = 0; i < 65536; ++i) {
    const light = Math.min(1, Math.max(0, (i / 65535 - tone.black) / span));
    out[i] = Math.round(255 * light ** tone.power);
  }
  return out;
}

/**
 * @param {Picture} picture
 * @param {Tone} tone
 * @param {boolean} red only shades of red
 * @returns {OffscreenCanvas}
 */
export function paint(picture, tone, red) {
  const { width, height, channels, samples } = picture;
  const seen = table(tone);
  const image = new ImageData(width, height);
  const pixels = new Uint32Array(image.data.buffer);  // 0xAABBGGRR: every browser's machine is little-endian
  if (channels === 1) {
    const mask = red ? 0x000000ff : 0x00ffffff;
    for (let i = 0; i < pixels.length; ++i) pixels[i] = 0xff000000 | ((seen[samples[i]] * 0x010101) & mask);
  } else if (red) {
    for (let i = 0, s = 0; i < pixels.length; ++i, s += 3)
      pixels[i] = 0xff000000 | (0.3 * seen[samples[s]] + 0.59 * seen[samples[s + 1]] + 0.11 * seen[samples[s + 2]]);
  } else {
    for (let i = 0, s = 0; i < pixels.length; ++i, s += 3)
      pixels[i] = 0xff000000 | (seen[samples[s + 2]] << 16) | (seen[samples[s + 1]] << 8) | seen[samples[s]];
  }
  const canvas = new OffscreenCanvas(width, height);
  /** @type {OffscreenCanvasRenderingContext2D} */ (canvas.getContext("2d")).putImageData(image, 0, 0);
  return canvas;
}

/**
 * Counts of samples over equal steps from 0 to full scale, one list a channel.
 * @param {Picture} picture
 * @param {number} steps
 */
export function histogram(picture, steps) {
  const counts = Array.from({ length: picture.channels }, () => new Uint32Array(steps));
  const { samples, channels } = picture;
  const scale = steps / 65536;
  for (let c = 0; c < channels; ++c) {
    const list = counts[c];
    for (let i = c; i < samples.length; i += channels) ++list[(samples[i] * scale) | 0];
  }
  return counts;
}

/**
 * A tone that shows the sky dark and the object bright: black below all but one sample in 1,000,
 * white above all but one in 1,000.
 * @param {Picture} picture
 * @returns {Tone}
 */
export function suggestedTone(picture) {
  const steps = 4096;
  const sum = new Float64Array(steps);
  for (const list of histogram(picture, steps)) list.forEach((count, i) => { sum[i] += count; });
  const part = picture.samples.length / 1000;
  let low = 0;
  for (let seen = sum[0]; seen < part && low < steps - 1; seen += sum[++low]);
  let high = steps - 1;
  for (let seen = sum[high]; seen < part && high > low + 1; seen += sum[--high]);
  return { black: low / steps, white: Math.min(1, (high + 1) / steps), power: 1 };
}
