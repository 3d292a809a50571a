// What the server tells by itself: one stream for the whole page, opened again when it breaks.

/** @typedef {"captures" | "job" | "survey" | "results" | "profile" | "open"} Kind */
/** @type {Record<Kind, Set<(data: any) => void>>} */
const listeners = { captures: new Set(), job: new Set(), survey: new Set(), results: new Set(), profile: new Set(), open: new Set() };

/**
 * @param {Kind} kind "open": the stream has begun anew, and what was known may be old
 * @param {(data: any) => void} listener
 * @returns {() => void} ends it
 */
export function on(kind, listener) {
  listeners[kind].add(listener);
  return () => listeners[kind].delete(listener);
}

/** @param {Kind} kind @param {any} data */
function tell(kind, data) { for (const listener of [...listeners[kind]]) listener(data); }

/**
 * A page that is not seen leaves its connection to others: browsers open few to one address.
 * @param {(gone: boolean) => void} heard
 */
export function startEvents(heard) {
  /** @type {EventSource | null} */
  let source = null;
  let pause_ms = 1000;
  let timer = 0;
  const open = () => {
    clearTimeout(timer);
    if (source || document.hidden) return;
    source = new EventSource("api/events");
    source.onopen = () => { heard(false); pause_ms = 1000; tell("open", null); };
    source.onerror = () => {
      close();
      heard(true);
      timer = setTimeout(open, pause_ms);
      pause_ms = Math.min(15000, 2 * pause_ms);
    };
    for (const kind of /** @type {Kind[]} */ (["captures", "job", "survey", "results", "profile"]))
      source.addEventListener(kind, (event) => tell(kind, JSON.parse(/** @type {MessageEvent} */ (event).data)));
  };
  const close = () => { source?.close(); source = null; };
  document.addEventListener("visibilitychange", () => (document.hidden ? close() : open()));
  window.addEventListener("pagehide", close);
  window.addEventListener("pageshow", open);
  open();
}
