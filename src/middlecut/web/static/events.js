// SPDX-License-Identifier: MIT
// One stream of news a browser, shared by all its pages. One page listens and passes on; when it
// is closed another takes over and resumes after the last news it was told.
// @ts-check

/** @typedef {{sequence: number, stream: string, type: string}} News */

const CHANNEL = "middlecut-record";
const LEASE = 6_000; // ms a page may be silent before another takes the stream over
const BEAT = 2_000;

let last = 0; // sequence of the newest event this page knows of

/**
 * Follow the record while the page is open. On document come the events
 * "middlecut:record" (detail is a News; stream "*" when anything may have happened) and
 * "middlecut:line" (detail {up: boolean}: whether the server is there).
 */
export function followRecord() {
  const body = document.querySelector("[data-follow]");
  if (!("EventSource" in window) || !(body instanceof HTMLElement)) return;
  last = Number(body.dataset.follow);
  const channel = "BroadcastChannel" in window ? new BroadcastChannel(CHANNEL) : null;
  channel?.addEventListener("message", (message) => tell(message.data));
  const listener = new Listener((detail) => {
    tell(detail);
    channel?.postMessage(detail);
  });
  if (channel) leadOne(listener);
  else listener.begin();
  addEventListener("pageshow", (event) => {
    if (event.persisted) tell({ sequence: last, stream: "*", type: "page.shown" });
  });
}

/** Holds the stream, and opens it again whenever it is lost. */
class Listener {
  /** @param {(detail: News | {up: boolean}) => void} pass */
  constructor(pass) {
    this.pass = pass;
    /** @type {EventSource | null} */ this.source = null;
    this.wanted = false;
  }

  begin() {
    this.wanted = true;
    if (this.source && this.source.readyState !== EventSource.CLOSED) return;
    this.source = new EventSource(`/events?after=${last}`);
    this.source.addEventListener("open", () => this.pass({ up: true }));
    this.source.addEventListener("record", (event) => this.pass(JSON.parse(event.data)));
    this.source.addEventListener("error", () => {
      this.pass({ up: false });
      // The browser itself tries again, unless the answer was a refusal.
      if (this.source?.readyState === EventSource.CLOSED) {
        setTimeout(() => { if (this.wanted) this.begin(); }, BEAT);
      }
    });
  }

  end() {
    this.wanted = false;
    this.source?.close();
    this.source = null;
  }
}

/**
 * Let one page of this browser listen.
 * @param {Listener} listener
 */
function leadOne(listener) {
  if (navigator.locks) {
    navigator.locks.request(CHANNEL, () => { listener.begin(); return new Promise(() => {}); });
    return;
  }
  // Locks need https or this computer; on a phone in the network a lease does their work.
  const own = [...crypto.getRandomValues(new Uint32Array(2))].join("-");
  let gone = false;
  const look = () => {
    if (gone) return;
    const [owner, until] = readLease();
    if (owner !== own && until > Date.now()) { listener.end(); return; }
    localStorage.setItem(CHANNEL, `${own} ${Date.now() + LEASE}`);
    listener.begin();
  };
  const leave = () => {
    gone = true;
    if (readLease()[0] === own) localStorage.removeItem(CHANNEL);
    listener.end();
  };
  look();
  setInterval(look, BEAT);
  addEventListener("pagehide", leave);
  addEventListener("pageshow", () => { gone = false; look(); });
  addEventListener("storage", (event) => {
    if (event.key === CHANNEL && event.newValue === null) look();
  });
}

/** @returns {[string, number]} */
function readLease() {
  const [owner, until] = (localStorage.getItem(CHANNEL) ?? "").split(" ");
  const left = Number(until);
  // A lease from a clock that was set back would bind for ever.
  return [owner, left <= Date.now() + LEASE ? left : 0];
}

/** @param {News | {up: boolean}} detail */
function tell(detail) {
  if ("up" in detail) {
    document.dispatchEvent(new CustomEvent("middlecut:line", { detail }));
    return;
  }
  last = Math.max(last, detail.sequence);
  document.dispatchEvent(new CustomEvent("middlecut:record", { detail }));
}
