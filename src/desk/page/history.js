// Steps that can be taken back, and done again.

/** @template T */
export class Steps {
  /** @type {T[]} */ #before = [];
  /** @type {T[]} */ #after = [];

  /** @param {T} now */
  constructor(now) { this.now = now; }

  /** @param {T} to */
  add(to) {
    if (JSON.stringify(to) === JSON.stringify(this.now)) return;
    this.#before.push(this.now);
    if (this.#before.length > 200) this.#before.shift();
    this.#after = [];
    this.now = to;
  }

  get canUndo() { return this.#before.length > 0; }
  get canRedo() { return this.#after.length > 0; }

  undo() {
    const to = this.#before.pop();
    if (to === undefined) return;
    this.#after.push(this.now);
    this.now = to;
  }

  redo() {
    const to = this.#after.pop();
    if (to === undefined) return;
    this.#before.push(this.now);
    this.now = to;
  }
}
