// SPDX-License-Identifier: MIT
// One stream of news a browser, shared by all its pages. The first page to get the lock listens
// and passes on; when it is closed another takes over and resumes where it was.
// @ts-check

/** @typedef {{sequence: number, stream: string, type: string}} News */

const CHANNEL = "middlecut-record";
const LAST = "middlecut-last-sequence";

/**
 * Follow the record while the page is open. Pages that want news listen for the event
 * "middlecut:record" on document; its detail is a News.
 */
export function followRecord() {
  if (!("EventSource" in window) || !document.querySelector("[data-follow]")) return;
  const channel = "BroadcastChannel" in window ? new BroadcastChannel(CHANNEL) : null;
  channel?.addEventListener("message", (message) => tell(message.data));
  const listen = () => listenHere((news) => {
    tell(news);
    channel?.postMessage(news);
  });
  // On plain http in a local network there are no locks: each page then listens for itself.
  if (channel && navigator.locks) {
    navigator.locks.request(CHANNEL, () => { listen(); return new Promise(() => {}); });
  } else {
    listen();
  }
}

/** @param {(news: News) => void} pass */
function listenHere(pass) {
  const body = document.querySelector("[data-follow]");
  const after = Number(body instanceof HTMLElement ? body.dataset.follow : 0);
  const source = new EventSource(`/events?after=${after}`);
  source.addEventListener("record", (event) => {
    /** @type {News} */
    const news = JSON.parse(event.data);
    sessionStorage.setItem(LAST, String(news.sequence));
    pass(news);
  });
}

/** @param {News} news */
function tell(news) {
  document.dispatchEvent(new CustomEvent("middlecut:record", { detail: news }));
}
