// SPDX-License-Identifier: MIT
// Tells when the record cannot be reached, and how old then is what the page shows. Where the
// browser allows it (on this computer only) pages seen before can be opened again meanwhile.
// @ts-check

const PATIENCE = 2_500; // ms: a server that starts anew is no news

/** @param {(words: string) => void} announce */
export function watchLine(announce) {
  const place = document.getElementById("line");
  let timer = 0;
  const change = (/** @type {boolean} */ up) => {
    if (!place) return;
    if (up) {
      clearTimeout(timer);
      timer = 0;
      if (!place.hidden) announce("The record can be reached again.");
      place.hidden = true;
    } else if (place.hidden && !timer) { // each further try that fails is no news
      timer = setTimeout(() => {
        place.textContent = words();
        place.hidden = false;
        announce(place.textContent);
      }, PATIENCE);
    }
  };
  document.addEventListener("middlecut:line", (event) => {
    if (event instanceof CustomEvent) change(event.detail.up);
  });
  addEventListener("offline", () => change(false));
  if (window.isSecureContext && "serviceWorker" in navigator) {
    navigator.serviceWorker.register("/worker.js").catch(() => {});
  }
}

function words() {
  const shown = document.body.dataset.shown;
  const at = shown ? ` This page shows what was known at ${timeOf(new Date(shown))}.` : "";
  return `The record cannot be reached since ${timeOf(new Date())}.${at} `
    + "What you enter is kept here and sent when it is back.";
}

/** @param {Date} at */
function timeOf(at) {
  const time = at.toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" });
  return at.toDateString() === new Date().toDateString() ? time : `${time}, ${at.toLocaleDateString()}`;
}
