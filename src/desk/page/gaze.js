// Where one looks: the part of a picture that is seen, shared by stages that show the same place.

export class Gaze {
  /** @type {Set<() => void>} */
  #watchers = new Set();
  /** px of the page for a pixel of the picture; 0 fits the whole picture in */
  scale = 0;
  /** the pixel of the picture in the middle of the stage */
  x = 0;
  y = 0;

  /** @param {() => void} watcher @returns {() => void} ends it */
  watch(watcher) {
    this.#watchers.add(watcher);
    return () => this.#watchers.delete(watcher);
  }

  /** @param {{scale?: number, x?: number, y?: number}} to */
  set(to) {
    Object.assign(this, to);
    for (const watcher of this.#watchers) watcher();
  }

  whole() { this.set({ scale: 0 }); }
}
