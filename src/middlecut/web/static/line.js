// SPDX-License-Identifier: MIT
// Tells when the record cannot be reached, and how old then is what the page shows. Where the
// browser allows it (on this computer only) pages seen before can be opened again meanwhile.
// @ts-check

import { clock, deviceWord } from "./outbox_bar.js";

const PATIENCE = 2_500; // ms: a server that starts anew is no news

/** @param {(words: string) => void} announce */
export function watchLine(announce) {
  const place = document.getElementById("line");
  let timer = 0;
  let shutOut = false;
  const change = (/** @type {boolean} */ up, shut = false) => {
    if (!place || (shutOut && !up)) return;
    clearTimeout(up || shut ? timer : 0);
    if (up || shut) timer = 0;
    shutOut = shut;
    if (up) {
      if (!place.hidden) announce("The record can be reached again.");
      place.hidden = true;
    } else if (shut) {
      place.replaceChildren(notPaired(), wayBack());
      place.hidden = false;
      announce(place.textContent ?? "");
    } else if (place.hidden && !timer) { // each further try that fails is no news
      timer = setTimeout(() => {
        place.textContent = words();
        place.hidden = false;
        announce(place.textContent);
      }, PATIENCE);
    }
  };
  document.addEventListener("middlecut:line", (event) => {
    if (event instanceof CustomEvent) change(event.detail.up, event.detail.shut);
  });
  document.addEventListener("middlecut:reached", () => change(true)); // an entry was answered
  addEventListener("offline", () => change(false));
  if (window.isSecureContext && "serviceWorker" in navigator) {
    navigator.serviceWorker.register("/worker.js").then(keepThisPage).catch(() => {});
  }
}

/** The first page is there before the worker is: let it keep this page and what it loaded. */
async function keepThisPage() {
  if (navigator.serviceWorker.controller) return;
  const worker = (await navigator.serviceWorker.ready).active;
  if (document.readyState !== "complete") {
    await new Promise((resolve) => { addEventListener("load", resolve, { once: true }); });
  }
  const loaded = performance.getEntriesByType("resource").map((one) => one.name)
    .filter((one) => new URL(one).pathname.startsWith("/static/"));
  worker?.postMessage({ page: location.href, parts: loaded });
}

function notPaired() {
  return `This ${deviceWord()} is not paired with middlecut any more, so nothing new is shown and `
    + "nothing is sent. To let it in again: on the computer that runs middlecut open Devices, scan the "
    + "code shown there with this device or type it here. What you enter meanwhile is kept here. ";
}

function wayBack() {
  const way = document.createElement("a");
  way.href = "/pair";
  way.textContent = `Pair this ${deviceWord()}`;
  return way;
}

function words() {
  const shown = document.body.dataset.shown;
  const at = shown ? ` This page shows what was known at ${timeOf(new Date(shown))}.` : "";
  return `The record cannot be reached since ${timeOf(new Date())}.${at} `
    + "What you enter is kept here and sent when it is back.";
}

/** @param {Date} at */
function timeOf(at) {
  const time = clock(at);
  return at.toDateString() === new Date().toDateString() ? time : `${time}, ${at.toLocaleDateString()}`;
}
