// Asks for the survey of a capture, starts it where there is none, and follows it.
import { ApiError, get, post } from "./api.js";
import { on } from "./events.js";

/** @typedef {import("./types.js").Survey} Survey */
/**
 * @typedef {object} Hands
 * @property {(share: number | null, waits: boolean) => void} share of the work that is done; null: it is over
 * @property {(words: string) => void} trouble
 * @property {(survey: Survey) => void} found
 */

/** Sharpness has no unit: here the best frame is 1. @param {Survey} survey @returns {Survey} */
function ofTheBest(survey) {
  const best = survey.sharpness.reduce((/** @type {number} */ most, value) => Math.max(most, value ?? 0), 0) || 1;
  return { ...survey, sharpness: survey.sharpness.map((value) => (value === null ? null : value / best)) };
}

export class SurveyFollow {
  /** @type {(() => void)[]} */ #ends;
  #wanted = false;

  /** @param {string} id @param {AbortSignal} signal @param {Hands} hands */
  constructor(id, signal, hands) {
    this.id = id;
    this.path = `captures/${encodeURIComponent(id)}/survey`;
    this.signal = signal;
    this.hands = hands;
    this.#ends = [on("survey", (event) => this.#heard(event)), on("open", () => this.#again())];
  }

  /** @param {import("./types.js").CaptureDetails} capture */
  async start(capture) {
    this.#wanted = !capture.growing;
    if (capture.surveyed) await this.#attempt(() => this.#load());
    else if (capture.growing) this.hands.trouble("This capture is being recorded: its frames are ranked when it has ended.");
    else await this.#attempt(() => this.#begin());
  }

  /** The stream began anew: what was said meanwhile is lost. */
  #again() { if (this.#wanted) this.#attempt(() => this.#begin()); }

  async #begin() {
    const job = /** @type {import("./types.js").Job} */ (await post(this.path, {}));
    this.hands.share(job.state === "done" ? null : job.share, job.state === "waiting");
    if (job.state === "done") await this.#load();
  }

  async #load() {
    this.hands.found(ofTheBest(/** @type {Survey} */ (await get(this.path, this.signal))));
  }

  /** @param {{capture: string, share: number, state: string}} event */
  #heard(event) {
    if (event.capture !== this.id) return;
    this.hands.share(event.state === "running" || event.state === "waiting" ? event.share : null, event.state === "waiting");
    if (event.state === "failed") this.hands.trouble("The frames could not be ranked: the queue says why.");
    if (event.state === "done") this.#attempt(() => this.#load());
  }

  /** @param {() => Promise<void>} act */
  async #attempt(act) {
    try {
      await act();
    } catch (error) {
      if (this.signal.aborted) return;
      this.hands.trouble(error instanceof ApiError ? `${error.trouble.what} ${error.trouble.do ?? ""}` : String(error));
    }
  }

  end() { for (const end of this.#ends) end(); }
}
