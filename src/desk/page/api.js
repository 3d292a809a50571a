// Requests to the server on this machine. What goes wrong becomes an ApiError with words for people.

/** @typedef {import("./types.js").Trouble} Trouble */

export class ApiError extends Error {
  /** @param {number} status 0: the server did not answer @param {Trouble} trouble */
  constructor(status, trouble) {
    super(trouble.what);
    this.status = status;
    this.trouble = trouble;
  }
}

/** @type {(gone: boolean) => void} */
let heard = () => {};
/** @param {(gone: boolean) => void} listener called with true when the server does not answer, with false when it does */
export function onAnswers(listener) { heard = listener; }

/**
 * @param {string} path below /api/
 * @param {{method?: string, body?: unknown, signal?: AbortSignal}} [how]
 * @returns {Promise<Response>}
 */
async function ask(path, how = {}) {
  const body = how.body === undefined ? undefined : JSON.stringify(how.body);
  const headers = body === undefined ? undefined : { "Content-Type": "application/json" };
  let answer;
  try {
    answer = await fetch("api/" + path, { method: how.method ?? "GET", body, headers, signal: how.signal });
  } catch (error) {
    if (how.signal?.aborted) throw error;
    heard(true);
    throw new ApiError(0, { what: "The desk does not answer.", do: "Is 'lull desk' still running? Start it again and open the address that it prints." });
  }
  heard(false);
  if (answer.ok) return answer;
  throw new ApiError(answer.status, await trouble(answer));
}

/** @param {Response} answer @returns {Promise<Trouble>} */
async function trouble(answer) {
  if (answer.status === 401)
    return { what: "This page has no key, or an old one.", do: "Open the address that 'lull desk' printed when it was started." };
  try {
    const { error } = await answer.json();
    if (typeof error?.what === "string") return error;
  } catch { /* not the desk's own words */ }
  return { what: `The desk answered with status ${answer.status}.` };
}

/** @template T @param {string} path @param {AbortSignal} [signal] @returns {Promise<T>} */
export const get = async (path, signal) => (await ask(path, { signal })).json();

/** @template T @param {string} path @param {unknown} [body] @returns {Promise<T>} */
export async function post(path, body) {
  const text = await (await ask(path, { method: "POST", body })).text();
  return text ? JSON.parse(text) : /** @type {T} */ (undefined);
}

/** @param {string} path */
export const remove = (path) => ask(path, { method: "DELETE" });

/** @param {string} path @param {AbortSignal} [signal] */
export const blob = async (path, signal) => (await ask(path, { signal })).blob();

/**
 * Samples with what their headers say.
 * @typedef {object} Samples
 * @property {import("./tone.js").Picture} picture
 * @property {import("./tone.js").Tone} show how they look right at first
 * @property {boolean} screen whether they are already as a screen shows them
 * @property {number} black light of the value 0
 * @property {number} white light of the value 65535
 * @property {number} reduction
 * @property {string[]} warnings
 */

/**
 * @param {string} path
 * @param {{body?: unknown, signal?: AbortSignal}} [how]
 * @returns {Promise<Samples>}
 */
export async function samples(path, how = {}) {
  const answer = await ask(path, { ...how, method: how.body === undefined ? "GET" : "POST" });
  const given = (/** @type {string} */ name, /** @type {number} */ otherwise) => Number(answer.headers.get(name) ?? otherwise);
  const bytes = await answer.arrayBuffer();
  const picture = {
    width: given("X-Width", 0), height: given("X-Height", 0), channels: given("X-Channels", 1), samples: new Uint16Array(bytes),
  };
  if (picture.samples.length !== picture.width * picture.height * picture.channels)
    throw new ApiError(answer.status, { what: "A picture came incomplete.", do: "Try again." });
  const [black, white] = [given("X-Black", 0), given("X-White", 1)];
  const share = (/** @type {number} */ light) => (light - black) / (white - black || 1);
  const screen = answer.headers.get("X-Transfer") === "screen";
  return {
    picture, screen, black, white, reduction: given("X-Reduction", 1),
    // Light in proportion looks too dark on a screen, whose curve is about 2.2.
    show: { black: share(given("X-Show-Black", black)), white: share(given("X-Show-White", white)), power: screen ? 1 : 1 / 2.2 },
    warnings: JSON.parse(answer.headers.get("X-Warnings") ?? "[]"),
  };
}
