// Numbers, sizes and times as words.

/** @param {number} count @param {string} one @param {string} [many] */
export function counted(count, one, many = one + "s") {
  return `${whole(count)} ${count === 1 ? one : many}`;
}

/** @param {number} value */
export const whole = (value) => Math.round(value).toLocaleString("en");

/** @param {number | null | undefined} value @param {number} [digits] */
export function number(value, digits = 3) {
  if (value === null || value === undefined || !Number.isFinite(value)) return "–";
  const large = Math.abs(value) >= 1e6 || (value !== 0 && Math.abs(value) < 1e-3);
  return large ? value.toExponential(digits - 1) : String(Number(value.toPrecision(digits)));
}

/** @param {number} share of one */
export const percent = (share) => `${share > 0 && share < 0.1 ? number(100 * share, 2) : Math.round(100 * share)}%`;

/** @param {number} bytes */
export function size(bytes) {
  const units = ["B", "kB", "MB", "GB", "TB"];
  let unit = 0;
  while (bytes >= 1000 && unit < units.length - 1) { bytes /= 1000; ++unit; }
  return `${unit === 0 ? bytes : number(bytes, bytes < 10 ? 2 : 3)} ${units[unit]}`;
}

/** @param {number | null | undefined} seconds */
export function duration(seconds) {
  if (seconds === null || seconds === undefined || !Number.isFinite(seconds)) return "";
  if (seconds < 10) return `${number(seconds, 2)} s`;
  if (seconds < 120) return `${Math.round(seconds)} s`;
  if (seconds < 7200) return `${Math.floor(seconds / 60)} min ${Math.round(seconds % 60)} s`;
  return `${Math.floor(seconds / 3600)} h ${Math.round((seconds % 3600) / 60)} min`;
}

/** A time that is only known by about a half. @param {number} seconds */
export function roughly(seconds) {
  if (seconds < 15) return "10 seconds";
  if (seconds < 90) return `${10 * Math.round(seconds / 10)} seconds`;
  if (seconds < 5400) return counted(Math.round(seconds / 60), "minute");
  return `${number(seconds / 3600, 2)} hours`;
}

/** @param {string | number | null | undefined} time text of ISO 8601, or seconds since 1970 */
export function day(time) {
  if (time === null || time === undefined || time === "") return "";
  const date = new Date(typeof time === "number" ? time * 1000 : time);
  if (Number.isNaN(date.getTime())) return "";
  return date.toLocaleString("en-GB", { day: "numeric", month: "short", year: "numeric", hour: "2-digit", minute: "2-digit" });
}

/**
 * Frames as the option --exclude takes them: 3,5-9.
 * @param {Iterable<number>} frames
 */
export function ranges(frames) {
  const sorted = [...new Set(frames)].sort((a, b) => a - b);
  const parts = [];
  for (let i = 0; i < sorted.length; ++i) {
    const first = i;
    while (i + 1 < sorted.length && sorted[i + 1] === sorted[i] + 1) ++i;
    parts.push(first === i ? `${sorted[i]}` : `${sorted[first]}-${sorted[i]}`);
  }
  return parts.join(",");
}

/**
 * The frames that such a text names; null where it is not one.
 * @param {string} text
 * @param {number} frames how many there are
 * @returns {number[] | null}
 */
export function framesOf(text, frames) {
  const out = [];
  for (const part of text.split(",").map((p) => p.trim()).filter(Boolean)) {
    const found = /^(\d+)(?:\s*-\s*(\d+))?$/.exec(part);
    if (!found) return null;
    const [from, to] = [Number(found[1]), Number(found[2] ?? found[1])];
    if (to < from || to >= frames) return null;
    for (let i = from; i <= to; ++i) out.push(i);
  }
  return out;
}
