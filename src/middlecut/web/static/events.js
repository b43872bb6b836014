// SPDX-License-Identifier: MIT
// One stream of news a browser, shared by all its pages. One page listens and passes on; when it
// is closed another takes over and resumes after the last news it was told.
// @ts-check

/** @typedef {{sequence: number, stream: string, type: string, key?: string}} News */
/** @typedef {{up: boolean, shut?: boolean}} Line shut: this device is not paired (any more) */

const CHANNEL = "middlecut-record";
const LEASE = 6_000; // ms a page may be silent before another takes the stream over
const BEAT = 2_000;
const LONGEST = 60_000; // ms to the next try where a server refuses for another reason

let last = 0; // sequence of the newest event this page knows of

/**
 * Follow the record while the page is open. On document come the events
 * "middlecut:record" (detail is a News; stream "*" when anything may have happened) and
 * "middlecut:line" (detail is a Line: whether the server is there, and lets us in).
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
  /** @param {(detail: News | Line) => void} pass */
  constructor(pass) {
    this.pass = pass;
    /** @type {EventSource | null} */ this.source = null;
    this.wanted = false;
    this.shut = false;
    this.timer = 0;
    this.tries = 0;
    this.over = () => {}; // lets another page of this browser listen
  }

  begin() {
    this.wanted = true;
    if (this.source || this.timer) return; // it listens, or tries again soon
    this.source = new EventSource(`/events?after=${last}`);
    this.source.addEventListener("open", () => { this.tries = 0; this.pass({ up: true }); });
    this.source.addEventListener("record", (event) => this.pass(JSON.parse(event.data)));
    this.source.addEventListener("shut", () => this.stop());
    this.source.addEventListener("error", () => {
      this.pass({ up: false });
      // The browser itself tries again, unless the answer was a refusal.
      if (this.source?.readyState === EventSource.CLOSED) this.askWhy();
    });
  }

  /** A stream does not tell its status: ask once whether we are let in at all. */
  async askWhy() {
    this.source = null;
    const pause = Math.min(BEAT * 2 ** this.tries++, LONGEST);
    this.timer = setTimeout(() => { this.timer = 0; if (this.wanted) this.begin(); }, pause);
    const answer = await fetch("/worker.js", { cache: "no-store" }).catch(() => null);
    if (answer && isShutOut(answer)) this.stop();
  }

  /** Not let in (any more): nothing is asked until there is a reason to think otherwise. */
  stop() {
    this.end();
    this.shut = true;
    this.pass({ up: false, shut: true });
    this.over();
  }

  end() {
    this.wanted = false;
    clearTimeout(this.timer);
    this.timer = 0;
    this.source?.close();
    this.source = null;
  }
}

/**
 * Whether an answer says that this device is not paired.
 * @param {Response} answer
 */
export function isShutOut(answer) {
  return answer.status === 401
    || (answer.status === 403 && answer.headers.get("x-refusal") === "not-paired");
}

/**
 * Let one page of this browser listen.
 * @param {Listener} listener
 */
function leadOne(listener) {
  if (navigator.locks) {
    const stand = () => navigator.locks.request(CHANNEL, () => {
      listener.begin();
      return new Promise((resolve) => { listener.over = () => resolve(null); });
    });
    stand();
    whenLetInAgain(listener, stand);
    return;
  }
  // Locks need https or this computer; on a phone in the network a lease does their work.
  const own = [...crypto.getRandomValues(new Uint32Array(2))].join("-");
  let gone = false;
  const look = () => {
    if (gone || listener.shut) return;
    const [owner, until] = readLease();
    if (owner !== own && until > Date.now()) { listener.end(); return; }
    localStorage.setItem(CHANNEL, `${own} ${Date.now() + LEASE}`);
    listener.begin();
  };
  const release = () => {
    if (readLease()[0] === own) localStorage.removeItem(CHANNEL);
  };
  const leave = () => {
    gone = true;
    release();
    listener.end();
  };
  listener.over = release;
  look();
  whenLetInAgain(listener, look);
  setInterval(look, BEAT);
  addEventListener("pagehide", leave);
  addEventListener("pageshow", () => { gone = false; look(); });
  addEventListener("storage", (event) => {
    if (event.key === CHANNEL && event.newValue === null) look();
  });
}

/**
 * A page of a device that was shut out listens again when another page hears that it is let in, or
 * when somebody comes back to it.
 * @param {Listener} listener
 * @param {() => void} again
 */
function whenLetInAgain(listener, again) {
  const back = () => { if (listener.shut) { listener.shut = false; again(); } };
  document.addEventListener("middlecut:line", (event) => {
    if (event instanceof CustomEvent && event.detail.up) back();
  });
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible") back();
  });
}

/** @returns {[string, number]} */
function readLease() {
  const [owner, until] = (localStorage.getItem(CHANNEL) ?? "").split(" ");
  const left = Number(until);
  // A lease from a clock that was set back would bind for ever.
  return [owner, left <= Date.now() + LEASE ? left : 0];
}

/** @param {News | Line} detail */
function tell(detail) {
  if ("up" in detail) {
    document.dispatchEvent(new CustomEvent("middlecut:line", { detail }));
    return;
  }
  last = Math.max(last, detail.sequence);
  document.dispatchEvent(new CustomEvent("middlecut:record", { detail }));
}
